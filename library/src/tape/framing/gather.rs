//! Puts what the scanner found together to programs, in the order of the tape.

use std::collections::{HashMap, HashSet};
use std::ops::Range;

use super::between::{Between, Since, Until};
use super::cleaned::Cleaned;
use super::content::{block_of, misplaced};
use super::declared::{Framing, Placing};
use super::find::{Find, What};
use super::part::Part;
use super::reading::{Block, End, Order, ProgramRead, Reading, Stray, StrayPlace, Stretch, StretchKind, Verdict};
use crate::record::{Oddities, Parsed};

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
    /// What was found since the last block.
    between: Between<'a>,
    /// What stands before it.
    since: Since,
}

impl<'a> Gatherer<'a> {
    pub fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>, tape: &'a [u8]) -> Self {
        let reading = Reading { stretches: Vec::new(), programs: Vec::new(), strays: Vec::new(), flaws: Vec::new() };
        let (between, seen) = (Between::new(framing, cleaned, tape), HashMap::new());
        let (current, since) = (ProgramRead::default(), Since::Tape);
        Gatherer { framing, cleaned, tape, reading, current, expected: 0, seen, between, since }
    }

    pub fn take(&mut self, find: Find) {
        match find.what {
            What::Filler => self.between.push(find.range, false),
            What::Noise => self.between.push(find.range, true),
            What::Block { part, parsed, verdict } => {
                let range = self.cleaned.frames(find.range.clone());
                let characters = &self.cleaned.characters[find.range];
                let told =
                    self.framing.part(part).zip(parsed.as_ref()).filter(|_| !matches!(verdict, Verdict::Bad { .. }));
                let odd = told.map(|(record, parsed)| record.oddities(&self.framing.coding, parsed, characters));
                self.block(part, parsed, range, verdict, odd.unwrap_or_default());
            }
        }
    }

    /// Adds a stretch; ignored frames before it belong to it.
    fn stretch(&mut self, range: Range<usize>, kind: StretchKind) {
        let start = self.reading.stretches.last().map_or(0, |last| last.range.end);
        self.reading.stretches.push(Stretch { range: start..range.end, kind });
    }

    /// Says what stands between the last block and what comes next.
    fn settle(&mut self, until: Until) {
        let settled = self.between.settle(self.since, until);
        settled.stretches.into_iter().for_each(|Stretch { range, kind }| self.stretch(range, kind));
        self.current.strays.extend(settled.before);
        self.reading.strays.extend(settled.loose);
        if !matches!(until, Until::Part { .. }) {
            self.close();
            self.current.strays = settled.behind;
        }
    }

    fn block(&mut self, part: Part, parsed: Option<Parsed>, range: Range<usize>, verdict: Verdict, odd: Oddities) {
        let sequence = parsed.as_ref().and_then(|parsed| self.framing.part(part)?.said_number(parsed));
        let parting = self.between.parting();
        let begins = self.current.blocks.is_empty() || self.begins_program(part, sequence, parting.is_some());
        let mut block = match &parsed {
            Some(parsed) => block_of(self.framing, part, parsed, range.clone(), verdict),
            None => Block::torn(part, range.clone(), verdict),
        };
        block.odd = odd;
        if begins {
            let first = self.framing.block.sequence().map(|(_, _, first)| first);
            let is_first = self.framing.head.is_none() && sequence.is_some() && sequence == first;
            let proved = block.verdict == Verdict::Good && (part == Part::Head || is_first);
            let is_led = self.framing.seen(&self.framing.leader) == 0 || parting.is_some() || self.is_alone();
            let is_unled = self.since == Since::Tape && !is_led && !proved;
            self.settle(Until::Program { proved });
            self.current.is_unled = is_unled;
        }
        let expected = self.expected;
        self.place(&mut block, sequence);
        if !begins {
            if let Some(leader) = parting.filter(|_| self.framing.end.is_none() && block.number == Some(expected)) {
                self.current.strays.push(Stray { range: leader, place: StrayPlace::Leader });
            }
            let proved = self.goes_on_from(&block);
            self.settle(Until::Part { proved });
        }
        if self.current.label.is_none() && block.is_good() {
            self.current.label = block.label.clone();
        }
        let (program, index) = (self.reading.programs.len(), self.current.blocks.len());
        self.stretch(range, StretchKind::Block { program, block: index });
        self.since = self.since(&block);
        let is_end = part == Part::End;
        if is_end {
            self.current.end = if block.is_good() { End::Found } else { End::Damaged };
        }
        self.current.blocks.push(block);
        if is_end {
            self.close();
        }
    }

    /// What a block is to the runs behind it.
    fn since(&self, block: &Block) -> Since {
        let proved = block.verdict == Verdict::Good;
        let record = &self.framing.block;
        let is_fixed = record.variable().is_none() && self.framing.coding.escape.is_none();
        match block.part {
            Part::End => Since::End { proved },
            Part::Block if self.is_alone() && proved && is_fixed => Since::End { proved },
            _ => Since::Part,
        }
    }

    /// Whether a program is one block and nothing behind it.
    fn is_alone(&self) -> bool {
        self.framing.placing() == Placing::Alone && self.framing.end.is_none()
    }

    /// Whether a block and the last one are proved by their checks, and their numbers follow one another.
    fn goes_on_from(&self, block: &Block) -> bool {
        let Some(last) = self.current.blocks.last() else { return false };
        let proved = [last, block].iter().all(|block| block.verdict == Verdict::Good);
        let before = if last.part == Part::Head { Some(0) } else { last.number.map(|number| number + 1) };
        proved && block.number.is_some() && block.number == before
    }

    /// Whether a block belongs to another program than the one before it. A long run of filler parts programs, unless
    /// the numbers go on behind it: then it is what is left of a lost block.
    fn begins_program(&self, part: Part, sequence: Option<u16>, parted: bool) -> bool {
        let begun = self.current.blocks.iter().any(|block| block.part != Part::Head);
        let first = self.framing.block.sequence().map(|(_, _, first)| first);
        let goes_on = sequence.is_some() && sequence != first;
        match part {
            Part::Head => true,
            Part::Block if self.framing.placing() == Placing::Alone => begun,
            _ => parted && !goes_on,
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
            // An end has the number of no block.
            _ if block.part == Part::End && number >= self.expected => {}
            _ if block.part == Part::End => block.order = Order::OutOfOrder,
            Some(&before) if self.current.blocks[before].pieces == block.pieces => block.order = Order::Repeated,
            Some(_) => block.order = Order::Contradicts,
            _ if number < self.expected => block.order = Order::OutOfOrder,
            _ => {}
        }
        self.seen.entry(number).or_insert(self.current.blocks.len());
        self.expected = self.expected.max(number + 1);
    }

    fn close(&mut self) {
        if !self.current.blocks.is_empty() {
            let mut program = std::mem::take(&mut self.current);
            if self.framing.end.is_some() && program.end == End::NotDeclared {
                program.end = End::Absent;
            }
            program.missing = missing(&program.blocks);
            program.lacks_head = lacks_head(self.framing, &program.blocks);
            program.lacks_entry = self.framing.carries_entry() && program.entry().is_none();
            program.misplaced = misplaced(self.framing, &program.blocks);
            self.reading.programs.push(program);
        }
        self.expected = 0;
        self.seen.clear();
    }

    pub fn finish(mut self) -> Reading {
        self.settle(Until::Tape);
        let end = self.reading.stretches.last().map_or(0, |last| last.range.end);
        if end < self.tape.len() {
            // Only ignored frames are left.
            self.reading.stretches.push(Stretch { range: end..self.tape.len(), kind: StretchKind::Filler });
        }
        let is_filler = |offset: usize| {
            let at = self.reading.stretches.partition_point(|stretch| stretch.range.end <= offset);
            self.reading.stretches.get(at).is_some_and(|stretch| stretch.kind == StretchKind::Filler)
        };
        let flaws = self.cleaned.flaws.iter().map(|&flaw| self.cleaned.offset(flaw));
        self.reading.flaws = flaws.filter(|&offset| is_filler(offset)).collect();
        self.reading
    }
}

/// Whether a head is declared and none is there.
pub(super) fn lacks_head(framing: &Framing, blocks: &[Block]) -> bool {
    framing.head.is_some() && !blocks.iter().any(|block| block.part == Part::Head)
}

/// The numbers below the highest good one that no block has, damaged ones included. That of an end is no block's.
pub(super) fn missing(blocks: &[Block]) -> Vec<u32> {
    let good = blocks.iter().filter(|block| block.is_good());
    let Some(highest) = good.filter_map(|block| block.number).max() else { return Vec::new() };
    let of_data = blocks.iter().filter(|block| block.part != Part::End);
    let present: HashSet<_> = of_data.filter_map(|block| block.number).collect();
    (0..highest).filter(|number| !present.contains(number)).collect()
}
