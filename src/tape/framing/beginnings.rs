//! The characters that can stand where a head, block or end begins. The decoder looks for them; the lint compares them.

use super::Framing;
use super::coding::Coding;
use super::field::Kind;
use super::layout::Layout;
use super::set::ByteSet;

/// The characters with which a layout can begin.
pub(super) fn first(framing: &Framing, layout: &Layout) -> ByteSet {
    positions(framing, layout).first().copied().unwrap_or(ByteSet::ALL)
}

/// The characters that can stand at each place of a layout, as far as places are the same in every block.
pub(super) fn positions(framing: &Framing, layout: &Layout) -> Vec<ByteSet> {
    let mut positions = Vec::new();
    for index in 0..layout.fields.len() {
        let is_fixed = matches!(layout.fields[index].kind, Kind::Mark(_) | Kind::Literal(_));
        let sets = field_sets(&framing.coding, layout, index);
        if layout.variable() == Some(index) {
            positions.extend(sets);
            break;
        }
        positions.extend(sets);
        if framing.coding.escape.is_some() && !is_fixed {
            break;
        }
    }
    positions
}

/// The fewest characters of a head, block or end that can be no filler.
pub(super) fn fewest_visible(framing: &Framing) -> usize {
    let fillers = framing.fillers();
    let visible = |layout: &Layout| {
        let sets = (0..layout.fields.len()).flat_map(|index| field_sets(&framing.coding, layout, index));
        sets.filter(|set| set.first_common(&fillers).is_none()).count()
    };
    framing.layouts().map(visible).min().unwrap_or(0)
}

/// The characters that can stand at each place of a field; of a long field only the first places.
pub(super) fn field_sets(coding: &Coding, layout: &Layout, index: usize) -> Vec<ByteSet> {
    match &layout.fields[index].kind {
        Kind::Mark(bytes) => bytes.iter().map(|&byte| ByteSet::from_iter([byte])).collect(),
        Kind::Literal(bytes) => {
            let mut characters = Vec::new();
            coding.write(bytes, &mut characters);
            characters.into_iter().map(|character| ByteSet::from_iter([character])).collect()
        }
        Kind::Length { word, counts, of } => {
            let mut sets = vec![ByteSet::default(); word.width()];
            for count in layout.fewest()..=layout.most() {
                let mut bytes = [0; 2];
                word.write(layout.length_value(*counts, of, count), &mut bytes[..word.width()]);
                sets.iter_mut().zip(bytes).for_each(|(set, byte)| set.insert(byte));
            }
            sets.iter().flat_map(|set| byte_sets(coding, set)).collect()
        }
        _ => {
            let bytes = layout.size(index, layout.fewest()).min(4);
            (0..bytes).flat_map(|_| byte_sets(coding, &ByteSet::ALL)).collect()
        }
    }
}

/// The characters that can stand at each place of a byte that has one of some values.
fn byte_sets(coding: &Coding, values: &ByteSet) -> Vec<ByteSet> {
    let digits = coding.digits;
    if digits.width() == 1 {
        let mut set = *values;
        if let Some(escape) = &coding.escape {
            set = values.iter().filter(|&byte| !escape.bytes.contains(byte)).collect();
            if values.first_common(&escape.bytes).is_some() {
                set.insert(escape.byte);
            }
        }
        return vec![set];
    }
    (0..digits.width())
        .map(|place| {
            let upper = values.iter().map(|byte| digits.digit(byte, place));
            upper.flat_map(|digit| [digit, digit.to_ascii_lowercase()]).collect()
        })
        .collect()
}
