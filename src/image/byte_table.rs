//! Byte tables as source text: arrays in C, or `DB` lines in 8080 assembly. They go into other people's sources, and
//! come back.
//!
//! | line | in C | in assembly |
//! | --- | --- | --- |
//! | title | `/* coldwright byte table, C */` | `; coldwright byte table, assembly` |
//! | entry, if there is one | `/* entry 0xFE00 sum 0xFE */` | `; entry 0FE00H sum 0FEH` |
//! | an extent begins | `const unsigned char extent_FE00[512] = {` | `        ORG     0FE00H          ; 512 bytes` |
//! | up to eight bytes | `    0x3E, 0x03, /* 0xFE00 sum 0x41 */` | `        DB      03EH,003H ; 0FE00H sum 041H` |
//! | an extent ends | `};` | |
//! | the last line | `/* end: 512 bytes, check 0x29B1 */` | `; end: 512 bytes, check 029B1H` |
//!
//! Each row names its address and the sum of its bytes modulo 256; the entry has the sum of its two bytes. The check of the last line is CRC-16/IBM-3740 over
//! every extent (base and length, high byte first, then its bytes) and the entry, if there is one (high byte first).
//! Reading takes exactly these lines, in either case and with any blanks, and holds every part of a line against the
//! others: a damaged character does not pass. Tables of other tools are refused, since they name no addresses.

use crc::{CRC_16_IBM_3740, Crc};

use super::reading::{give_up, put, span};
use super::record::{lines, push_hex};
use super::{Extent, Image, MEMORY, Reading};
use crate::notation::Address;
use crate::source::{Code, Diagnostic, SourceId, Span};

/// Bytes of a row.
const ROW: usize = 8;

const CHECK: Crc<u16, crc::Table<16>> = Crc::<u16, crc::Table<16>>::new(&CRC_16_IBM_3740);

/// The language of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Language {
    /// Arrays of `unsigned char`.
    C,
    /// `ORG` and `DB`, as Intel's assembly language has them.
    Assembly,
}

/// The bytes and the entry of an image as a table. Symbols are left out.
pub fn write(image: &Image, language: Language) -> Vec<u8> {
    let mut out = Vec::with_capacity(image.len() * 9 + 256);
    push_line(&mut out, &language.title());
    if let Some(entry) = image.entry {
        push_line(&mut out, &language.entry(entry));
    }
    for Extent { base, bytes } in image.extents() {
        push_line(&mut out, &language.open(base, bytes.len()));
        for (row, bytes) in bytes.chunks(ROW).enumerate() {
            language.push_row(&mut out, base.wrapping_add((row * ROW) as u16), bytes);
            out.push(b'\n');
        }
        if language == Language::C {
            push_line(&mut out, "};");
        }
    }
    push_line(&mut out, &language.end(image));
    out
}

fn push_line(out: &mut Vec<u8>, line: &str) {
    out.extend_from_slice(line.as_bytes());
    out.push(b'\n');
}

/// The check over everything that a table says.
fn check(image: &Image) -> u16 {
    let mut digest = CHECK.digest();
    for extent in image.extents() {
        digest.update(&extent.base.0.to_be_bytes());
        digest.update(&(extent.bytes.len() as u32).to_be_bytes());
        digest.update(extent.bytes);
    }
    if let Some(entry) = image.entry {
        digest.update(&entry.0.to_be_bytes());
    }
    digest.finalize()
}

impl Language {
    /// The first line of a table in this language, by which it is recognised.
    pub(super) fn title(self) -> String {
        self.comment(match self {
            Language::C => "coldwright byte table, C",
            Language::Assembly => "coldwright byte table, assembly",
        })
    }

    fn comment(self, text: &str) -> String {
        match self {
            Language::C => format!("/* {text} */"),
            Language::Assembly => format!("; {text}"),
        }
    }

    fn word(self, value: u16) -> String {
        match self {
            Language::C => format!("0x{value:04X}"),
            Language::Assembly => format!("0{value:04X}H"),
        }
    }

    fn entry(self, entry: Address) -> String {
        let [high, low] = entry.0.to_be_bytes();
        let sum = high.wrapping_add(low);
        let sum = match self {
            Language::C => format!("0x{sum:02X}"),
            Language::Assembly => format!("0{sum:02X}H"),
        };
        self.comment(&format!("entry {} sum {sum}", self.word(entry.0)))
    }

    fn open(self, base: Address, count: usize) -> String {
        match self {
            Language::C => format!("const unsigned char extent_{:04X}[{count}] = {{", base.0),
            Language::Assembly => format!("        ORG     {}          ; {count} bytes", self.word(base.0)),
        }
    }

    /// Adds a row; the hot part of writing, hence by hand.
    fn push_row(self, out: &mut Vec<u8>, address: Address, bytes: &[u8]) {
        let (before, start, end, between, comment, close) = match self {
            Language::C => ("    ", "0x", "", ", ", ", /* ", " */"),
            Language::Assembly => ("        DB      ", "0", "H", ",", " ; ", ""),
        };
        let mut sum = 0u8;
        out.extend_from_slice(before.as_bytes());
        for (place, &byte) in bytes.iter().enumerate() {
            sum = sum.wrapping_add(byte);
            out.extend_from_slice(if place == 0 { "" } else { between }.as_bytes());
            out.extend_from_slice(start.as_bytes());
            push_hex(out, byte);
            out.extend_from_slice(end.as_bytes());
        }
        let [high, low] = address.0.to_be_bytes();
        for (text, bytes) in [(comment, &[high, low][..]), (" sum ", &[sum][..])] {
            out.extend_from_slice(text.as_bytes());
            out.extend_from_slice(start.as_bytes());
            bytes.iter().for_each(|&byte| push_hex(out, byte));
            out.extend_from_slice(end.as_bytes());
        }
        out.extend_from_slice(close.as_bytes());
    }

    fn end(self, image: &Image) -> String {
        self.comment(&format!("end: {} bytes, check {}", image.len(), self.word(check(image))))
    }

    /// What kind of line this is, by its first word.
    fn line(self, line: &str) -> Line {
        let comment = match self {
            Language::C => line.strip_prefix("/*"),
            Language::Assembly => line.strip_prefix(';'),
        };
        let first = |text: &str| text.split_whitespace().next().unwrap_or_default().to_ascii_lowercase();
        match (comment.map(first).as_deref(), first(line).as_str(), self) {
            (Some("coldwright"), ..) => Line::Title,
            (Some("entry"), ..) => Line::Entry,
            (Some("end:"), ..) => Line::End,
            (None, "const", Language::C) | (None, "org", Language::Assembly) => Line::Open,
            (None, "db", Language::Assembly) => Line::Row,
            (None, word, Language::C) if word.starts_with("0x") => Line::Row,
            (None, "};", Language::C) => Line::Close,
            _ => Line::Foreign,
        }
    }
}

/// The kinds of lines.
enum Line {
    Title,
    Entry,
    Open,
    Row,
    Close,
    End,
    Foreign,
}

/// Reads a table that [`write`] wrote, `source` being its id.
pub fn read(text: &str, source: SourceId, language: Language) -> Reading {
    let mut table = Table {
        language,
        text,
        reading: Reading::default(),
        open: None,
        next: None,
        ended: None,
        rows: 0,
        scratch: Vec::new(),
    };
    for (start, line) in lines(text) {
        let trimmed = line.trim();
        if !trimmed.is_empty() {
            let start = start + line.len() - line.trim_start().len();
            let at = span(source, start, start + trimmed.len());
            if give_up(&mut table.reading, at) {
                return table.reading;
            }
            table.line(trimmed, at);
        }
    }
    table.finish(span(source, text.len(), text.len()))
}

struct Table<'a> {
    language: Language,
    text: &'a str,
    reading: Reading,
    /// The extent that was begun last: its line, where it stands, and its base.
    open: Option<(&'a str, Span, Address)>,
    /// Where the next row belongs; none behind one that is not sound.
    next: Option<Address>,
    /// The last line, and where it stands.
    ended: Option<(&'a str, Span)>,
    rows: usize,
    scratch: Vec<u8>,
}

impl<'a> Table<'a> {
    fn line(&mut self, line: &'a str, at: Span) {
        if self.ended.is_some() {
            return self.refuse(Code::TableRow, "a line stands behind the last of the table", at, "nothing may follow");
        }
        match self.language.line(line) {
            Line::Title => _ = self.expect(line, &self.language.title(), at),
            Line::Entry => self.entry(line, at),
            Line::Open => self.open(line, at),
            Line::Row => self.row(line, at),
            Line::Close => self.close(),
            Line::End => {
                self.close();
                self.ended = Some((line, at));
            }
            Line::Foreign => {
                self.refuse(Code::TableRow, "this line is none of a byte table", at, "expected a row, or an extent");
            }
        }
    }

    fn entry(&mut self, line: &str, at: Span) {
        let entry = numbers(line).next().and_then(|number| u16::try_from(number).ok()).map(Address);
        self.reading.image.entry = entry;
        self.expect(line, &entry.map_or(String::new(), |entry| self.language.entry(entry)), at);
    }

    fn open(&mut self, line: &'a str, at: Span) {
        self.close();
        let base = match self.language {
            Language::C => line.split(['_', '[']).nth(1).and_then(|base| u16::from_str_radix(base, 16).ok()),
            Language::Assembly => numbers(line).next().and_then(|base| u16::try_from(base).ok()),
        };
        match base {
            Some(base) => {
                self.open = Some((line, at, Address(base)));
                self.next = Some(Address(base));
            }
            None => self.refuse(Code::TableRow, "an extent without an address", at, "expected four hexadecimal digits"),
        }
    }

    /// Takes a row, if it reads as a row of its bytes at the next address is written. Behind one that does not, the
    /// address is what the row itself says.
    fn row(&mut self, line: &str, at: Span) {
        self.rows += 1;
        let (list, remark) = line.split_at(line.find(['/', ';']).unwrap_or(line.len()));
        let mut bytes = [0; ROW];
        let mut count = 0;
        for number in numbers(list).take(ROW) {
            bytes[count] = number as u8;
            count += 1;
        }
        let named = || Address(numbers(remark).next().unwrap_or_default() as u16);
        let address = self.next.unwrap_or_else(named);
        let mut expected = std::mem::take(&mut self.scratch);
        expected.clear();
        self.language.push_row(&mut expected, address, &bytes[..count]);
        let sound = line.as_bytes() == expected.trim_ascii_start()
            || self.expect(line, &String::from_utf8_lossy(&expected), at);
        self.scratch = expected;
        self.next = sound.then(|| address.wrapping_add(count as u16));
        if sound {
            put(&mut self.reading, u64::from(address.0), &bytes[..count], at, self.text);
        }
    }

    /// Holds the line that began an extent against what came.
    fn close(&mut self) {
        let Some((line, at, base)) = self.open.take() else { return };
        let addresses = base.0..=u16::MAX;
        let count = addresses.take_while(|&address| self.reading.image.byte(Address(address)).is_some()).count();
        if !self.reading.problems.has_errors() {
            self.expect(line, &self.language.open(base, count), at);
        }
    }

    fn finish(mut self, end: Span) -> Reading {
        match self.ended {
            None => self.refuse(Code::RecordEnd, "the last line of the table is missing", end, "the file stops here"),
            Some((line, at)) if !self.reading.problems.has_errors() => {
                let expected = self.language.end(&self.reading.image);
                self.expect(line, &expected, at);
            }
            Some(_) => {}
        }
        self.reading.facts.push(("rows", self.rows.to_string()));
        self.reading
    }

    /// Reports a line that differs from what its parts make, but for case and blanks. Returns whether it is sound.
    fn expect(&mut self, line: &str, expected: &str, at: Span) -> bool {
        let words = |text: &'_ str| text.split_whitespace().map(str::to_ascii_lowercase).collect::<Vec<_>>();
        if line == expected.trim_start() || words(line) == words(expected) {
            return true;
        }
        let problem = Diagnostic::error(Code::TableRow, "the parts of this line disagree")
            .at(at, "a character is damaged, or the line was edited by hand");
        self.reading.problems.push(match expected.trim() {
            "" => problem,
            expected => problem.with_note(format!("with these values it would be `{expected}`")),
        });
        false
    }

    fn refuse(&mut self, code: Code, headline: &str, at: Span, label: &str) {
        self.reading.problems.push(Diagnostic::error(code, headline).at(at, label));
    }
}

/// The numbers of a line, in the form of either language: `0x3E` or `03EH`. Too large ones count as the largest.
fn numbers(line: &str) -> impl Iterator<Item = u32> {
    let words = line.split(|char: char| !char.is_ascii_alphanumeric());
    words.filter(|word| word.starts_with(|first: char| first.is_ascii_digit())).map(|word| {
        let digits = word.strip_prefix("0x").or(word.strip_prefix("0X")).unwrap_or(word);
        let digits = digits.strip_suffix(['H', 'h']).unwrap_or(digits);
        u32::from_str_radix(digits, 16).unwrap_or(MEMORY as u32)
    })
}
