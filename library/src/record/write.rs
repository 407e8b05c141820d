//! What a record says to the characters that stand for it.

use std::ops::Range;

use super::coding::Coding;
use super::field::{Data, Kind, Pointer, Spot};
use super::fields::Record;
use crate::notation::Address;

/// What the fields of one record say.
#[derive(Clone, Copy)]
pub struct Values<'a> {
    /// The record's address, from which its data is counted.
    pub base: Address,
    /// How many bytes its data or label carries.
    pub count: usize,
    /// Its number.
    pub number: u16,
    /// What a label says, `count` bytes at least.
    pub label: &'a str,
    /// The entry, if there is one.
    pub entry: Option<Address>,
    /// Where it stands, if that is on a disk.
    pub here: Spot,
    /// Where the program goes on, if it does so elsewhere on a disk.
    pub next: Option<Spot>,
    /// The byte of an address, if there is one.
    pub byte: &'a dyn Fn(Address) -> Option<u8>,
}

/// Why a record cannot say what it should.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unfit {
    /// It must carry an entry, and there is none.
    NoEntry,
    /// It carries the low byte of an entry in another page than its address.
    EntryElsewhere(Address),
    /// A field needs a character that must not stand there.
    Avoided {
        /// The field, as an index.
        field: usize,
        /// The character.
        character: u8,
    },
}

impl Record {
    /// The characters of all fields.
    ///
    /// # Errors
    /// The first field that cannot say what it should.
    pub fn write(&self, coding: &Coding, values: &Values) -> Result<Vec<u8>, Unfit> {
        let ranges = self.ranges(values.count);
        let body = self.body(values, &ranges)?;
        let mut characters = Vec::with_capacity(coding.most_characters(body.len()));
        for (index, range) in ranges.into_iter().enumerate() {
            if let Kind::Mark(mark) = &self.fields[index].kind {
                characters.extend_from_slice(mark);
                continue;
            }
            let start = characters.len();
            coding.write(&body[range], &mut characters);
            let avoided = characters[start..].iter().find(|&&character| coding.avoid.contains(character));
            if let Some(&character) = avoided {
                return Err(Unfit::Avoided { field: index, character });
            }
        }
        Ok(characters)
    }

    /// The bytes of all fields.
    fn body(&self, values: &Values, ranges: &[Range<usize>]) -> Result<Vec<u8>, Unfit> {
        let mut body = vec![0; ranges.last().map_or(0, |last| last.end)];
        for (field, range) in self.fields.iter().zip(ranges) {
            let out = &mut body[range.clone()];
            match &field.kind {
                Kind::Mark(bytes) | Kind::Literal(bytes) => out.copy_from_slice(bytes),
                Kind::Length { word, counts, of } => word.write(self.length_value(*counts, of, values.count), out),
                Kind::Last(word) => word.write(self.ends(values).1, out),
                Kind::Address(Pointer::Whole(word)) => word.write(self.ends(values).0, out),
                Kind::Address(_) => out[0] = (values.base.0 >> 8) as u8,
                Kind::Sequence { word, .. } => word.write(values.number, out),
                Kind::Data(data) => fill(data, values, out),
                Kind::Label(_) => out.copy_from_slice(&values.label.as_bytes()[..values.count]),
                Kind::Entry(pointer) => write_entry(*pointer, values, out)?,
                Kind::Here(of) => out[0] = values.here.number(*of),
                Kind::Next { of, end } => out[0] = values.next.map_or(*end, |next| next.number(*of)),
                Kind::Check { .. } => {}
            }
        }
        self.write_checks(&mut body, ranges);
        Ok(body)
    }

    /// The addresses of the first and the last byte as they stand there.
    fn ends(&self, values: &Values) -> (u16, u16) {
        let (low, high) = (values.base.0, values.base.0.wrapping_add((values.count as u16).wrapping_sub(1)));
        if self.from_the_top() { (high, low) } else { (low, high) }
    }
}

fn fill(data: &Data, values: &Values, out: &mut [u8]) {
    let base = values.base.wrapping_add(data.at);
    let carried = values.count.min(data.most);
    for (distance, byte) in out.iter_mut().enumerate() {
        let present = if distance < carried { (values.byte)(base.wrapping_add(distance as u16)) } else { None };
        *byte = present.or(data.pad).unwrap_or(0);
    }
    if data.falling {
        out[..carried].reverse();
    }
}

fn write_entry(pointer: Pointer, values: &Values, out: &mut [u8]) -> Result<(), Unfit> {
    let entry = values.entry.ok_or(Unfit::NoEntry)?;
    match pointer {
        Pointer::Whole(word) => word.write(entry.0, out),
        Pointer::Page => out[0] = (entry.0 >> 8) as u8,
        Pointer::Low if entry.0 >> 8 != values.base.0 >> 8 => return Err(Unfit::EntryElsewhere(entry)),
        Pointer::Low => out[0] = entry.0 as u8,
    }
    Ok(())
}
