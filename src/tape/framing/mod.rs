//! A framing: the declared layout of a tape, from which the encoder and the decoder are both derived.
//!
//! A framing is a TOML file (`docs/framing-file.md`). [`load`] reads it and refuses what could not be decoded;
//! [`encode`] turns programs into the bytes of a tape, [`decode`] turns the bytes of a tape, torn and damaged as they
//! may be, back into blocks with a verdict each. Both walk the same [`Layout`], so that neither can know a field which
//! the other does not.

mod beginnings;
mod between;
mod bundled;
mod check;
mod chunks;
mod coding;
mod content;
mod decode;
mod encode;
mod explain;
mod field;
mod gather;
mod layout;
mod lint;
mod load;
mod load_fields;
mod merge;
mod parse;
mod reading;
mod set;

use crate::notation::Address;

pub use bundled::{BUNDLED, bundled, unknown};
pub use check::{CheckKind, Running, Stored};
pub use coding::{Characters, Coding, Digits, Escape};
pub use content::unproved_frames;
pub use decode::decode;
pub use encode::{Piece, PieceKind, Program, Tape, encode};
pub use explain::{Candidate, Mended, mend};
pub use field::{Counts, Data, Field, Kind, Part, Pointer, Word};
pub use layout::Layout;
pub use load::load;
pub use merge::{Contradiction, Merged, merge};
pub use reading::{
    Block, Cause, End, Noise, Order, ProgramRead, Reading, Slip, Slips, Stray, StrayPlace, Stretch, StretchKind,
    Verdict,
};
pub use set::ByteSet;

/// The declared layout of a tape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Framing {
    /// Its name.
    pub name: String,
    /// What it is for, in a sentence; may be empty.
    pub about: String,
    /// How bytes become frames.
    pub coding: Coding,
    /// What stands before a program.
    pub leader: Filler,
    /// What follows each head, block and end.
    pub gap: Filler,
    /// What stands behind a program.
    pub trailer: Filler,
    /// What stands once before the blocks of a program.
    pub head: Option<Layout>,
    /// What is repeated.
    pub block: Layout,
    /// What ends a program.
    pub end: Option<Layout>,
    /// Where the first block belongs, for blocks that carry no address.
    pub origin: Address,
}

/// Frames that carry nothing, over and over.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filler {
    /// What is repeated; empty only if there is none.
    pub bytes: Vec<u8>,
    /// How often.
    pub count: usize,
}

impl Filler {
    /// Frames in all.
    pub fn frames(&self) -> usize {
        self.bytes.len() * self.count
    }
}

/// How a decoder knows where a block's bytes belong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Placing {
    /// The block says so.
    ByAddress,
    /// From its number, every block being as long as the first.
    ByNumber,
    /// It is the only block.
    Alone,
}

impl Framing {
    /// How a decoder knows where a block's bytes belong.
    pub fn placing(&self) -> Placing {
        if self.block.address().is_some() {
            Placing::ByAddress
        } else if self.block.sequence().is_some() {
            Placing::ByNumber
        } else {
            Placing::Alone
        }
    }

    /// The parts with a layout, ends first: where a block and an end begin alike, an end is the rarer claim.
    pub fn layouts(&self) -> impl Iterator<Item = &Layout> {
        self.end.iter().chain(&self.head).chain([&self.block])
    }

    /// The layout of a part.
    pub fn layout(&self, part: Part) -> Option<&Layout> {
        match part {
            Part::Head => self.head.as_ref(),
            Part::Block => Some(&self.block),
            Part::End => self.end.as_ref(),
        }
    }

    /// The characters between blocks that mean nothing.
    pub fn fillers(&self) -> ByteSet {
        [&self.leader, &self.gap, &self.trailer].into_iter().flat_map(|filler| filler.bytes.iter().copied()).collect()
    }

    /// Characters of a filler that a reader sees: what it ignores is left out.
    pub(crate) fn seen(&self, filler: &Filler) -> usize {
        filler.bytes.iter().filter(|&&byte| !self.coding.ignore.contains(byte)).count() * filler.count
    }

    /// Whether a filler looks like leader.
    fn is_like_leader(&self, filler: &Filler) -> bool {
        filler.bytes.iter().all(|byte| self.leader.bytes.contains(byte))
    }

    /// Characters of leader, in a row, that part two programs where neither head nor end does: half of a leader, but no
    /// gap, nor a few blank frames.
    pub fn least_leader(&self) -> usize {
        let gap = if self.is_like_leader(&self.gap) { self.seen(&self.gap) } else { 0 };
        (self.seen(&self.leader) / 2).max(2 * gap).max(8)
    }

    /// Characters of leader, in a row, that are written between two programs.
    pub fn leader_between(&self) -> usize {
        let behind = if self.is_like_leader(&self.trailer) { self.seen(&self.trailer) } else { 0 };
        let gap =
            if self.is_like_leader(&self.trailer) && self.is_like_leader(&self.gap) { self.seen(&self.gap) } else { 0 };
        self.seen(&self.leader) + behind + gap
    }

    /// Whether a reader can tell where one program ends and the next begins.
    pub fn parts_programs(&self) -> bool {
        let marked = self.head.is_some() || self.end.is_some();
        marked || self.placing() == Placing::Alone || self.leader_between() >= self.least_leader()
    }

    /// Whether a program's entry is on the tape.
    pub fn carries_entry(&self) -> bool {
        self.layouts().any(|layout| layout.entry().is_some())
    }

    /// Whether a check covers everything that head, block and end say.
    pub fn is_checked(&self) -> bool {
        self.layouts().all(|layout| layout.unproved().next().is_none())
    }
}
