//! The fields of a block and the arithmetic of their sizes, which encoder and decoder share.

use std::ops::Range;

use super::check::{CheckKind, Stored};

/// A number on the tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Word {
    /// One byte.
    Byte,
    /// Two bytes, the low one first.
    LowFirst,
    /// Two bytes, the high one first.
    HighFirst,
}

impl Word {
    /// All with their names in a framing file.
    pub const ALL: [(&'static str, Word); 3] =
        [("u8", Word::Byte), ("u16le", Word::LowFirst), ("u16be", Word::HighFirst)];

    /// Bytes of the number: 1 or 2.
    pub const fn width(self) -> usize {
        if matches!(self, Word::Byte) { 1 } else { 2 }
    }

    /// How many numbers it can tell apart.
    pub const fn modulus(self) -> usize {
        1 << (8 * self.width())
    }

    /// Writes a number; what does not fit into one byte loses its high byte.
    pub fn write(self, value: u16, out: &mut [u8]) {
        match self {
            Word::Byte => out[0] = value as u8,
            Word::LowFirst => out.copy_from_slice(&value.to_le_bytes()),
            Word::HighFirst => out.copy_from_slice(&value.to_be_bytes()),
        }
    }

    /// Reads a number from as many bytes as it has.
    pub fn read(self, bytes: &[u8]) -> u16 {
        match self {
            Word::Byte => bytes[0].into(),
            Word::LowFirst => u16::from_le_bytes([bytes[0], bytes[1]]),
            Word::HighFirst => u16::from_be_bytes([bytes[0], bytes[1]]),
        }
    }
}

/// How an address stands on the tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pointer {
    /// Both bytes.
    Whole(Word),
    /// The high byte alone; the low one is zero.
    Page,
    /// The low byte alone; the high one is that of the block's address.
    Low,
}

impl Pointer {
    /// Bytes on the tape: 1 or 2.
    pub const fn width(self) -> usize {
        match self {
            Pointer::Whole(word) => word.width(),
            Pointer::Page | Pointer::Low => 1,
        }
    }
}

/// What a length says of the bytes it counts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Counts {
    /// Their number.
    #[default]
    Number,
    /// Their number less one.
    LessOne,
    /// Their number subtracted from zero, for a loader that counts up to zero.
    Negated,
}

impl Counts {
    /// All with their names in a framing file.
    pub const ALL: [(&'static str, Counts); 3] =
        [("n", Counts::Number), ("n-1", Counts::LessOne), ("negated", Counts::Negated)];
}

/// What a field holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// These very frames, whatever the coding.
    Mark(Vec<u8>),
    /// These bytes, coded as other fields are.
    Literal(Vec<u8>),
    /// How many bytes other fields have together.
    Length {
        /// Its form.
        word: Word,
        /// What it says of the number.
        counts: Counts,
        /// The fields that it counts, as indexes.
        of: Vec<usize>,
    },
    /// The address of the data's last byte on the tape.
    Last(Word),
    /// The address of the data's first byte on the tape.
    Address(Pointer),
    /// The number of the block.
    Sequence {
        /// Its form.
        word: Word,
        /// The number of the first block.
        first: u16,
    },
    /// Bytes of the program.
    Data(Data),
    /// The name of the program, up to so many characters.
    Label(usize),
    /// Where the program starts.
    Entry(Pointer),
    /// A check.
    Check {
        /// How it is computed.
        kind: CheckKind,
        /// How its value is written.
        word: Word,
        /// What of its value is written.
        stored: Stored,
        /// The fields it is computed over, as rising indexes.
        over: Vec<usize>,
    },
}

/// Bytes of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Data {
    /// The most bytes: 1 to 65536.
    pub most: usize,
    /// What fills the field up to `most`, if it is always that long.
    pub pad: Option<u8>,
    /// Whether the bytes stand on the tape from the highest address down.
    pub falling: bool,
    /// How far above the block's address the lowest byte of the field belongs.
    pub at: u16,
}

/// One field with the name by which others refer to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Field {
    /// As given, or the kind's name.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
}

/// Which part of a program a layout is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// What stands once before the blocks.
    Head,
    /// What is repeated.
    Block,
    /// What ends the program.
    End,
}

impl Part {
    /// The key of the part in a framing file.
    pub const fn key(self) -> &'static str {
        match self {
            Part::Head => "head",
            Part::Block => "block",
            Part::End => "end",
        }
    }
}

/// The fields of a head, block or end in the order of the tape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Layout {
    /// What it is for.
    pub part: Part,
    /// In the order of the tape.
    pub fields: Vec<Field>,
    /// The check fields, each after those it is computed over.
    pub checks: Vec<usize>,
}

impl Layout {
    /// The first field of which a property holds, with its index.
    fn find<T>(&self, property: impl Fn(&Kind) -> Option<T>) -> Option<(usize, T)> {
        self.fields.iter().enumerate().find_map(|(index, field)| Some((index, property(&field.kind)?)))
    }

    /// The field whose size changes from block to block.
    pub fn variable(&self) -> Option<usize> {
        let is_variable =
            |kind: &Kind| matches!(kind, Kind::Data(Data { pad: None, .. }) | Kind::Label(_)).then_some(());
        self.find(is_variable).map(|(index, ())| index)
    }

    /// The field that tells how many bytes there are.
    pub fn counter(&self) -> Option<usize> {
        self.find(|kind| matches!(kind, Kind::Length { .. } | Kind::Last(_)).then_some(())).map(|(index, ())| index)
    }

    /// The fields that hold bytes of the program.
    pub fn data(&self) -> impl Iterator<Item = (usize, &Data)> {
        self.fields.iter().enumerate().filter_map(|(index, field)| match &field.kind {
            Kind::Data(data) => Some((index, data)),
            _ => None,
        })
    }

    /// The form of the address field.
    pub fn address(&self) -> Option<(usize, Pointer)> {
        self.find(|kind| if let Kind::Address(pointer) = kind { Some(*pointer) } else { None })
    }

    /// The form of the entry field.
    pub fn entry(&self) -> Option<(usize, Pointer)> {
        self.find(|kind| if let Kind::Entry(pointer) = kind { Some(*pointer) } else { None })
    }

    /// The sequence field: its index, form and first number.
    pub fn sequence(&self) -> Option<(usize, Word, u16)> {
        let found =
            self.find(|kind| if let Kind::Sequence { word, first } = kind { Some((*word, *first)) } else { None });
        found.map(|(index, (word, first))| (index, word, first))
    }

    /// The most bytes that the data or label fields carry; 0 without such a field.
    pub fn most(&self) -> usize {
        let sizes = self.fields.iter().map(|field| match field.kind {
            Kind::Data(data) => data.most,
            Kind::Label(most) => most,
            _ => 0,
        });
        sizes.sum()
    }

    /// The fewest bytes that they carry: a block carries one at least, a label may be empty, and fields that are
    /// always full carry all.
    pub fn fewest(&self) -> usize {
        match self.counter() {
            Some(_) if self.data().next().is_some() => 1,
            Some(_) => 0,
            None => self.most(),
        }
    }

    /// Bytes of a field when the data or label carries `count`.
    pub fn size(&self, field: usize, count: usize) -> usize {
        match &self.fields[field].kind {
            Kind::Mark(bytes) | Kind::Literal(bytes) => bytes.len(),
            Kind::Length { word, .. } | Kind::Last(word) | Kind::Sequence { word, .. } => word.width(),
            Kind::Address(pointer) | Kind::Entry(pointer) => pointer.width(),
            Kind::Data(Data { most, pad: Some(_), .. }) => *most,
            Kind::Data(_) | Kind::Label(_) => count,
            Kind::Check { word, .. } => word.width(),
        }
    }

    /// Where each field stands in the bytes of a block that carries `count`.
    pub fn ranges(&self, count: usize) -> Vec<Range<usize>> {
        let mut at = 0;
        (0..self.fields.len())
            .map(|field| {
                let start = at;
                at += self.size(field, count);
                start..at
            })
            .collect()
    }

    /// The number that a length field holds for a block that carries `count`.
    pub fn length_value(&self, counts: Counts, of: &[usize], count: usize) -> u16 {
        let total = self.counted(of, count);
        match counts {
            Counts::Number => total as u16,
            Counts::LessOne => (total as u16).wrapping_sub(1),
            Counts::Negated => (total as u16).wrapping_neg(),
        }
    }

    /// What a length field tells of the data or label: how many bytes it carries; nothing if no block has that length.
    pub fn count_of_length(&self, word: Word, counts: Counts, of: &[usize], value: u16) -> Option<usize> {
        let total = match counts {
            Counts::Number => value,
            Counts::LessOne => value.wrapping_add(1),
            Counts::Negated => value.wrapping_neg(),
        };
        let (modulus, fewest) = (word.modulus(), self.fewest());
        let fixed = self.counted(of, 0);
        let above = (usize::from(total) + 2 * modulus - fixed % modulus - fewest) % modulus;
        Some(fewest + above).filter(|&count| count <= self.most())
    }

    /// The bytes of the counted fields; padding is not counted.
    fn counted(&self, of: &[usize], count: usize) -> usize {
        let sizes = of.iter().map(|&field| match self.fields[field].kind {
            Kind::Data(_) | Kind::Label(_) => count,
            _ => self.size(field, count),
        });
        sizes.sum()
    }

    /// Whether a check would notice a change of a field: it is computed over it, or is the field itself.
    pub fn is_covered(&self, field: usize) -> bool {
        self.checks.iter().any(|&index| match &self.fields[index].kind {
            Kind::Check { over, .. } => index == field || over.contains(&field),
            _ => false,
        })
    }

    /// The check over the fields of a block's bytes, as it stands on the tape.
    pub fn check_value(kind: CheckKind, stored: Stored, over: &[usize], body: &[u8], ranges: &[Range<usize>]) -> u16 {
        let mut running = kind.start();
        for &field in over {
            running.update(&body[ranges[field].clone()]);
        }
        stored.apply(kind, kind.finish(running))
    }
}
