//! One head, block or end at one place of a tape. This knows nothing of what stands before or behind it.

use std::borrow::Cow;
use std::ops::Range;

use super::Framing;
use super::coding::Coding;
use super::field::{Kind, Pointer};
use super::layout::Layout;

/// The characters of a tape: without ignored frames and without parity.
pub(super) struct Cleaned<'a> {
    pub characters: Cow<'a, [u8]>,
    /// The offset on the tape of each character, where it is not the character's own index.
    offsets: Option<Vec<usize>>,
    /// The characters whose eighth track is wrong, rising.
    pub flaws: Vec<usize>,
}

impl<'a> Cleaned<'a> {
    pub fn new(coding: &Coding, raw: &'a [u8]) -> Self {
        if coding.ignore.is_empty() && !coding.characters.is_seven_bit() {
            return Cleaned { characters: Cow::Borrowed(raw), offsets: None, flaws: Vec::new() };
        }
        let (mut characters, mut offsets, mut flaws) = (Vec::with_capacity(raw.len()), Vec::new(), Vec::new());
        for (offset, &frame) in raw.iter().enumerate() {
            let (character, sound) = coding.characters.read(frame);
            if coding.ignore.contains(character) {
                continue;
            }
            if !sound {
                flaws.push(characters.len());
            }
            characters.push(character);
            offsets.push(offset);
        }
        let offsets = (offsets.len() < raw.len()).then_some(offsets);
        Cleaned { characters: Cow::Owned(characters), offsets, flaws }
    }

    /// The offset on the tape of a character; of the end, one behind the last character's.
    pub fn offset(&self, index: usize) -> usize {
        match &self.offsets {
            None => index,
            Some(offsets) => match offsets.get(index) {
                Some(&offset) => offset,
                None => offsets.last().map_or(0, |last| last + 1),
            },
        }
    }

    /// The frames of a run of characters.
    pub fn frames(&self, characters: Range<usize>) -> Range<usize> {
        let end =
            if characters.is_empty() { self.offset(characters.start) } else { self.offset(characters.end - 1) + 1 };
        self.offset(characters.start)..end
    }

    /// Whether a character within has its eighth track wrong.
    pub fn is_flawed(&self, characters: &Range<usize>) -> bool {
        let first = self.flaws.partition_point(|&flaw| flaw < characters.start);
        self.flaws.get(first).is_some_and(|&flaw| flaw < characters.end)
    }
}

/// What stands at a place.
#[derive(Clone, Debug)]
pub(super) struct Parsed {
    /// Behind the last character.
    pub end: usize,
    /// Bytes that the data or label carries.
    pub count: usize,
    /// The bytes of all fields.
    pub body: Vec<u8>,
    /// A character was no digit, or stood where it should have been escaped.
    pub garbled: bool,
    /// The first check that fails: its field, the value on the tape, the value that belongs there.
    pub failed: Option<(usize, u16, u16)>,
}

impl Parsed {
    /// Whether nothing speaks against it.
    pub fn is_sound(&self) -> bool {
        self.failed.is_none() && !self.garbled
    }
}

/// Why nothing of a layout stands at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Miss {
    /// Something else stands there.
    Other,
    /// The tape ends in the middle of it.
    Torn,
}

/// Reads a head, block or end from `at` on.
pub(super) fn parse(framing: &Framing, layout: &Layout, characters: &[u8], at: usize) -> Result<Parsed, Miss> {
    let mut count = layout.fewest();
    let mut parsed = Parsed { end: at, count, body: Vec::with_capacity(64), garbled: false, failed: None };
    let mut ranges = Vec::with_capacity(layout.fields.len());
    for (index, field) in layout.fields.iter().enumerate() {
        let start = parsed.body.len();
        let size = layout.size(index, count);
        if matches!(field.kind, Kind::Mark(_)) {
            parsed.end = take_mark(characters, parsed.end, size, &mut parsed.body);
        } else {
            let (end, body, garbled) = (parsed.end, &mut parsed.body, &mut parsed.garbled);
            let next = framing.coding.read(characters, end, size, body, garbled);
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
                count = counted(layout, index, &parsed.body, &ranges).ok_or(Miss::Other)?;
                parsed.count = count;
            }
            _ => {}
        }
    }
    parsed.failed = failed_check(layout, &parsed.body, &ranges);
    Ok(parsed)
}

/// Copies as much of a mark as there is.
fn take_mark(characters: &[u8], at: usize, size: usize, body: &mut Vec<u8>) -> usize {
    let end = characters.len().min(at + size);
    body.extend_from_slice(&characters[at..end]);
    end
}

/// How many bytes the data carries, as the field that tells it says.
fn counted(layout: &Layout, field: usize, body: &[u8], ranges: &[Range<usize>]) -> Option<usize> {
    match &layout.fields[field].kind {
        Kind::Length { word, counts, of } => {
            let value = word.read(&body[ranges[field].clone()]);
            layout.count_of_length(*word, *counts, of, value)
        }
        Kind::Last(word) => {
            let (address, pointer) = layout.address()?;
            let first = match pointer {
                Pointer::Whole(form) => form.read(&body[ranges.get(address)?.clone()]),
                Pointer::Page => u16::from(body[ranges.get(address)?.start]) << 8,
                Pointer::Low => return None,
            };
            let last = word.read(&body[ranges[field].clone()]);
            let further = if layout.from_the_top() { first.wrapping_sub(last) } else { last.wrapping_sub(first) };
            Some(usize::from(further) + 1).filter(|&count| count <= layout.most())
        }
        _ => None,
    }
}

/// The first check of a block's bytes that fails: its field, the value on the tape, the value that belongs there.
pub(super) fn failed_check(layout: &Layout, body: &[u8], ranges: &[Range<usize>]) -> Option<(usize, u16, u16)> {
    layout.checks.iter().find_map(|&index| {
        let Kind::Check { kind, word, stored, over } = &layout.fields[index].kind else { return None };
        let found = word.read(&body[ranges[index].clone()]);
        let right = Layout::check_value(*kind, *stored, over, body, ranges);
        (found != right).then_some((index, found, right))
    })
}
