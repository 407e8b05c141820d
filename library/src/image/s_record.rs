//! Motorola S-records. Source: Motorola, M68000 Family Programmer's Reference Manual, appendix C, S-Record Output Format.
//!
//! | field | digits | rule |
//! | --- | --- | --- |
//! | type | 2 | `S` and a digit |
//! | byte count | 2 | bytes of address, data and checksum together |
//! | address | 4, 6 or 8 | high byte first; 0000 in a header |
//! | data | 2 each | high digit first |
//! | checksum | 2 | one's complement of the sum of all bytes before it: count to checksum sum to FF |
//!
//! | type | meaning | address |
//! | --- | --- | --- |
//! | S0 | header | 16 bits, zero |
//! | S1, S2, S3 | data | 16, 24, 32 bits |
//! | S5, S6 | number of data records | 16, 24 bits |
//! | S9, S8, S7 | end of S1, S2, S3 data, with the start address | 16, 24, 32 bits |
//!
//! The type is outside the checksum, so a file must be of one width from its first data record to its end record, and
//! the count of records is written and checked. A start address of zero is read as none: the format does not tell the
//! two apart.

use super::digits::push_hex;
use super::reading::put;
use super::record::{Record, RecordFile, read_all};
use super::{Image, Reading};
use crate::notation::{Address, wide};
use crate::source::{Code, Diagnostic, SourceId, Span};

/// Data bytes of a written record.
const ROW: usize = 16;

/// The text of a written header.
const HEADER: &[u8] = b"coldwright";

/// The width of addresses, the same in all of a file.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Width {
    /// S1 and S9.
    #[default]
    S19,
    /// S2 and S8.
    S28,
    /// S3 and S7.
    S37,
}

impl Width {
    const fn data(self) -> u8 {
        match self {
            Width::S19 => b'1',
            Width::S28 => b'2',
            Width::S37 => b'3',
        }
    }

    const fn end(self) -> u8 {
        b'0' + b'9' - (self.data() - 1)
    }

    const fn address_bytes(self) -> usize {
        (self.data() - b'0') as usize + 1
    }

    fn of_data(kind: u8) -> Option<Width> {
        [Width::S19, Width::S28, Width::S37].into_iter().find(|width| width.data() == kind)
    }

    fn of_end(kind: u8) -> Option<Width> {
        [Width::S19, Width::S28, Width::S37].into_iter().find(|width| width.end() == kind)
    }
}

/// The bytes and the entry of an image as S-records of one width: header, data records of up to 16 bytes, count, end.
/// Symbols are left out; the format has no place for them.
pub fn write(image: &Image, width: Width) -> Vec<u8> {
    let mut out = Vec::with_capacity(image.len() * 3);
    push_record(&mut out, b'0', 2, 0, HEADER);
    let mut records = 0;
    for extent in image.extents() {
        for (row, bytes) in extent.bytes.chunks(ROW).enumerate() {
            let address = extent.base.index() + row * ROW;
            push_record(&mut out, width.data(), width.address_bytes(), address as u32, bytes);
            records += 1;
        }
    }
    push_record(&mut out, b'5', 2, records, &[]);
    let entry = image.entry.map_or(0, |entry| u32::from(entry.0));
    push_record(&mut out, width.end(), width.address_bytes(), entry, &[]);
    out
}

fn push_record(out: &mut Vec<u8>, kind: u8, address_bytes: usize, address: u32, data: &[u8]) {
    let address = &address.to_be_bytes()[4 - address_bytes..];
    let count = (address_bytes + data.len() + 1) as u8;
    let mut sum = 0u8;
    out.extend([b'S', kind]);
    for &byte in [count].iter().chain(address).chain(data) {
        sum = sum.wrapping_add(byte);
        push_hex(out, byte);
    }
    push_hex(out, !sum);
    out.push(b'\n');
}

/// Reads a text of S-records of any one width, `source` being its id.
pub fn read(text: &str, source: SourceId) -> Reading {
    let mut file = SFile::default();
    read_all(text, source, &mut file);
    file.reading.facts.push(("data records", file.data_records.to_string()));
    let tally = match file.tally {
        Some(count) if count == file.data_records => "right",
        Some(_) => "wrong",
        None => "none in the file: a lost record would not be noticed",
    };
    file.reading.facts.push(("count of records", tally.into()));
    file.reading
}

/// Whether a line is a whole record with a right checksum, and then the width that it shows, if it is one of data or
/// the end.
pub(super) fn sound_width(line: &str) -> Option<Option<Width>> {
    let (mark, digits) = line.split_at_checked(2)?;
    let kind = *mark.as_bytes().last().filter(|_| SFile::is_marked(mark))?;
    let bytes = hex::decode(digits).ok()?;
    let sum = bytes.iter().fold(0u8, |sum, &byte| sum.wrapping_add(byte));
    let sound = bytes.len() >= 4 && bytes.len() == usize::from(bytes[0]) + 1 && sum == 0xFF && kind != b'4';
    sound.then(|| Width::of_data(kind).or(Width::of_end(kind)))
}

#[derive(Default)]
struct SFile {
    reading: Reading,
    /// The width of the first data record, and where that is.
    width: Option<(Width, Span)>,
    /// Well-formed records so far, of any type.
    records: usize,
    data_records: usize,
    /// The announced number of data records.
    tally: Option<usize>,
    ended: bool,
}

impl RecordFile for SFile {
    const RECORD: &'static str = "an S-record";
    const MARK: usize = 2;

    fn is_marked(text: &str) -> bool {
        matches!(text.as_bytes(), [b'S' | b's', b'0'..=b'9', ..])
    }

    fn ended(&self) -> bool {
        self.ended
    }

    fn is_counted(&self) -> bool {
        self.tally.is_some() && !self.reading.problems.has_errors()
    }

    fn reading(&mut self) -> &mut Reading {
        &mut self.reading
    }

    fn take(&mut self, record: &Record<'_>, text: &str) -> bool {
        let errors = self.reading.problems.len();
        match fields(record) {
            Ok((address, data)) => self.apply(record, address, data, text),
            Err(problem) => self.reading.problems.push(problem),
        }
        self.records += 1;
        self.reading.problems.len() == errors
    }
}

/// Address and data of a record whose length and checksum are right.
fn fields<'a>(record: &Record<'a>) -> Result<(u32, &'a [u8]), Diagnostic> {
    let address_bytes = match record.kind {
        b'0' | b'1' | b'5' | b'9' => 2,
        b'2' | b'6' | b'8' => 3,
        b'3' | b'7' => 4,
        kind => {
            let headline = format!("record type `S{}` is not defined", char::from(kind));
            return Err(Diagnostic::error(Code::RecordType, headline)
                .at(record.span, "expected S0 to S3, S5 to S9")
                .with_note("the record was left out"));
        }
    };
    let [count, rest @ ..] = record.bytes else { return Err(miscounted(record, 0)) };
    let (address, data, checksum) = match rest.split_last() {
        Some((checksum, body)) if rest.len() == usize::from(*count) && body.len() >= address_bytes => {
            let (address, data) = body.split_at(address_bytes);
            (address, data, *checksum)
        }
        _ => return Err(miscounted(record, address_bytes)),
    };
    let sum = record.bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte));
    if sum != 0xFF {
        let right = !sum.wrapping_sub(checksum);
        return Err(Diagnostic::error(Code::RecordChecksum, format!("wrong checksum `{checksum:02X}`"))
            .at(record.span, format!("with these bytes `{right:02X}` would be right"))
            .with_note("one of the digits is wrong, and not necessarily the checksum"));
    }
    Ok((address.iter().fold(0, |value, &byte| value << 8 | u32::from(byte)), data))
}

fn miscounted(record: &Record<'_>, address_bytes: usize) -> Diagnostic {
    let Some(count) = record.bytes.first() else {
        return Diagnostic::error(Code::RecordCount, "the record has no byte count")
            .at(record.span, "expected count, address, data and checksum");
    };
    let found = record.bytes.len() - 1;
    let problem = Diagnostic::error(Code::RecordCount, format!("the record announces `{count}` bytes"));
    if found == usize::from(*count) {
        let kind = char::from(record.kind);
        return problem.at(record.span, format!("S{kind} has at least {}: address and checksum", address_bytes + 1));
    }
    problem.at(record.span, format!("{found} follow the count"))
}

impl SFile {
    fn apply(&mut self, record: &Record<'_>, address: u32, data: &[u8], text: &str) {
        let dataless = matches!(record.kind, b'5'..=b'9');
        if dataless && !data.is_empty() {
            let headline = format!("a record of type `S{}` with data", char::from(record.kind));
            let problem = Diagnostic::error(Code::RecordCount, headline);
            return self.reading.problems.push(problem.at(record.span, "this type has an address only"));
        }
        match record.kind {
            b'0' => self.header(record, address, data),
            b'5' | b'6' => self.tally(record, address),
            kind => match Width::of_data(kind) {
                Some(width) => self.data(record, width, address, data, text),
                None => self.end(record, address),
            },
        }
    }

    fn header(&mut self, record: &Record<'_>, address: u32, data: &[u8]) {
        let text: String = String::from_utf8_lossy(data).trim_end_matches('\0').to_owned();
        if self.records > 0 {
            let problem = Diagnostic::error(Code::RecordOrder, "a header stands behind other records");
            self.reading.problems.push(problem.at(record.span, "S0 must be the first record: is its type damaged?"));
        } else if address != 0 {
            let problem = Diagnostic::error(Code::RecordField, format!("the header's address is `{address:04X}`"));
            self.reading.problems.push(problem.at(record.span, "expected 0000: is this data with a damaged type?"));
        } else if text.chars().any(|char| char.is_control() || char == char::REPLACEMENT_CHARACTER) {
            let problem = Diagnostic::warning(Code::RecordField, "the header holds bytes that are no text");
            self.reading.problems.push(problem.at(record.span, "is this data with a damaged type?"));
        } else {
            self.reading.facts.push(("header", format!("`{text}`")));
        }
    }

    fn data(&mut self, record: &Record<'_>, width: Width, address: u32, data: &[u8], text: &str) {
        let (first, at) = *self.width.get_or_insert((width, record.span));
        let problem = if first != width {
            let headline = format!("`S{}` among S{} records", char::from(record.kind), char::from(first.data()));
            Diagnostic::error(Code::RecordType, headline)
                .at(record.span, "all data records of a file have addresses of one width")
                .and_at(at, "this is the first of them")
        } else if self.tally.is_some() {
            Diagnostic::error(Code::RecordOrder, "a data record stands behind the count of records")
                .at(record.span, "it was not counted")
        } else {
            self.data_records += 1;
            return put(&mut self.reading, u64::from(address), data, record.span, text);
        };
        self.reading.problems.push(problem);
    }

    fn tally(&mut self, record: &Record<'_>, announced: u32) {
        let problem = if self.tally.is_some() {
            Diagnostic::error(Code::RecordOrder, "a second count of records").at(record.span, "expected the end record")
        } else if announced as usize == self.data_records {
            return self.tally = Some(self.data_records);
        } else {
            self.tally = Some(announced as usize);
            Diagnostic::error(Code::RecordTally, format!("the file announces `{announced}` data records"))
                .at(record.span, format!("well-formed ones before this: {}", self.data_records))
                .with_note("a record is lost, doubled, or left out for another problem")
        };
        self.reading.problems.push(problem);
    }

    fn end(&mut self, record: &Record<'_>, address: u32) {
        self.ended = true;
        if let (Some(width), Some((first, at))) = (Width::of_end(record.kind), self.width)
            && width != first
        {
            let headline = format!("`S{}` ends S{} records", char::from(record.kind), char::from(first.data()));
            self.reading.problems.push(
                Diagnostic::error(Code::RecordType, headline)
                    .at(record.span, format!("expected S{}", char::from(first.end())))
                    .and_at(at, "this is the first data record"),
            );
        }
        match u16::try_from(address) {
            Ok(0) => {}
            Ok(start) => self.reading.image.entry = Some(Address(start)),
            Err(_) => self.reading.problems.push(
                Diagnostic::error(
                    Code::ImagePastTop,
                    format!("start address `{}` is past the top of memory", wide(address.into())),
                )
                .at(record.span, "expected 0..=FFFF"),
            ),
        }
    }
}
