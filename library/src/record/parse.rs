//! One record at one place among characters. This knows nothing of what stands before or behind it.

use std::ops::Range;

use super::coding::Coding;
use super::field::{Kind, Pointer};
use super::fields::Record;

/// What stands at a place.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// Behind the last character.
    pub end: usize,
    /// Bytes that the data or label carries.
    pub count: usize,
    /// The bytes of all fields.
    pub body: Vec<u8>,
    /// A character was no digit, or stood where it should have been escaped.
    pub garbled: bool,
    /// The first check that fails: its field, the value that stands there, the value that belongs there.
    pub failed: Option<(usize, u16, u16)>,
}

impl Parsed {
    /// Whether nothing speaks against it.
    pub fn is_sound(&self) -> bool {
        self.failed.is_none() && !self.garbled
    }
}

/// Why no record stands at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Miss {
    /// Something else stands there.
    Other,
    /// The characters end in the middle of it.
    Torn,
}

impl Record {
    /// Reads the record that stands from `at` on.
    ///
    /// # Errors
    /// [`Miss`] if none stands there.
    pub fn parse(&self, coding: &Coding, characters: &[u8], at: usize) -> Result<Parsed, Miss> {
        let mut count = self.fewest();
        let mut parsed = Parsed { end: at, count, body: Vec::with_capacity(64), garbled: false, failed: None };
        let mut ranges = Vec::with_capacity(self.fields.len());
        for (index, field) in self.fields.iter().enumerate() {
            let start = parsed.body.len();
            let size = self.size(index, count);
            if matches!(field.kind, Kind::Mark(_)) {
                parsed.end = take_mark(characters, parsed.end, size, &mut parsed.body);
            } else {
                let (end, body, garbled) = (parsed.end, &mut parsed.body, &mut parsed.garbled);
                let next = coding.read(characters, end, size, body, garbled);
                let torn = if end == at { Miss::Other } else { Miss::Torn };
                parsed.end = next.ok_or(torn)?;
            }
            ranges.push(start..parsed.body.len());
            match &field.kind {
                Kind::Mark(bytes) if parsed.body[start..] != bytes[..] => {
                    let begun = parsed.end == characters.len() && bytes.starts_with(&parsed.body[start..]);
                    return Err(if begun && parsed.end > at { Miss::Torn } else { Miss::Other });
                }
                Kind::Literal(bytes) if parsed.body[start..] != bytes[..] => return Err(Miss::Other),
                Kind::Length { .. } | Kind::Last(_) => {
                    count = counted(self, index, &parsed.body, &ranges).ok_or(Miss::Other)?;
                    parsed.count = count;
                }
                _ => {}
            }
        }
        parsed.failed = self.failed_check(&parsed.body, &ranges);
        Ok(parsed)
    }
}

/// Copies as much of a mark as there is.
fn take_mark(characters: &[u8], at: usize, size: usize, body: &mut Vec<u8>) -> usize {
    let end = characters.len().min(at + size);
    body.extend_from_slice(&characters[at..end]);
    end
}

/// How many bytes the data carries, as the field that tells it says.
fn counted(record: &Record, field: usize, body: &[u8], ranges: &[Range<usize>]) -> Option<usize> {
    match &record.fields[field].kind {
        Kind::Length { word, counts, of } => {
            let value = word.read(&body[ranges[field].clone()]);
            record.count_of_length(*word, *counts, of, value)
        }
        Kind::Last(word) => {
            let (address, pointer) = record.address()?;
            let first = match pointer {
                Pointer::Whole(form) => form.read(&body[ranges.get(address)?.clone()]),
                Pointer::Page => u16::from(body[ranges.get(address)?.start]) << 8,
                Pointer::Low => return None,
            };
            let last = word.read(&body[ranges[field].clone()]);
            let further = if record.from_the_top() { first.wrapping_sub(last) } else { last.wrapping_sub(first) };
            Some(usize::from(further) + 1).filter(|&count| count <= record.most())
        }
        _ => None,
    }
}
