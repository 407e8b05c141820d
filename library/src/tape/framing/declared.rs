//! The declared layout of a tape.

use super::characters::Characters;
use super::part::Part;
use crate::notation::Address;
use crate::record::{ByteSet, Coding, Record};

/// The declared layout of a tape.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Framing {
    /// Its name.
    pub name: String,
    /// What it is for, in a sentence; may be empty.
    pub about: String,
    /// What track 8 is for.
    pub characters: Characters,
    /// Frames that a reader passes over wherever they stand, such as rubouts.
    pub ignore: ByteSet,
    /// How bytes become characters.
    pub coding: Coding,
    /// What stands before a program.
    pub leader: Filler,
    /// What follows each head, block and end.
    pub gap: Filler,
    /// What stands behind a program.
    pub trailer: Filler,
    /// What stands once before the blocks of a program.
    pub head: Option<Record>,
    /// What is repeated.
    pub block: Record,
    /// What ends a program.
    pub end: Option<Record>,
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

    /// The parts that it has, ends first: where a block and an end begin alike, an end is the rarer claim.
    pub fn parts(&self) -> impl Iterator<Item = (Part, &Record)> {
        [Part::End, Part::Head, Part::Block].into_iter().filter_map(|part| Some((part, self.part(part)?)))
    }

    /// The record of a part.
    pub fn part(&self, part: Part) -> Option<&Record> {
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
        filler.bytes.iter().filter(|&&byte| !self.ignore.contains(byte)).count() * filler.count
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
        self.parts().any(|(_, record)| record.entry().is_some())
    }

    /// Whether a check covers everything that head, block and end say.
    pub fn is_checked(&self) -> bool {
        self.parts().all(|(_, record)| record.unproved().next().is_none())
    }

    /// The fewest characters of a part that can be no filler.
    pub(crate) fn fewest_visible(&self) -> usize {
        let fillers = self.fillers();
        let visible = |(_, record): (Part, &Record)| {
            let sets = (0..record.fields.len()).flat_map(|index| record.field_sets(&self.coding, index));
            sets.filter(|set| set.first_common(&fillers).is_none()).count()
        };
        self.parts().map(visible).min().unwrap_or(0)
    }

    /// The fewest characters of a program, without its filler.
    pub(crate) fn shortest_program(&self) -> usize {
        self.parts().map(|(_, record)| record.fewest_characters(&self.coding)).sum()
    }

    /// The most characters of a head, block or end.
    pub(crate) fn longest_part(&self) -> usize {
        self.parts().map(|(_, record)| record.most_characters(&self.coding)).max().unwrap_or(0)
    }
}
