//! What is known of each byte, and what refers to it.

use std::collections::{BTreeMap, BTreeSet};

use super::hints::Kind;
use crate::image::MEMORY;

/// What a byte is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Not known.
    Unknown,
    /// The first byte of an instruction.
    Start,
    /// A further byte of an instruction.
    Inside,
    /// Known to be no instruction.
    Plain(Kind),
}

/// How an address is used, as bits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Uses(u8);

impl Uses {
    /// By a CALL or RST.
    pub const CALLED: Uses = Uses(1);
    /// By a jump.
    pub const JUMPED: Uses = Uses(2);
    /// By LXI.
    pub const POINTED: Uses = Uses(4);
    /// By LDA or LHLD.
    pub const READ: Uses = Uses(8);
    /// By STA or SHLD.
    pub const WRITTEN: Uses = Uses(16);
    /// By a table of addresses.
    pub const LISTED: Uses = Uses(32);
    /// Execution begins there.
    pub const ENTRY: Uses = Uses(64);

    /// Whether any of these is among them.
    pub const fn any(self, of: Uses) -> bool {
        self.0 & of.0 != 0
    }

    /// Both together.
    pub const fn and(self, other: Uses) -> Uses {
        Uses(self.0 | other.0)
    }

    /// Whether there is one at all.
    pub const fn is_some(self) -> bool {
        self.0 != 0
    }

    /// Those by which execution comes there.
    pub const EXECUTED: Uses = Uses(1 | 2 | 64);
}

/// What is known of all bytes.
#[derive(Clone, Debug)]
pub struct Marks {
    marks: Vec<Mark>,
    uses: Vec<Uses>,
    /// Second bytes of words.
    second: Vec<bool>,
    /// Uses of addresses that are not among the bytes.
    pub outside: BTreeMap<u16, Uses>,
    /// Instructions that are run and overlap others, by where they lie.
    pub overlapping: BTreeSet<usize>,
}

impl Default for Marks {
    fn default() -> Marks {
        Marks {
            marks: vec![Mark::Unknown; MEMORY],
            uses: vec![Uses::default(); MEMORY],
            second: vec![false; MEMORY],
            outside: BTreeMap::new(),
            overlapping: BTreeSet::new(),
        }
    }
}

impl Marks {
    /// What the byte that lies at an address is; beyond memory nothing is known.
    pub fn at(&self, at: usize) -> Mark {
        self.marks.get(at).copied().unwrap_or(Mark::Unknown)
    }

    /// Sets what bytes are.
    pub fn set(&mut self, range: std::ops::Range<usize>, mark: Mark) {
        self.marks[range].fill(mark);
    }

    /// Sets words of two bytes from an address on; a last byte alone stays one.
    pub fn set_words(&mut self, range: std::ops::Range<usize>, kind: Kind) {
        for (offset, at) in range.clone().enumerate() {
            self.second[at] = offset % 2 == 1;
        }
        self.set(range, Mark::Plain(kind));
    }

    /// Whether a byte is the second of a word.
    pub fn is_second(&self, at: usize) -> bool {
        self.second.get(at).copied().unwrap_or_default()
    }

    /// Marks an instruction.
    pub fn instruction(&mut self, at: usize, length: usize) {
        self.marks[at] = Mark::Start;
        self.marks[at + 1..at + length].fill(Mark::Inside);
    }

    /// How the byte that lies at an address is used.
    pub fn uses(&self, at: usize) -> Uses {
        self.uses.get(at).copied().unwrap_or_default()
    }

    /// Notes a use.
    pub fn note(&mut self, at: usize, how: Uses) {
        self.uses[at] = self.uses[at].and(how);
    }

    /// Notes a use of an address that is not among the bytes.
    pub fn note_outside(&mut self, address: u16, how: Uses) {
        let uses = self.outside.entry(address).or_default();
        *uses = uses.and(how);
    }

    /// Where the instruction begins in which the byte at an address lies, if it lies in one.
    pub fn instruction_of(&self, at: usize) -> Option<usize> {
        let first = (at.saturating_sub(2)..=at).rev().find(|at| self.at(*at) != Mark::Inside)?;
        (self.at(first) == Mark::Start).then_some(first)
    }
}
