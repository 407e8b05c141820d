//! What a person knows of an old program: names, comments, what stretches are, entries. It lies in a file of its own and
//! survives every further run.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use crate::notation::Address;
use crate::source::Span;

/// What a stretch of bytes is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Instructions.
    Code,
    /// Bytes.
    Data,
    /// Characters.
    Text,
    /// Numbers of two bytes, low byte first.
    Words,
    /// Addresses of two bytes, low byte first.
    Addresses,
}

impl Kind {
    /// The words of the hints file.
    pub const WORDS: [(&'static str, Kind); 5] = [
        ("code", Kind::Code),
        ("data", Kind::Data),
        ("text", Kind::Text),
        ("words", Kind::Words),
        ("addresses", Kind::Addresses),
    ];
}

/// What lies behind every CALL of a routine, which takes it and comes back behind it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Behind {
    /// So many bytes.
    Bytes(u8),
    /// Characters up to this byte, which belongs to them.
    Until(u8),
    /// Characters of which the last has its high bit set.
    HighBit,
}

/// One hint with its place in the file.
#[derive(Clone, Debug)]
pub struct Hint<T> {
    /// What is known.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

/// All that is known beforehand.
#[derive(Clone, Debug, Default)]
pub struct Hints {
    /// Names by address.
    pub names: BTreeMap<Address, Hint<String>>,
    /// Comments by address.
    pub comments: BTreeMap<Address, Hint<String>>,
    /// What stretches are; without an end up to where something else is known.
    pub kinds: Vec<Hint<(Address, Option<Address>, Kind)>>,
    /// Where execution begins.
    pub entries: Vec<Hint<Address>>,
    /// Names of values outside of the program: an operand of that value gets the name.
    pub equates: BTreeMap<String, Hint<u16>>,
    /// Names of ports.
    pub ports: BTreeMap<u8, Hint<String>>,
    /// What is written for the operand of the instruction at an address.
    pub operands: BTreeMap<Address, Hint<String>>,
    /// What lies behind the CALLs of a routine.
    pub behind: BTreeMap<Address, Hint<Behind>>,
    /// Stretches that are moved and run elsewhere, with the address where their first byte runs.
    pub moved: Vec<Hint<(RangeInclusive<u16>, Address)>>,
}
