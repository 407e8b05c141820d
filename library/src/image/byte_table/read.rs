//! A table as an image: every line is held against what its parts make when they are written.

use super::language::{Language, Line, numbers};
use super::row::{ROW, Row};
use crate::image::Reading;
use crate::image::reading::{give_up, put, span};
use crate::image::record::lines;
use crate::notation::Address;
use crate::source::{Code, Diagnostic, SourceId, Span};

/// Reads a table that [`write`](super::write) wrote, `source` being its id.
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
        let (list, remark) = line.split_at(memchr::memchr2(b'/', b';', line.as_bytes()).unwrap_or(line.len()));
        let named = || Address(numbers(remark).next().unwrap_or_default() as u16);
        let address = self.next.unwrap_or_else(named);
        let quick = self.language.evenly_spaced(list).filter(|(bytes, count)| {
            self.scratch.clear();
            self.language.push_row(&mut self.scratch, address, &bytes[..*count]);
            line.as_bytes() == self.scratch.trim_ascii_start()
        });
        let sound = quick.or_else(|| self.loosely_spaced(line, list, address, at));
        self.next = sound.map(|(_, count)| address.wrapping_add(count as u16));
        if let Some((bytes, count)) = sound {
            put(&mut self.reading, u64::from(address.0), &bytes[..count], at, self.text);
        }
    }

    /// A row in whatever case and with whatever blanks; none if its parts disagree.
    fn loosely_spaced(&mut self, line: &str, list: &str, address: Address, at: Span) -> Option<Row> {
        let mut bytes = [0; ROW];
        let count = bytes.iter_mut().zip(numbers(list)).map(|(byte, number)| *byte = number as u8).count();
        let mut expected = Vec::new();
        self.language.push_row(&mut expected, address, &bytes[..count]);
        self.expect(line, &String::from_utf8_lossy(&expected), at).then_some((bytes, count))
    }

    /// Holds the line that began an extent against what came.
    fn close(&mut self) {
        let Some((line, at, base)) = self.open.take().filter(|_| !self.reading.problems.has_errors()) else { return };
        let addresses = base.0..=u16::MAX;
        let count = addresses.take_while(|&address| self.reading.image.byte(Address(address)).is_some()).count();
        self.expect(line, &self.language.open(base, count), at);
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
