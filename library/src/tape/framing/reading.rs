//! What was found on a tape: every stretch of it named, every block with its verdict.

use std::ops::Range;

use super::part::Part;
use crate::image::{Image, InsertError, MEMORY};
use crate::notation::Address;
use crate::record::{Oddities, Record};
use crate::source::Position;

/// A tape that was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// All of the tape, in its order, without gap or overlap.
    pub stretches: Vec<Stretch>,
    /// The programs in the order of the tape.
    pub programs: Vec<ProgramRead>,
    /// Frames outside of these programs that may be what is left of another.
    pub strays: Vec<Stray>,
    /// Offsets of the frames of filler whose eighth track is wrong, rising.
    pub flaws: Vec<usize>,
}

/// A run of frames that belong together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Offsets on the tape.
    pub range: Range<usize>,
    /// What it is.
    pub kind: StretchKind,
}

/// What a run of frames is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StretchKind {
    /// Leader, gap or trailer.
    Filler,
    /// Nothing that the framing knows.
    Noise(Noise),
    /// Punched lettering.
    Lettering(String),
    /// A head, block or end: `programs[program].blocks[block]`.
    Block {
        /// Which program.
        program: usize,
        /// Which of its blocks.
        block: usize,
    },
}

/// What is known of frames that are neither filler nor part of a block.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Noise {
    /// They stand before the leader with which the tape begins.
    BeforeLeader,
    /// They stand behind the end of a program, and before the leader of the next if there is one.
    BehindEnd,
    /// It is one frame, and one wrong bit in a frame of filler; whatever a block leaves is more.
    Slip,
    /// The blocks on both sides are proved by their checks and follow one another by their numbers.
    NumbersGoOn,
    /// They may be what is left of a head, block or end.
    Unexplained,
}

/// Frames that nothing explains: they may be what is left of a head, block or end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stray {
    /// From the first to the last of them; filler may stand between.
    pub range: Range<usize>,
    /// Where they stand.
    pub place: StrayPlace,
}

/// Where unexplained frames stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StrayPlace {
    /// Before the first block of a program, behind its leader if it has one.
    BeforeFirst,
    /// Between two blocks, head and end included.
    Among,
    /// Behind the last block of a program, or behind an end that nothing proves.
    BehindLast,
    /// Behind a leader, with no block before the next leader or the end of the tape.
    BehindLeader,
    /// They are leader, with a block before it and the block of the next number behind it.
    Leader,
}

/// One program as it was read.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ProgramRead {
    /// Its name, if the tape tells.
    pub label: Option<String>,
    /// Heads, blocks and ends in the order of the tape.
    pub blocks: Vec<Block>,
    /// Numbers of blocks, from 0 for the first, that are nowhere; known only where blocks are numbered.
    pub missing: Vec<u32>,
    /// What became of its end.
    pub end: End,
    /// Frames before, among or behind its blocks that nothing explains.
    pub strays: Vec<Stray>,
    /// The framing declares a head, and there is none, not even a damaged one.
    pub lacks_head: bool,
    /// The framing carries an entry, and no good block has one.
    pub lacks_entry: bool,
    /// A head or end that says another address of the first block than that block itself, with what it says.
    pub misplaced: Option<(Part, Address)>,
    /// The tape begins with it, too little leader before it for the beginning of a tape, and neither a head nor a number tells
    /// that its first block is the first: others may be torn off.
    pub is_unled: bool,
}

/// What became of a program's end.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum End {
    /// The framing has none.
    #[default]
    NotDeclared,
    /// It was read.
    Found,
    /// It is there, and damaged.
    Damaged,
    /// It is not there.
    Absent,
}

/// A head, block or end as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// Which of the three.
    pub part: Part,
    /// Where it stands on the tape.
    pub range: Range<usize>,
    /// Its place in the program, from 0 for the first block, with laps of a short counter added; if it is numbered.
    pub number: Option<u32>,
    /// The bytes that it carries, with their lowest addresses; one run except where the framing divides it.
    pub pieces: Vec<(Address, Vec<u8>)>,
    /// The address of the block itself; of a head or end, what it says of the first block's, if it says it.
    pub address: Option<Address>,
    /// The entry that it carries.
    pub entry: Option<Address>,
    /// The label that it carries.
    pub label: Option<String>,
    /// Whether it can be trusted.
    pub verdict: Verdict,
    /// Whether it stands where it should.
    pub order: Order,
    /// What of it is written otherwise than the framing writes, though it says the same.
    pub odd: Oddities,
}

impl Block {
    /// A part of which no more is known than where it begins.
    pub(super) fn torn(part: Part, range: Range<usize>, verdict: Verdict) -> Block {
        let (pieces, order) = (Vec::new(), Order::InOrder);
        let odd = Oddities::default();
        Block { part, range, number: None, pieces, address: None, entry: None, label: None, verdict, order, odd }
    }

    /// Whether its bytes may be used: nothing speaks against them.
    pub fn is_good(&self) -> bool {
        !matches!(self.verdict, Verdict::Bad { .. })
    }

    /// The lowest address of its first run of bytes.
    pub fn base(&self) -> Option<Address> {
        self.pieces.first().map(|(base, _)| *base)
    }

    /// How many bytes it carries.
    pub fn len(&self) -> usize {
        self.pieces.iter().map(|(_, bytes)| bytes.len()).sum()
    }

    /// Whether it carries none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

/// Whether a block can be trusted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Its checks agree.
    Good,
    /// It has the right form, and no check that could prove more.
    Unchecked,
    /// Its checks agree, and some of what it says is outside of them.
    Partly {
        /// The names of the fields that no check covers.
        unproved: Vec<String>,
    },
    /// It is damaged.
    Bad {
        /// How that is known.
        cause: Cause,
        /// The single wrong bits that would explain it.
        slips: Slips,
    },
}

impl Verdict {
    /// What a sound part proves.
    pub(super) fn of_sound(record: &Record) -> Verdict {
        let unproved = record.unproved_names();
        match (record.checks.is_empty(), unproved.is_empty()) {
            (true, _) => Verdict::Unchecked,
            (false, true) => Verdict::Good,
            (false, false) => Verdict::Partly { unproved },
        }
    }
}

/// How it is known that a block is damaged.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Cause {
    /// A check disagrees.
    Check {
        /// The name of the check's field.
        name: String,
        /// Its value on the tape.
        found: u16,
        /// The value that the rest of the block asks for.
        right: u16,
    },
    /// A character cannot stand where it stands.
    Character,
    /// The eighth track of some frames is wrong, and nothing else is.
    Parity {
        /// How many frames.
        frames: usize,
        /// Whether there are checks, which then agree.
        checked: bool,
    },
    /// Its beginning is damaged; only a slip explains it.
    Start,
    /// The tape ends within it.
    Torn,
    /// It came as sound, so many of its bytes are in doubt, and no check is strong enough to prove them.
    Doubt {
        /// How many.
        bytes: usize,
    },
}

/// What alone would explain a damaged block: single wrong bits, or a frame that was lost.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Slips {
    /// None would.
    None,
    /// Just this one would.
    One(Slip),
    /// Any of several would; all in one track, if that is given.
    Several {
        /// How many.
        count: usize,
        /// The track, 1 to 8.
        track: Option<u8>,
    },
    /// The loss of a frame of its mark would.
    Lost {
        /// Behind the lost frame.
        offset: usize,
        /// The frame as it would be right.
        frame: u8,
    },
    /// The block is too long to try.
    NotTried,
}

/// One wrong bit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Slip {
    /// The frame's offset on the tape.
    pub offset: usize,
    /// The bit, 0 to 7; it stands in track `bit + 1`.
    pub bit: u8,
    /// The frame as it was read.
    pub found: u8,
    /// The frame as it would be right.
    pub right: u8,
    /// The name of the field in which the frame stands.
    pub field: String,
    /// Where the byte belongs of which it is a part, if it is one of the data.
    pub address: Option<Address>,
}

impl Slip {
    /// The track of the bit, 1 to 8 (ISO 1113, ECMA-10: bit 1 in track 1).
    pub fn track(&self) -> u8 {
        self.bit + 1
    }
}

/// Whether a numbered block stands where it should.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Order {
    /// Behind all blocks of lower numbers, or not numbered.
    #[default]
    InOrder,
    /// A block of a higher number stands before it.
    OutOfOrder,
    /// It stood before already.
    Repeated,
    /// Another block of its number stood before, with other bytes.
    Contradicts,
}

impl ProgramRead {
    /// Whether everything was read and nothing speaks against it: there are blocks, none of them is damaged, missing or
    /// contradicts another, head and end agree with them and are there, and no frame among them is unexplained.
    pub fn is_whole(&self) -> bool {
        let sound = self.blocks.iter().all(|block| block.is_good() && block.order != Order::Contradicts);
        let complete = self.missing.is_empty() && !self.lacks_head && !self.lacks_entry && self.has_data();
        let ended = !matches!(self.end, End::Damaged | End::Absent) && self.beyond_end().is_none();
        let agrees = self.contested().is_none() && !self.has_two_entries() && self.misplaced.is_none();
        sound && complete && ended && agrees && self.strays.is_empty()
    }

    /// Whether it has any block, damaged or not.
    pub fn has_data(&self) -> bool {
        self.blocks.iter().any(|block| block.part == Part::Block)
    }

    /// How many addresses have a byte of a good block, whatever stands on the tape twice.
    pub fn size(&self) -> usize {
        let mut taken = vec![false; MEMORY];
        for (base, bytes) in self.blocks.iter().filter(|block| block.is_good()).flat_map(|block| &block.pieces) {
            let range = base.index()..MEMORY.min(base.index() + bytes.len());
            taken[range].fill(true);
        }
        taken.into_iter().filter(|&taken| taken).count()
    }

    /// The highest number of a good block that a numbered end denies: behind the last block of which the end knows.
    pub fn beyond_end(&self) -> Option<u32> {
        let good = || self.blocks.iter().filter(|block| block.is_good());
        let end = good().find(|block| block.part == Part::End)?.number?;
        good().filter(|block| block.part == Part::Block).filter_map(|block| block.number).max().filter(|&it| it >= end)
    }

    /// Whether two good blocks say that it starts at different addresses.
    pub fn has_two_entries(&self) -> bool {
        let good = self.blocks.iter().filter(|block| block.is_good());
        good.filter_map(|block| block.entry).any(|entry| Some(entry) != self.entry())
    }

    /// The lowest address for which two good blocks have different bytes.
    pub fn contested(&self) -> Option<Address> {
        let good = self.blocks.iter().filter(|block| block.is_good());
        let mut pieces: Vec<_> = good.flat_map(|block| &block.pieces).collect();
        pieces.sort_by_key(|(base, _)| *base);
        let mut lowest: Option<Address> = None;
        for (index, (base, bytes)) in pieces.iter().enumerate() {
            let end = base.index() + bytes.len();
            for (other, others) in pieces[index + 1..].iter().take_while(|(other, _)| other.index() < end) {
                let ours = &bytes[other.index() - base.index()..];
                let differs = ours.iter().zip(others).position(|(one, another)| one != another);
                let at = differs.map(|at| other.wrapping_add(at as u16));
                lowest = lowest.into_iter().chain(at).min();
            }
        }
        lowest
    }

    /// Where the program starts, if a good block tells.
    pub fn entry(&self) -> Option<Address> {
        self.blocks.iter().filter(|block| block.is_good()).find_map(|block| block.entry)
    }

    /// The good blocks as an image, all of it made at one place of a source. Of two good blocks for one address the
    /// first is taken; the addresses where the second says otherwise are returned beside the image.
    pub fn image(&self, made_by: Position) -> (Image, Vec<Address>) {
        let mut image = Image::default();
        image.entry = self.entry();
        let mut contested = Vec::new();
        for (base, bytes) in self.blocks.iter().filter(|block| block.is_good()).flat_map(|block| &block.pieces) {
            match image.insert(*base, bytes, made_by) {
                Ok(()) => {}
                Err(InsertError::Overlap(_)) => insert_singly(&mut image, *base, bytes, made_by, &mut contested),
                // A decoder gives out no piece past the top.
                Err(InsertError::PastTop(fit)) => debug_assert!(false, "{fit} bytes fit at {base:?}"),
            }
        }
        (image, contested)
    }
}

fn insert_singly(image: &mut Image, base: Address, bytes: &[u8], made_by: Position, contested: &mut Vec<Address>) {
    for (distance, &byte) in bytes.iter().enumerate() {
        let address = base.wrapping_add(distance as u16);
        match image.byte(address) {
            // The address is free, so that the insertion succeeds.
            None => drop(image.insert(address, &[byte], made_by)),
            Some(first) if first != byte => contested.push(address),
            Some(_) => {}
        }
    }
}

impl Reading {
    /// Whether there is a program, all of each was read, and no frame may be what is left of another.
    pub fn is_whole(&self) -> bool {
        !self.programs.is_empty() && self.programs.iter().all(ProgramRead::is_whole) && self.strays.is_empty()
    }

    /// How many frames of a run of filler have a wrong eighth track.
    pub fn flaws_in(&self, range: &Range<usize>) -> usize {
        let below = |offset: usize| self.flaws.partition_point(|&flaw| flaw < offset);
        below(range.end) - below(range.start)
    }

    /// Every head, block and end in the order of the tape.
    pub fn blocks(&self) -> impl Iterator<Item = &Block> {
        self.programs.iter().flat_map(|program| &program.blocks)
    }
}
