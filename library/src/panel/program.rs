//! An image as the sheet needs it: bytes with what is to be said beside them.

use std::collections::BTreeMap;

use super::text::fit;
use crate::image::{Image, SymbolKind};
use crate::isa::{Operands, decode};
use crate::notation::{Address, Notation, counted};
use crate::source::{Position, SourceMap};

/// Characters of a comment that are kept: more has no place on paper.
const LONGEST_COMMENT: usize = 240;

/// What stands beside the first byte of a statement.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Remark {
    /// The statement: label, operation and operands.
    pub statement: String,
    /// The comment, without its semicolon.
    pub comment: String,
}

/// An image with a name and a remark beside the first byte of each statement.
#[derive(Clone, Debug)]
pub struct Program {
    /// What the sheet is headed with.
    pub name: String,
    /// The bytes and the entry.
    pub image: Image,
    /// By the address of a statement's first byte.
    pub remarks: BTreeMap<Address, Remark>,
}

impl Program {
    /// A program assembled from `sources`: every byte of the image points at its source line.
    pub fn from_source(name: impl Into<String>, image: Image, sources: &SourceMap) -> Self {
        let mut remarks = BTreeMap::new();
        for extent in image.extents() {
            let mut previous: Option<Position> = None;
            for address in addresses(extent.base, extent.bytes.len()) {
                let position = image.made_by(address);
                if let Some(place) = position.filter(|_| position != previous) {
                    let source = sources.get(place.source);
                    let remark = split_line(source.line_text(source.line_of(place.offset)));
                    remarks.insert(address, labelled(remark, &image, address));
                }
                previous = position;
            }
        }
        Program { name: name.into(), image, remarks }
    }

    /// A program of which only the bytes are known: they are decoded as instructions, extent by extent.
    pub fn from_bytes(name: impl Into<String>, image: Image, notation: Notation) -> Self {
        let mut remarks = BTreeMap::new();
        for extent in image.extents() {
            let mut at = 0;
            while at < extent.bytes.len() {
                let length = usize::from(decode(extent.bytes[at]).length);
                let whole = extent.bytes.get(at..at + length);
                let statement = whole.map_or_else(String::new, |bytes| statement(bytes, notation));
                let address = extent.base.wrapping_add(at as u16);
                remarks.insert(address, labelled(Remark { statement, comment: String::new() }, &image, address));
                at += length;
            }
        }
        Program { name: name.into(), image, remarks }
    }
}

/// By what paper and image are told to belong together.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Check {
    /// How many bytes there are.
    pub bytes: u64,
    /// Sum of all bytes, modulo 65536.
    pub sum: u16,
    /// CRC-16/IBM-3740 of all bytes by rising address.
    pub crc: u16,
}

impl Check {
    /// The check of bytes by rising address.
    pub fn of<'a>(extents: impl Iterator<Item = &'a [u8]>) -> Check {
        let crc = crc::Crc::<u16>::new(&crc::CRC_16_IBM_3740);
        let (mut check, mut digest) = (Check::default(), crc.digest());
        for bytes in extents {
            check.bytes += bytes.len() as u64;
            check.sum = bytes.iter().fold(check.sum, |sum, byte| sum.wrapping_add(u16::from(*byte)));
            digest.update(bytes);
        }
        check.crc = digest.finalize();
        check
    }

    /// The line at the foot of every page.
    pub fn line(self, notation: Notation) -> String {
        format!("Image: {}", self.figures(notation))
    }

    /// How many bytes, their sum and their CRC.
    pub fn figures(self, notation: Notation) -> String {
        let (bytes, sum, crc) = (counted(self.bytes, "byte"), notation.word(self.sum), notation.word(self.crc));
        format!("{bytes}, sum {sum}, CRC-16 {crc}")
    }
}

impl Program {
    /// The check of the whole image.
    pub fn check(&self) -> Check {
        Check::of(self.image.extents().map(|extent| extent.bytes))
    }
}

/// The remark with the label of its address before the statement, if one stood on a line of its own.
fn labelled(remark: Remark, image: &Image, address: Address) -> Remark {
    let labels = image.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label && symbol.value == address.0);
    let labels: Vec<&str> = labels.map(|symbol| symbol.name.as_str()).collect();
    let written =
        |label: &&str| remark.statement.get(..label.len()).is_some_and(|start| start.eq_ignore_ascii_case(label));
    match labels.last() {
        Some(label) if !labels.iter().any(written) => {
            Remark { statement: format!("{label}: {}", remark.statement), ..remark }
        }
        _ => remark,
    }
}

fn addresses(base: Address, count: usize) -> impl Iterator<Item = Address> {
    (0..count).map(move |at| base.wrapping_add(at as u16))
}

/// The instruction in `bytes` as text, its numbers in the notation of the sheet.
pub fn statement(bytes: &[u8], notation: Notation) -> String {
    let instruction = decode(bytes[0]);
    let byte = |at: usize| notation.byte(bytes.get(at).copied().unwrap_or_default()).to_string();
    let word = || {
        let low = bytes.get(1).copied().unwrap_or_default();
        notation.word(u16::from_le_bytes([low, bytes.get(2).copied().unwrap_or_default()])).to_string()
    };
    let operands = match instruction.operands {
        Operands::None => return instruction.mnemonic.name().to_owned(),
        Operands::Registers(to, from) => format!("{},{}", to.name(), from.name()),
        Operands::Register(register) => register.name().to_owned(),
        Operands::RegisterByte(register) => format!("{},{}", register.name(), byte(1)),
        Operands::Pair(pair) => pair.name().to_owned(),
        Operands::PairWord(pair) => format!("{},{}", pair.name(), word()),
        Operands::Byte | Operands::Port => byte(1),
        Operands::Address => word(),
        Operands::Vector(number) => number.to_string(),
    };
    format!("{} {operands}", instruction.mnemonic.name())
}

/// Splits a source line at the semicolon that opens its comment, one inside quotes not counted, and takes out the
/// blanks that only align columns.
fn split_line(line: &str) -> Remark {
    let mut quoted = false;
    let end = line.find(|c: char| {
        quoted ^= c == '\'';
        c == ';' && !quoted
    });
    let (code, comment) = line.split_at(end.unwrap_or(line.len()));
    let comment = comment.trim_start_matches(';').split_whitespace().collect::<Vec<_>>().join(" ");
    Remark { statement: squeeze(code), comment: fit(&comment, LONGEST_COMMENT) }
}

/// One blank for a run of blanks outside quotes.
fn squeeze(code: &str) -> String {
    let mut quoted = false;
    let mut out = String::new();
    for c in code.trim().chars() {
        quoted ^= c == '\'';
        let blank = c.is_whitespace() && !quoted;
        match (blank, out.ends_with(' ')) {
            (true, true) => {}
            (true, false) => out.push(' '),
            (false, _) => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Origin;

    #[test]
    fn a_line_is_split_outside_quotes() {
        let remark = split_line("LOOP:\tMVI   A,';'  ; a  semicolon; it's one");
        assert_eq!(remark.statement, "LOOP: MVI A,';'");
        assert_eq!(remark.comment, "a semicolon; it's one");
        assert_eq!(split_line("\tDB 'a  b'").statement, "DB 'a  b'");
        assert_eq!(split_line("; all comment").statement, "");
    }

    #[test]
    fn bytes_decode_in_the_notation_of_the_sheet() {
        let texts = |bytes: &[u8]| Notation::ALL.map(|(_, notation)| statement(bytes, notation));
        assert_eq!(texts(&[0o303, 0o123, 0o374]), ["JMP 176123", "JMP 374 123", "JMP FC53"]);
        assert_eq!(texts(&[0o076, 0o20])[0], "MVI A,020");
        assert_eq!(texts(&[0o333, 0o60])[2], "IN 30");
        assert_eq!(texts(&[0o167]), ["MOV M,A"; 3]);
        assert_eq!(texts(&[0o317]), ["RST 1"; 3]);
    }

    #[test]
    fn a_remark_stands_at_the_first_byte_only() {
        let mut sources = SourceMap::default();
        let id = sources.add("a.asm", "\tMVI A,1 ; one\n\tDB 1,2,3\n", Origin::Given);
        let mut image = Image::default();
        let at = |offset| Position { source: id, offset };
        image.insert(Address(0), &[0o076, 1], at(1)).unwrap();
        image.insert(Address(2), &[1, 2, 3], at(16)).unwrap();
        let program = Program::from_source("a", image, &sources);
        let found: Vec<_> = program.remarks.iter().map(|(at, remark)| (at.0, remark.statement.as_str())).collect();
        assert_eq!(found, [(0, "MVI A,1"), (2, "DB 1,2,3")]);
        assert_eq!(program.remarks[&Address(0)].comment, "one");
    }
}
