//! Puts what the scanner found together to programs, in the order of the tape.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use super::content::{block_of, sequence};
use super::decode::{Find, What};
use super::field::Part;
use super::parse::{Cleaned, Parsed};
use super::reading::{Block, End, Order, ProgramRead, Reading, Stretch, StretchKind, Verdict};
use super::{Framing, Placing};
use crate::tape::lettering;

/// Puts what was found together to programs.
pub(super) struct Gatherer<'a> {
    framing: &'a Framing,
    cleaned: &'a Cleaned<'a>,
    tape: &'a [u8],
    reading: Reading,
    current: ProgramRead,
    /// The number that the next block of the current program should have.
    expected: u32,
    /// The numbers that were seen, with the index of the block.
    seen: HashMap<u32, usize>,
    /// Noise since the last block: where blocks are not numbered it may be what is left of one.
    noise: bool,
    /// A run of filler as long as a leader stands before what comes next.
    parted: bool,
}

impl<'a> Gatherer<'a> {
    pub fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>, tape: &'a [u8]) -> Self {
        let reading = Reading { stretches: Vec::new(), programs: Vec::new() };
        let (current, seen) = (ProgramRead::default(), HashMap::new());
        Gatherer { framing, cleaned, tape, reading, current, expected: 0, seen, noise: false, parted: false }
    }

    pub fn take(&mut self, find: Find) {
        let range = self.cleaned.frames(find.range.clone());
        match find.what {
            What::Filler => {
                if self.is_leader(&find.range) {
                    self.parted = true;
                    // What stands before a leader is no lost block of what follows it.
                    self.noise &= !self.current.blocks.is_empty();
                }
                self.stretch(range, StretchKind::Filler);
            }
            What::Noise => {
                self.noise = true;
                self.stretch(range, StretchKind::Noise);
            }
            What::Block { part, parsed, verdict } => self.block(part, parsed, range, verdict),
        }
    }

    /// Whether a run of filler ends with enough of the leader to part two programs.
    fn is_leader(&self, range: &Range<usize>) -> bool {
        let (leader, gap) = (&self.framing.leader, &self.framing.gap);
        let is_leader = |character: &u8| leader.bytes.contains(character);
        let gap = if gap.bytes.iter().all(is_leader) { gap.frames() } else { 0 };
        let least = (leader.frames() / 2).max(2 * gap).max(8);
        let run = self.cleaned.characters[range.clone()].iter().rev().take_while(|&character| is_leader(character));
        run.count() >= least
    }

    /// Adds a stretch; ignored frames before it belong to it.
    fn stretch(&mut self, range: Range<usize>, kind: StretchKind) {
        let start = self.reading.stretches.last().map_or(0, |last| last.range.end);
        self.reading.stretches.push(Stretch { range: start..range.end, kind });
    }

    fn block(&mut self, part: Part, parsed: Option<Parsed>, range: Range<usize>, verdict: Verdict) {
        let sequence = parsed.as_ref().and_then(|parsed| sequence(self.framing, part, parsed));
        if self.begins_program(part, sequence) {
            self.close();
        }
        self.parted = false;
        self.current.stray |= self.noise && self.framing.block.sequence().is_none();
        self.noise = false;
        let order = Order::InOrder;
        let mut block = match &parsed {
            Some(parsed) => block_of(self.framing, part, parsed, range.clone(), verdict),
            None => {
                let (pieces, number) = (Vec::new(), None);
                Block { part, range: range.clone(), number, pieces, entry: None, label: None, verdict, order }
            }
        };
        self.place(&mut block, sequence);
        if self.current.label.is_none() && block.is_good() {
            self.current.label = block.label.clone();
        }
        let (program, index) = (self.reading.programs.len(), self.current.blocks.len());
        self.stretch(range, StretchKind::Block { program, block: index });
        let is_end = part == Part::End;
        if is_end {
            self.current.end = if block.is_good() { End::Found } else { End::Damaged };
        }
        self.current.blocks.push(block);
        if is_end {
            self.close();
        }
    }

    /// Whether a block belongs to another program than the one before it. A long run of filler parts programs, unless
    /// the numbers go on behind it: then it is what is left of a lost block.
    fn begins_program(&self, part: Part, sequence: Option<u16>) -> bool {
        let begun = self.current.blocks.iter().any(|block| block.part != Part::Head);
        let first = self.framing.block.sequence().map(|(_, _, first)| first);
        let goes_on = sequence.is_some() && sequence != first;
        match part {
            Part::Head => !self.current.blocks.is_empty(),
            Part::Block if self.framing.placing() == Placing::Alone => begun,
            _ => self.parted && !goes_on,
        }
    }

    /// Finds a block's place in the program from its number, which repeats after so many blocks.
    fn place(&mut self, block: &mut Block, sequence: Option<u16>) {
        let (Some(sequence), Some((_, word, first))) = (sequence, self.framing.block.sequence()) else { return };
        let modulus = word.modulus() as u32;
        let lap = (u32::from(sequence) + modulus - u32::from(first)) % modulus;
        let ahead = (lap + modulus - self.expected % modulus) % modulus;
        let number = if ahead < modulus / 2 || self.expected + ahead < modulus {
            self.expected + ahead
        } else {
            self.expected + ahead - modulus
        };
        block.number = Some(number);
        if !block.is_good() {
            return;
        }
        match self.seen.get(&number) {
            Some(&before) if self.current.blocks[before].pieces == block.pieces => block.order = Order::Repeated,
            _ if number < self.expected => block.order = Order::OutOfOrder,
            _ => {}
        }
        self.seen.entry(number).or_insert(self.current.blocks.len());
        self.expected = self.expected.max(number + 1);
    }

    fn close(&mut self) {
        if !self.current.blocks.is_empty() {
            let mut program = std::mem::take(&mut self.current);
            match self.framing.end {
                Some(_) if program.end == End::NotDeclared => program.end = End::Absent,
                Some(_) => {}
                None => program.stray |= self.noise,
            }
            program.missing = missing(&program.blocks);
            self.reading.programs.push(program);
        }
        self.expected = 0;
        self.seen.clear();
        self.noise = false;
    }

    pub fn finish(mut self) -> Reading {
        self.close();
        let end = self.reading.stretches.last().map_or(0, |last| last.range.end);
        if end < self.tape.len() {
            // Only ignored frames are left.
            self.reading.stretches.push(Stretch { range: end..self.tape.len(), kind: StretchKind::Filler });
        }
        self.reading.stretches = name_lettering(self.reading.stretches, self.tape);
        self.reading
    }
}

/// The numbers below the highest good one that no block has, damaged ones included.
pub(super) fn missing(blocks: &[Block]) -> Vec<u32> {
    let good = blocks.iter().filter(|block| block.is_good());
    let Some(highest) = good.filter_map(|block| block.number).max() else { return Vec::new() };
    let present: HashSet<_> = blocks.iter().filter_map(|block| block.number).collect();
    (0..highest).filter(|number| !present.contains(number)).collect()
}

/// Letters are noise with blank columns between; where such a run reads as text it is named.
fn name_lettering(stretches: Vec<Stretch>, tape: &[u8]) -> Vec<Stretch> {
    let mut named: Vec<Stretch> = Vec::with_capacity(stretches.len());
    let mut index = 0;
    while let Some(stretch) = stretches.get(index) {
        let is_letter = |stretch: &Stretch| matches!(stretch.kind, StretchKind::Noise);
        let is_blank = |stretch: &Stretch| {
            matches!(stretch.kind, StretchKind::Filler) && stretch.range.len() <= lettering::WIDEST_BLANK
        };
        let mut run = index;
        if is_letter(stretch) {
            let limit = stretch.range.start + lettering::LONGEST_FRAMES;
            let goes_on = |next: &Stretch| next.range.end <= limit && (is_letter(next) || is_blank(next));
            while stretches.get(run + 1).is_some_and(goes_on) {
                run += 1;
            }
            while !is_letter(&stretches[run]) {
                run -= 1;
            }
            let range = stretch.range.start..stretches[run].range.end;
            if let Some(text) = lettering::read(&tape[range.clone()]) {
                named.push(Stretch { range, kind: StretchKind::Lettering(text) });
                index = run + 1;
                continue;
            }
        }
        named.push(stretch.clone());
        index += 1;
    }
    named
}
