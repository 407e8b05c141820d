//! Intel HEX. Source: Intel, Hexadecimal Object File Format Specification, Revision A, 6 January 1988.
//!
//! | field | digits | rule |
//! | --- | --- | --- |
//! | RECORD MARK | 1 | `:` |
//! | RECLEN | 2 | bytes in INFO or DATA, 0 to 255 |
//! | LOAD OFFSET | 4 | high byte first; `0000` in all but data records |
//! | RECTYP | 2 | 00 data, 01 end of file, 02 and 04 upper address, 03 and 05 start address |
//! | INFO or DATA | 2 each | high digit first |
//! | CHKSUM | 2 | two's complement of the sum of all bytes before it: the whole record sums to zero |
//!
//! Written are the records of the 8-bit format, 00 and 01: it has no start address. All six types are read. An end
//! record with a load offset, by which older tools gave the start address \[C\], is read as one, with a note.

use super::digits::push_hex;
use super::reading::put;
use super::record::{Record, RecordFile, read_all};
use super::{Image, Reading};
use crate::notation::{Address, Notation, wide};
use crate::source::{Code, Diagnostic, SourceId};

/// Data bytes of a written record.
const ROW: usize = 16;

/// The record types.
mod rectyp {
    pub const DATA: u8 = 0;
    pub const END_OF_FILE: u8 = 1;
    pub const EXTENDED_SEGMENT_ADDRESS: u8 = 2;
    pub const START_SEGMENT_ADDRESS: u8 = 3;
    pub const EXTENDED_LINEAR_ADDRESS: u8 = 4;
    pub const START_LINEAR_ADDRESS: u8 = 5;
}

/// The bytes of an image as Intel HEX: 8-bit records of up to 16 data bytes, one a line. Entry and symbols are left
/// out; the format has no place for them.
pub fn write(image: &Image) -> Vec<u8> {
    let mut out = Vec::with_capacity(image.len() * 3);
    for extent in image.extents() {
        for (row, bytes) in extent.bytes.chunks(ROW).enumerate() {
            push_record(&mut out, extent.base.wrapping_add((row * ROW) as u16), rectyp::DATA, bytes);
        }
    }
    push_record(&mut out, Address(0), rectyp::END_OF_FILE, &[]);
    out
}

fn push_record(out: &mut Vec<u8>, offset: Address, kind: u8, data: &[u8]) {
    let [high, low] = offset.0.to_be_bytes();
    let head = [data.len() as u8, high, low, kind];
    let sum = head.iter().chain(data).fold(0u8, |sum, byte| sum.wrapping_add(*byte));
    out.push(b':');
    for &byte in head.iter().chain(data).chain([&sum.wrapping_neg()]) {
        push_hex(out, byte);
    }
    out.push(b'\n');
}

/// Reads a text of Intel HEX records, `source` being its id.
pub fn read(text: &str, source: SourceId) -> Reading {
    let mut file = HexFile::default();
    read_all(text, source, &mut file);
    file.reading.facts.push(("data records", file.data_records.to_string()));
    file.reading
}

/// Whether a line is a whole record with a right checksum.
pub(super) fn is_sound(line: &str) -> bool {
    let digits = line.strip_prefix(':').and_then(|digits| hex::decode(digits).ok());
    digits.is_some_and(|bytes| {
        bytes.len() >= 5
            && bytes.len() == usize::from(bytes[0]) + 5
            && bytes.iter().fold(0u8, |sum, &byte| sum.wrapping_add(byte)) == 0
    })
}

/// Where the load offsets of data records count from.
#[derive(Clone, Copy)]
enum Upper {
    /// Nothing was said: the 8-bit format.
    None,
    /// A segment base of 16-byte paragraphs; offsets wrap within 64 KiB.
    Segment(u16),
    /// The upper half of a 32-bit address.
    Linear(u16),
}

struct HexFile {
    reading: Reading,
    upper: Upper,
    data_records: usize,
    ended: bool,
}

impl Default for HexFile {
    fn default() -> Self {
        HexFile { reading: Reading::default(), upper: Upper::None, data_records: 0, ended: false }
    }
}

impl RecordFile for HexFile {
    const RECORD: &'static str = "an Intel HEX record";
    const MARK: usize = 1;

    fn is_marked(text: &str) -> bool {
        text.starts_with(':')
    }

    fn ended(&self) -> bool {
        self.ended
    }

    fn reading(&mut self) -> &mut Reading {
        &mut self.reading
    }

    fn take(&mut self, record: &Record<'_>, text: &str) -> bool {
        let errors = self.reading.problems.len();
        match fields(record) {
            Ok(fields) => self.apply(record, &fields, text),
            Err(problem) => self.reading.problems.push(problem),
        }
        self.reading.problems.len() == errors
    }
}

/// The fields of a record whose length and checksum are right.
struct Fields<'a> {
    offset: u16,
    kind: u8,
    data: &'a [u8],
}

fn fields<'a>(record: &Record<'a>) -> Result<Fields<'a>, Diagnostic> {
    let [reclen, high, low, kind, rest @ ..] = record.bytes else {
        return Err(Diagnostic::error(Code::RecordCount, "the record is shorter than its fixed fields")
            .at(record.span, "expected at least ten digits: count, offset, type, checksum"));
    };
    let expected = usize::from(*reclen) + 1;
    let (data, checksum) = match rest {
        [data @ .., checksum] if rest.len() == expected => (data, *checksum),
        _ => return Err(miscounted(record, *reclen, rest.len())),
    };
    let sum = record.bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte));
    if sum != 0 {
        let right = checksum.wrapping_sub(sum);
        return Err(Diagnostic::error(Code::RecordChecksum, format!("wrong checksum `{checksum:02X}`"))
            .at(record.span, format!("with these bytes `{right:02X}` would be right"))
            .with_note("one of the digits is wrong, and not necessarily the checksum"));
    }
    Ok(Fields { offset: u16::from_be_bytes([*high, *low]), kind: *kind, data })
}

fn miscounted(record: &Record<'_>, reclen: u8, found: usize) -> Diagnostic {
    let found = match found {
        0 => "not even the checksum follows".to_owned(),
        found => format!("{} and the checksum follow", found - 1),
    };
    Diagnostic::error(Code::RecordCount, format!("the record announces `{reclen}` data bytes"))
        .at(record.span, format!("{found} its fixed fields"))
}

impl HexFile {
    fn apply(&mut self, record: &Record<'_>, fields: &Fields<'_>, text: &str) {
        let word = |at: usize| u16::from_be_bytes([fields.data[at], fields.data[at + 1]]);
        let expected = match fields.kind {
            rectyp::DATA => fields.data.len(),
            rectyp::END_OF_FILE => 0,
            rectyp::EXTENDED_SEGMENT_ADDRESS | rectyp::EXTENDED_LINEAR_ADDRESS => 2,
            rectyp::START_SEGMENT_ADDRESS | rectyp::START_LINEAR_ADDRESS => 4,
            _ => return self.reading.problems.push(unknown_type(record, fields.kind)),
        };
        if fields.data.len() != expected {
            let headline = format!("a record of type `{:02X}` with `{}` data bytes", fields.kind, fields.data.len());
            let problem = Diagnostic::error(Code::RecordCount, headline);
            return self.reading.problems.push(problem.at(record.span, format!("this type has {expected}")));
        }
        match fields.kind {
            rectyp::DATA => self.data(record, fields, text),
            rectyp::END_OF_FILE => self.end(record, fields.offset),
            rectyp::EXTENDED_SEGMENT_ADDRESS => self.upper = Upper::Segment(word(0)),
            rectyp::EXTENDED_LINEAR_ADDRESS => self.upper = Upper::Linear(word(0)),
            rectyp::START_SEGMENT_ADDRESS => self.start(record, u32::from(word(0)) * 16 + u32::from(word(2))),
            _ => self.start(record, u32::from(word(0)) << 16 | u32::from(word(2))),
        }
        if fields.kind > rectyp::END_OF_FILE && fields.offset != 0 {
            let headline = format!("the load offset `{:04X}` has no meaning here", fields.offset);
            let problem = Diagnostic::warning(Code::RecordField, headline);
            self.reading.problems.push(problem.at(record.span, "expected 0000 in a record of this type"));
        }
    }

    fn data(&mut self, record: &Record<'_>, fields: &Fields<'_>, text: &str) {
        self.data_records += 1;
        let (base, room) = match self.upper {
            Upper::None => (0, usize::MAX),
            Upper::Segment(base) => (u64::from(base) * 16, 0x1_0000 - usize::from(fields.offset)),
            Upper::Linear(upper) => (u64::from(upper) << 16, usize::MAX),
        };
        let (straight, wrapped) = fields.data.split_at(room.min(fields.data.len()));
        put(&mut self.reading, base + u64::from(fields.offset), straight, record.span, text);
        put(&mut self.reading, base, wrapped, record.span, text);
        if !wrapped.is_empty() {
            self.reading.problems.push(
                Diagnostic::warning(Code::RecordWrap, "the data wrap from the end of their segment to its start")
                    .at(record.span, format!("bytes that go on at {base:04X}: {}", wrapped.len()))
                    .with_note("the format says so, after an extended segment address record"),
            );
        }
    }

    fn end(&mut self, record: &Record<'_>, offset: u16) {
        self.ended = true;
        if offset == 0 {
            return;
        }
        let headline = format!("the end record names `{offset:04X}`: taken as the start address");
        self.reading.problems.push(
            Diagnostic::note(Code::RecordField, headline)
                .at(record.span, "older tools write it here; the published format has 0000"),
        );
        self.start(record, u32::from(offset));
    }

    fn start(&mut self, record: &Record<'_>, address: u32) {
        let problem = match (u16::try_from(address), self.reading.image.entry) {
            (Err(_), _) => Diagnostic::error(
                Code::ImagePastTop,
                format!("start address `{}` is past the top of memory", wide(address.into())),
            )
            .at(record.span, "expected 0..=FFFF"),
            (Ok(start), Some(entry)) if entry.0 != start => {
                Diagnostic::error(Code::RecordOrder, format!("a second start address, `{start:04X}`"))
                    .at(record.span, format!("{} was given before", Notation::Hexadecimal.address(entry)))
            }
            (Ok(start), _) => return self.reading.image.entry = Some(Address(start)),
        };
        self.reading.problems.push(problem);
    }
}

fn unknown_type(record: &Record<'_>, kind: u8) -> Diagnostic {
    Diagnostic::error(Code::RecordType, format!("record type `{kind:02X}` is not known"))
        .at(record.span, "expected 00..=05")
        .with_note("the record was left out")
}
