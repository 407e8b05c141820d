//! The fields that a record can have.

use super::check::{CheckKind, Stored};

/// A number in a record.
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
    /// All with their names in a file.
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

/// How an address stands in a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Pointer {
    /// Both bytes.
    Whole(Word),
    /// The high byte alone; the low one is zero.
    Page,
    /// The low byte alone; the high one is that of the record's address.
    Low,
}

impl Pointer {
    /// Bytes of the field: 1 or 2.
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
    /// All with their names in a file.
    pub const ALL: [(&'static str, Counts); 3] =
        [("n", Counts::Number), ("n-1", Counts::LessOne), ("negated", Counts::Negated)];
}

/// One of the two numbers that name a place on a disk. Each is a byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Coordinate {
    /// Counted from the outermost track, which is 0.
    Track,
    /// As the layout numbers the sectors of a track.
    Sector,
}

impl Coordinate {
    /// Both with their names in a file.
    pub const ALL: [(&'static str, Coordinate); 2] = [("track", Coordinate::Track), ("sector", Coordinate::Sector)];
}

/// A place on a disk.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Spot {
    /// The track, from 0.
    pub track: u8,
    /// The number of the sector.
    pub sector: u8,
}

impl Spot {
    /// One of its numbers.
    pub const fn number(self, of: Coordinate) -> u8 {
        match of {
            Coordinate::Track => self.track,
            Coordinate::Sector => self.sector,
        }
    }
}

/// What a field holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Kind {
    /// These very characters, whatever the coding.
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
    /// The address of the data's last byte as it stands there.
    Last(Word),
    /// The address of the data's first byte as it stands there.
    Address(Pointer),
    /// The number of the record.
    Sequence {
        /// Its form.
        word: Word,
        /// The number of the first one.
        first: u16,
    },
    /// Bytes of the program.
    Data(Data),
    /// The name of the program, up to so many characters.
    Label(usize),
    /// Where the program starts.
    Entry(Pointer),
    /// The number of the track or of the sector where the record stands on a disk.
    Here(Coordinate),
    /// The number of the track or of the sector where the program goes on.
    Next {
        /// Which of them.
        of: Coordinate,
        /// What stands there where the program ends.
        end: u8,
    },
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
    /// Whether the bytes stand there from the highest address down.
    pub falling: bool,
    /// How far above the record's address the lowest byte of the field belongs.
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
