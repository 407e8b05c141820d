//! Who takes the room: the bytes of a range by the label before them.

use std::cmp::Reverse;
use std::ops::Range;

use serde::{Deserialize, Serialize};

use crate::image::{Image, SymbolKind};
use crate::notation::{Address, Notation};

/// A run of bytes that belongs to one label.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Routine {
    /// The label; `LABEL+12` for bytes behind a gap, or the address where no label stands before them.
    pub name: String,
    /// Its first address.
    pub address: u16,
    /// Bytes up to the next label, the end of the extent or of the range.
    pub size: usize,
}

/// The labels of an image by rising address; where several share a place, the one that was defined first.
struct Labels<'a>(Vec<(usize, &'a str)>);

impl<'a> Labels<'a> {
    fn of(image: &'a Image) -> Self {
        let labels = image.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label);
        let mut places: Vec<_> = labels.map(|label| (usize::from(label.value), label.name.as_str())).collect();
        // The sort is stable, so the first of equals is the first that was defined.
        places.sort_by_key(|&(place, _)| place);
        places.dedup_by_key(|&mut (place, _)| place);
        Labels(places)
    }

    /// The places of labels behind `start` and before `end`.
    fn between(&self, start: usize, end: usize) -> impl Iterator<Item = usize> {
        let first = self.0.partition_point(|&(place, _)| place <= start);
        let behind = self.0.partition_point(|&(place, _)| place < end);
        self.0[first..behind.max(first)].iter().map(|&(place, _)| place)
    }

    /// A byte by the label at or before it: `READ`, `READ+12`.
    fn name(&self, address: usize) -> Option<String> {
        let behind = self.0.partition_point(|&(place, _)| place <= address);
        let (place, name) = *self.0.get(behind.checked_sub(1)?)?;
        Some(if place == address { name.into() } else { format!("{name}+{}", address - place) })
    }
}

/// The routines of an image within a range of addresses, largest first, equal ones by address.
pub fn routines(image: &Image, range: Range<usize>, notation: Notation) -> Vec<Routine> {
    let labels = Labels::of(image);
    let routine = |from: usize, to: usize| {
        let address = Address(from as u16);
        let name = labels.name(from).unwrap_or_else(|| notation.address(address).to_string());
        Routine { name, address: address.0, size: to - from }
    };
    let mut list = Vec::new();
    for extent in image.extents() {
        let start = extent.base.index().max(range.start);
        let end = (extent.base.index() + extent.bytes.len()).min(range.end);
        if start < end {
            let starts = std::iter::once(start).chain(labels.between(start, end));
            let ends = labels.between(start, end).chain(std::iter::once(end));
            list.extend(starts.zip(ends).map(|(from, to)| routine(from, to)));
        }
    }
    list.sort_by_key(|routine| (Reverse(routine.size), routine.address));
    list
}

/// A byte by the label at or before it, if there is one: `READ`, `READ+12`.
pub fn label_of(image: &Image, address: Address) -> Option<String> {
    Labels::of(image).name(address.index())
}

/// `READ 96, WRITE 40, START 12`: the largest of a list for a note.
pub fn largest(routines: &[Routine], count: usize) -> String {
    routines
        .iter()
        .take(count)
        .map(|routine| format!("{} {}", routine.name, routine.size))
        .collect::<Vec<_>>()
        .join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::Symbol;
    use crate::source::{Origin, Position, SourceMap};

    fn image(extents: &[(u16, usize)], labels: &[(&str, u16)]) -> Image {
        let source = SourceMap::default().add("test", "", Origin::Given);
        let mut image = Image::default();
        for &(base, size) in extents {
            image.insert(Address(base), &vec![0; size], Position { source, offset: 0 }).unwrap();
        }
        let label = |&(name, value): &(&str, u16)| Symbol { name: String::from(name), value, kind: SymbolKind::Label };
        image.symbols = labels.iter().map(label).collect();
        image
    }

    fn sizes(image: &Image, range: Range<usize>) -> Vec<(String, usize)> {
        routines(image, range, Notation::Octal).into_iter().map(|routine| (routine.name, routine.size)).collect()
    }

    #[test]
    fn a_routine_ends_at_the_next_label_the_extent_or_the_range() {
        let image = image(&[(10, 10), (30, 5)], &[("B", 14), ("A", 10), ("TWIN", 14), ("C", 32), ("FAR", 90)]);
        let expected = [("B", 6), ("A", 4), ("C", 3), ("B+16", 2)].map(|(name, size)| (name.into(), size));
        assert_eq!(sizes(&image, 0..100), expected);
        assert_eq!(sizes(&image, 15..17), [("B+1".into(), 2)]);
        assert_eq!(sizes(&image, 20..30), []);
    }

    #[test]
    fn bytes_before_any_label_go_by_their_address() {
        let image = image(&[(0o177774, 4)], &[("END", 0o177777)]);
        assert_eq!(sizes(&image, 0..0x1_0000), [("177774".into(), 3), ("END".into(), 1)]);
    }
}
