//! What the fields of a record that was read say, and where they stand.

use std::ops::Range;

use super::coding::{Coding, Digits};
use super::field::{Coordinate, Kind, Pointer};
use super::fields::Record;
use super::parse::Parsed;
use crate::notation::Address;

/// What the fields of a record say besides its number and its address.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Said {
    /// The bytes that it carries, each run with its lowest address.
    pub pieces: Vec<(Address, Vec<u8>)>,
    /// The entry.
    pub entry: Option<Address>,
    /// The label.
    pub label: Option<String>,
}

/// What stands in a record in another way than it is written, though it says the same.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Oddities {
    /// Hexadecimal digits that are of lower case among upper ones, or the other way round.
    pub digits: usize,
    /// Bytes of padding that are not the declared one.
    pub padding: usize,
}

impl Record {
    /// What the fields say, if the record's address is `base`.
    pub fn said(&self, parsed: &Parsed, base: Address) -> Said {
        let mut said = Said::default();
        for (field, range) in self.fields.iter().zip(self.ranges(parsed.count)) {
            let bytes = &parsed.body[range];
            match &field.kind {
                Kind::Data(data) => {
                    let carried = if data.pad.is_some() { parsed.count.min(data.most) } else { bytes.len() };
                    let mut bytes = bytes[..carried].to_vec();
                    if data.falling {
                        bytes.reverse();
                    }
                    said.pieces.push((base.wrapping_add(data.at), bytes));
                }
                Kind::Entry(Pointer::Whole(word)) => said.entry = Some(Address(word.read(bytes))),
                Kind::Entry(_) => said.entry = Some(Address((base.0 & 0xFF00) | u16::from(bytes[0]))),
                Kind::Label(_) => said.label = Some(String::from_utf8_lossy(bytes).into_owned()),
                _ => {}
            }
        }
        said
    }

    /// Characters that say what they should in another way than the record is written: hexadecimal digits in the case of the
    /// fewer where both cases stand, and bytes of padding that are not the declared one.
    pub fn oddities(&self, coding: &Coding, parsed: &Parsed, characters: &[u8]) -> Oddities {
        let mut odd = Oddities::default();
        let (mut upper, mut lower) = (0, 0);
        let places = self.places(coding, parsed).into_iter().zip(self.ranges(parsed.count));
        for (field, (place, range)) in self.fields.iter().zip(places) {
            if coding.digits == Digits::Hexadecimal && !matches!(field.kind, Kind::Mark(_)) {
                let digits = characters.get(place).unwrap_or_default();
                upper += digits.iter().filter(|digit| digit.is_ascii_uppercase()).count();
                lower += digits.iter().filter(|digit| digit.is_ascii_lowercase()).count();
            }
            if let Kind::Data(data) = &field.kind
                && let Some(pad) = data.pad
            {
                let bytes = &parsed.body[range];
                odd.padding += bytes[parsed.count.min(data.most)..].iter().filter(|&&byte| byte != pad).count();
            }
        }
        odd.digits = upper.min(lower);
        odd
    }

    /// The number that the sequence field says, if there is one.
    pub fn said_number(&self, parsed: &Parsed) -> Option<u16> {
        let (index, word, _) = self.sequence()?;
        Some(word.read(&parsed.body[self.ranges(parsed.count)[index].clone()]))
    }

    /// What a field of one byte says, the first of those for which a property holds.
    fn said_byte(&self, parsed: &Parsed, property: impl Fn(&Kind) -> bool) -> Option<u8> {
        let field = self.fields.iter().position(|field| property(&field.kind))?;
        Some(parsed.body[self.ranges(parsed.count)[field].start])
    }

    /// The number of track or sector that the record says is its own, if it says one.
    pub fn said_here(&self, parsed: &Parsed, of: Coordinate) -> Option<u8> {
        self.said_byte(parsed, |kind| *kind == Kind::Here(of))
    }

    /// The number of track or sector where the program goes on, if the record says one; that of a last record too.
    pub fn said_next(&self, parsed: &Parsed, of: Coordinate) -> Option<u8> {
        self.said_byte(parsed, |kind| matches!(kind, Kind::Next { of: its, .. } if *its == of))
    }

    /// The record's address as the address field says it; nothing without one, or if the lowest byte would lie below
    /// address 0.
    pub fn said_address(&self, parsed: &Parsed) -> Option<Address> {
        let (index, pointer) = self.address()?;
        let bytes = &parsed.body[self.ranges(parsed.count)[index].clone()];
        let first = match pointer {
            Pointer::Whole(word) => word.read(bytes),
            _ => u16::from(bytes[0]) << 8,
        };
        let is_high_end = self.from_the_top() && matches!(pointer, Pointer::Whole(_));
        let below = if is_high_end { (parsed.count - 1) as u16 } else { 0 };
        first.checked_sub(below).map(Address)
    }

    /// How far above the record's address its data reaches, in bytes.
    pub fn reach(&self, count: usize) -> usize {
        self.data().map(|(_, data)| usize::from(data.at) + count.min(data.most)).max().unwrap_or(0)
    }

    /// The characters of each field, from the first of the record on.
    pub fn places(&self, coding: &Coding, parsed: &Parsed) -> Vec<Range<usize>> {
        let (mut end, mut characters) = (0, Vec::new());
        let fields = self.fields.iter().zip(self.ranges(parsed.count));
        let places = fields.map(|(field, range)| {
            let start = end;
            characters.clear();
            match field.kind {
                Kind::Mark(_) => end += range.len(),
                _ => {
                    coding.write(&parsed.body[range], &mut characters);
                    end += characters.len();
                }
            }
            start..end
        });
        places.collect()
    }
}
