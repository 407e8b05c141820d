//! How the lines of a table are written in each language, and how their parts are found again.

use super::row::{ROW, Row, check};
use crate::image::digits::{DIGIT_VALUES, push_hex};
use crate::image::{Image, MEMORY};
use crate::notation::Address;

/// The language of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Language {
    /// Arrays of `unsigned char`.
    C,
    /// `ORG` and `DB`, as Intel's assembly language has them.
    Assembly,
}

impl Language {
    /// The first line of a table in this language, by which it is recognised.
    pub(in crate::image) fn title(self) -> String {
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

    /// The line of the entry.
    pub(super) fn entry(self, entry: Address) -> String {
        let [high, low] = entry.0.to_be_bytes();
        let sum = high.wrapping_add(low);
        let sum = match self {
            Language::C => format!("0x{sum:02X}"),
            Language::Assembly => format!("0{sum:02X}H"),
        };
        self.comment(&format!("entry {} sum {sum}", self.word(entry.0)))
    }

    /// The line that begins an extent.
    pub(super) fn open(self, base: Address, count: usize) -> String {
        match self {
            Language::C => format!("const unsigned char extent_{:04X}[{count}] = {{", base.0),
            Language::Assembly => format!("        ORG     {}          ; {count} bytes", self.word(base.0)),
        }
    }

    /// Adds a row; the hot part of writing, hence by hand.
    pub(super) fn push_row(self, out: &mut Vec<u8>, address: Address, bytes: &[u8]) {
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

    /// The bytes of a row, if its digits stand exactly where they are written; what they are worth is still to be seen.
    pub(super) fn evenly_spaced(self, list: &str) -> Option<Row> {
        let (before, first, step) = match self {
            Language::C => (0, 2, 6),
            Language::Assembly => (8, 9, 5),
        };
        let count = list.len().checked_sub(before)? / step;
        let mut bytes = [0; ROW];
        for (place, byte) in bytes.get_mut(..count)?.iter_mut().enumerate() {
            let digit = |at: usize| DIGIT_VALUES[usize::from(*list.as_bytes().get(first + step * place + at)?)];
            *byte = digit(0)? << 4 | digit(1)?;
        }
        Some((bytes, count))
    }

    /// The last line.
    pub(super) fn end(self, image: &Image) -> String {
        self.comment(&format!("end: {} bytes, check {}", image.len(), self.word(check(image))))
    }

    /// What kind of line this is, by its first word.
    pub(super) fn line(self, line: &str) -> Line {
        let comment = match self {
            Language::C => line.strip_prefix("/*"),
            Language::Assembly => line.strip_prefix(';'),
        };
        let first = comment.unwrap_or(line).split_ascii_whitespace().next().unwrap_or_default();
        let is = |word: &str| first.eq_ignore_ascii_case(word);
        match self {
            _ if comment.is_some() && is("coldwright") => Line::Title,
            _ if comment.is_some() && is("entry") => Line::Entry,
            _ if comment.is_some() && is("end:") => Line::End,
            _ if comment.is_some() => Line::Foreign,
            Language::C if first.starts_with("0x") || first.starts_with("0X") => Line::Row,
            Language::C if is("const") => Line::Open,
            Language::C if is("};") => Line::Close,
            Language::Assembly if is("db") => Line::Row,
            Language::Assembly if is("org") => Line::Open,
            _ => Line::Foreign,
        }
    }
}

/// The kinds of lines.
pub(super) enum Line {
    Title,
    Entry,
    Open,
    Row,
    Close,
    End,
    Foreign,
}

/// The numbers of a line, in the form of either language: `0x3E` or `03EH`. What is too large or no number counts as
/// more than any address.
pub(super) fn numbers(line: &str) -> impl Iterator<Item = u32> {
    let words = line.as_bytes().split(|byte| !byte.is_ascii_alphanumeric());
    words.filter(|word| word.first().is_some_and(u8::is_ascii_digit)).map(|word| {
        let digits = match word {
            [b'0', b'x' | b'X', digits @ ..] | [digits @ .., b'H' | b'h'] => digits,
            digits => digits,
        };
        digits
            .iter()
            .try_fold(0, |value: u32, &digit| {
                let value = value << 4 | u32::from(DIGIT_VALUES[usize::from(digit)]?);
                (value <= MEMORY as u32).then_some(value)
            })
            .unwrap_or(MEMORY as u32)
    })
}
