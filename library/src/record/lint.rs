//! Whether a record can be read back: each reason why one cannot is told at its place.

use super::coding::Coding;
use super::field::{Coordinate, Data, Kind, Pointer};
use super::fields::Record;
use crate::notation::Notation;
use crate::source::{Code, Diagnostic, Diagnostics, Span};

/// Where a record stands in its file.
#[derive(Clone, Copy, Debug)]
pub struct Places<'a> {
    /// What the record is called there.
    pub name: &'a str,
    /// Its fields.
    pub fields: &'a [Span],
    /// The whole file, for what is missing.
    pub file: Span,
    /// The code of what is wrong: that of a framing or of a layout.
    pub code: Code,
}

impl Places<'_> {
    /// Where a field stands.
    pub fn field(&self, index: usize) -> Span {
        self.fields.get(index).copied().unwrap_or(self.file)
    }
}

/// Tells everything for which the fields of a record could not be told apart again.
pub fn fields(record: &Record, places: Places, problems: &mut Diagnostics) {
    let mut lint = Lint { record, places, problems };
    lint.has_a_size();
    lint.counts_well();
    lint.has_no_twins();
    lint.stays_in_memory();
    lint.tells_its_entry();
}

/// Tells everything for which the bytes of a coding could not be told apart again, at the place of its escape, in
/// `notation`.
pub fn coding(coding: &Coding, escape_place: Option<Span>, notation: Notation, problems: &mut Diagnostics) {
    let (Some(escape), Some(place)) = (&coding.escape, escape_place) else { return };
    if let Some(byte) = escape.bytes.iter().find(|byte| escape.bytes.contains(byte ^ escape.flip)) {
        let headline = format!("`{}` is escaped into a byte that is itself escaped", notation.byte(byte));
        problems.push(refused(
            place,
            headline,
            "the replacement must be free to stand",
            "choose other bits for `flip`",
        ));
    }
    if coding.digits.width() > 1 {
        let headline = "digits need no escape";
        problems.push(refused(place, headline, "`digits` and `escape` together", "leave one of them out"));
    }
}

/// Tells, in `notation`, what a record would need and its coding avoids.
pub fn avoided(record: &Record, coding: &Coding, places: Places, notation: Notation, problems: &mut Diagnostics) {
    Lint { record, places, problems }.avoids_no_literal(coding, notation);
}

/// A reason why something could not be read back.
pub fn refused(place: Span, headline: impl Into<String>, label: &str, help: &str) -> Diagnostic {
    Diagnostic::error(Code::FramingUndecodable, headline).at(place, label).with_help(help)
}

struct Lint<'a> {
    record: &'a Record,
    places: Places<'a>,
    problems: &'a mut Diagnostics,
}

impl Lint<'_> {
    fn refuse(&mut self, place: Span, headline: impl Into<String>, label: &str, help: &str) {
        self.problems.push(Diagnostic::error(self.places.code, headline).at(place, label).with_help(help));
    }

    /// Whatever changes its size needs a field before it that tells the size.
    fn has_a_size(&mut self) {
        let variables: Vec<_> = (0..self.record.fields.len())
            .filter(|&index| {
                matches!(self.record.fields[index].kind, Kind::Data(Data { pad: None, .. }) | Kind::Label(_))
            })
            .collect();
        if let [_, second, ..] = variables[..] {
            let help = "give all but one of them a fixed size with `pad`";
            let headline = format!("two fields of the {} change their size", self.places.name);
            self.refuse(self.places.field(second), headline, "nothing tells where this one begins", help);
        }
        let Some(&variable) = variables.first() else { return };
        let name = self.record.fields[variable].name.clone();
        match self.record.counter() {
            None => {
                let help = match self.record.fields[variable].kind {
                    Kind::Label(_) => "put a `length` field before it that counts it",
                    _ => "put a `length` or `last` field before it, or fix its size with `pad`",
                };
                let headline = format!("nothing tells where the {name} ends");
                self.refuse(self.places.field(variable), headline, "its size changes from one to the next", help);
            }
            Some(counter) if counter > variable => {
                let headline = format!("the length of the {name} stands behind it");
                let help = "put the length before the bytes that it counts";
                self.refuse(self.places.field(counter), headline, "a reader needs this first", help);
            }
            Some(_) => {}
        }
    }

    /// A length must tell every number of bytes from every other, a last address needs a first one.
    fn counts_well(&mut self) {
        let Some(counter) = self.record.counter() else { return };
        let place = self.places.field(counter);
        match &self.record.fields[counter].kind {
            Kind::Length { word, of, .. } => {
                let carries = |index: &usize| matches!(self.record.fields[*index].kind, Kind::Data(_) | Kind::Label(_));
                if !of.iter().any(carries) {
                    let help = "add the data's name to `of`";
                    self.refuse(place, "the length does not count the data", "it tells nothing new", help);
                } else if self.record.most() - self.record.fewest() >= word.modulus() {
                    let headline = format!("`{}` bytes are more than this length can tell apart", self.record.most());
                    let label = format!("it has only {} values", word.modulus());
                    self.refuse(place, headline, &label, "make the data shorter or the length two bytes wide");
                }
            }
            _ => {
                let before = self.record.address().is_some_and(|(index, pointer)| {
                    index < counter
                        && !matches!(pointer, Pointer::Low)
                        && self.record.data().all(|(data, _)| data > counter)
                });
                let page = self.record.address().is_some_and(|(_, pointer)| pointer == Pointer::Page);
                if !before {
                    let help = "put the address before the last address, and both before the data";
                    self.refuse(place, "the last address alone tells no length", "it needs the first address", help);
                } else if page && self.record.from_the_top() {
                    let help = "carry the whole address, or a length instead of the last address";
                    let headline = "page and last address tell no length of falling data";
                    self.refuse(place, headline, "both are of the lowest byte, the highest is unknown", help);
                } else if self.record.lowest() > 0 {
                    let help = "carry a length instead of the last address, or leave `at` out";
                    self.refuse(
                        place,
                        "`at` and a last address contradict each other",
                        "which one moves the data?",
                        help,
                    );
                }
            }
        }
    }

    /// Fields of which there can be one only.
    fn has_no_twins(&mut self) {
        let class = |kind: &Kind| match kind {
            Kind::Length { .. } | Kind::Last(_) => Some("length"),
            Kind::Address(_) => Some("address"),
            Kind::Sequence { .. } => Some("sequence"),
            Kind::Entry(_) => Some("entry"),
            Kind::Label(_) => Some("label"),
            Kind::Here(Coordinate::Track) => Some("track"),
            Kind::Here(Coordinate::Sector) => Some("sector"),
            Kind::Next { of: Coordinate::Track, .. } => Some("next track"),
            Kind::Next { of: Coordinate::Sector, .. } => Some("next sector"),
            _ => None,
        };
        let mut seen = Vec::new();
        for (index, field) in self.record.fields.iter().enumerate() {
            let Some(class) = class(&field.kind) else { continue };
            if seen.contains(&class) {
                let headline = format!("the {} has two fields for the {class}", self.places.name);
                let place = self.places.field(index);
                self.refuse(place, headline, "they could contradict each other", "leave one of them out");
            }
            seen.push(class);
        }
    }

    /// Several data fields are windows over memory, which must not overlap or reach past its top.
    fn stays_in_memory(&mut self) {
        let mut windows: Vec<_> = self
            .record
            .data()
            .map(|(index, data)| (usize::from(data.at), usize::from(data.at) + data.most, index))
            .collect();
        windows.sort_unstable();
        let place = |index| self.places.field(index);
        let overlap = windows.windows(2).find(|pair| pair[1].0 < pair[0].1).map(|pair| place(pair[1].2));
        let outside = windows.iter().find(|window| window.1 > 0x1_0000).map(|window| place(window.2));
        if let Some(place) = overlap {
            let help = "set `at` so that each byte of memory belongs to one field";
            self.refuse(place, "two data fields are for the same bytes of memory", "overlaps another", help);
        }
        if let Some(place) = outside {
            self.refuse(place, "the data reaches past the top of memory", "`at` and size together", "make it shorter");
        }
        if windows.len() > 1 && self.record.counter().is_some() {
            let help = "leave the length out: fields of fixed size need none";
            let place = self.places.field(self.record.counter().unwrap_or_default());
            self.refuse(place, "a length cannot tell how several data fields are filled", "counts for all", help);
        }
    }

    /// The low byte of an entry needs the page of an address.
    fn tells_its_entry(&mut self) {
        let low = self.record.entry().filter(|_| self.record.address().is_none());
        if let Some((index, Pointer::Low)) = low {
            let help = "put the address into the same part, or carry both bytes of the entry";
            let place = self.places.field(index);
            self.refuse(place, "the low byte alone tells no entry", "its page is unknown", help);
        }
    }

    /// A literal stands in every record, so that its characters cannot be avoided.
    fn avoids_no_literal(&mut self, coding: &Coding, notation: Notation) {
        for (index, field) in self.record.fields.iter().enumerate() {
            let Kind::Literal(bytes) = &field.kind else { continue };
            let mut characters = Vec::new();
            coding.write(bytes, &mut characters);
            let Some(&byte) = characters.iter().find(|&&character| coding.avoid.contains(character)) else {
                continue;
            };
            let headline = format!("`{}` is avoided, and the {} needs it", notation.byte(byte), field.name);
            let place = self.places.field(index);
            let help = "make it a `mark`, which stands as it is, or do not avoid the byte";
            self.refuse(place, headline, "no program could be written", help);
        }
    }
}
