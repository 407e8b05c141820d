//! The bytes of a tape to blocks with a verdict each, however torn and damaged the tape is.
//!
//! The scanner walks the tape once. Where a block begins it reads it; where a check fails it looks whether a sound
//! block begins inside, so that one wrong length does not swallow its neighbours; where nothing begins it notes noise.

use std::collections::HashMap;
use std::ops::Range;

use super::explain::{Explained, Explainer};
use super::field::{Kind, Layout, Part, Pointer};
use super::lint;
use super::parse::{Cleaned, Miss, Parsed, parse};
use super::reading::{Block, Cause, End, Order, ProgramRead, Reading, Slips, Stretch, StretchKind, Verdict};
use super::set::ByteSet;
use super::{Framing, Placing};
use crate::image::MEMORY;
use crate::notation::Address;
use crate::tape::lettering;

/// Reads a tape. Every frame of it ends up in exactly one stretch; only what a check proves is called good.
pub fn decode(framing: &Framing, tape: &[u8]) -> Reading {
    let cleaned = Cleaned::new(&framing.coding, tape);
    let finds = Scanner::new(framing, &cleaned).scan();
    let mut gatherer = Gatherer::new(framing, &cleaned, tape);
    for find in finds {
        gatherer.take(find);
    }
    gatherer.finish()
}

/// A run of characters as the scanner found it.
pub(super) struct Find {
    range: Range<usize>,
    what: What,
}

enum What {
    Filler,
    Noise,
    Block { part: Part, parsed: Option<Parsed>, verdict: Verdict },
}

struct Scanner<'a> {
    framing: &'a Framing,
    cleaned: &'a Cleaned<'a>,
    fillers: ByteSet,
    /// The characters with which a head, block or end can begin.
    starts: ByteSet,
    explainer: Explainer<'a>,
    /// Characters that may still be read in search of blocks inside damaged ones.
    patience: usize,
}

impl<'a> Scanner<'a> {
    fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>) -> Self {
        let starts = framing.layouts().fold(ByteSet::default(), |all, layout| all.union(lint::first(framing, layout)));
        let patience = 1_000_000 + 64 * cleaned.characters.len();
        let explainer = Explainer::new(framing, cleaned);
        Scanner { framing, cleaned, fillers: framing.fillers(), starts, explainer, patience }
    }

    fn scan(mut self) -> Vec<Find> {
        let mut finds: Vec<Find> = Vec::new();
        let mut at = 0;
        while let Some(&character) = self.cleaned.characters.get(at) {
            if self.fillers.contains(character) {
                let run = self.cleaned.characters[at..].iter().take_while(|&&next| self.fillers.contains(next)).count();
                finds.push(Find { range: at..at + run, what: What::Filler });
                at += run;
                continue;
            }
            let begins_here = !matches!(finds.last(), Some(Find { what: What::Noise, .. }));
            match self.block(at, begins_here) {
                Some(find) => {
                    at = find.range.end;
                    finds.push(find);
                }
                None => {
                    match finds.last_mut() {
                        Some(Find { range, what: What::Noise }) => range.end = at + 1,
                        _ => finds.push(Find { range: at..at + 1, what: What::Noise }),
                    }
                    at += 1;
                }
            }
        }
        finds
    }

    /// The block that begins at a place, sound or not.
    fn block(&mut self, at: usize, begins_here: bool) -> Option<Find> {
        let character = self.cleaned.characters[at];
        let attempt = if self.starts.contains(character) { attempt(self.framing, self.cleaned, at) } else { None };
        match attempt {
            Some(Attempt { layout, parsed: Ok(parsed), cause: None }) => {
                let verdict = if layout.checks.is_empty() { Verdict::Unchecked } else { Verdict::Good };
                let range = at..parsed.end;
                Some(Find { range, what: What::Block { part: layout.part, parsed: Some(parsed), verdict } })
            }
            Some(Attempt { layout, parsed, cause }) => {
                Some(self.damaged(at, layout.part, parsed.ok(), cause.unwrap_or(Cause::Torn)))
            }
            None if begins_here => {
                let Explained { slips, parsed, part } = self.explainer.start(at)?;
                let verdict = Verdict::Bad { cause: Cause::Start, slips };
                let range = at..parsed.end;
                Some(Find { range, what: What::Block { part, parsed: Some(parsed), verdict } })
            }
            None => None,
        }
    }

    /// A block that begins here and is damaged: it ends where a slip would let it end, or where the next sound block
    /// begins, or where it says.
    fn damaged(&mut self, at: usize, part: Part, parsed: Option<Parsed>, cause: Cause) -> Find {
        let claimed = parsed.as_ref().map_or(self.cleaned.characters.len(), |parsed| parsed.end);
        let (slips, explained) = match self.explainer.slips(at, claimed) {
            (slips @ Slips::One(_), Some(Explained { parsed, part, .. })) => (slips, Some((parsed, part))),
            (slips, _) => (slips, None),
        };
        let end = match &explained {
            Some((parsed, _)) => parsed.end,
            None => self.sound_block_within(at + 1..claimed).unwrap_or(claimed),
        };
        let (parsed, part) = explained.map_or((parsed, part), |(parsed, part)| (Some(parsed), part));
        let verdict = Verdict::Bad { cause, slips };
        Find { range: at..end, what: What::Block { part, parsed, verdict } }
    }

    /// Where within a range a block begins that a check proves.
    fn sound_block_within(&mut self, mut range: Range<usize>) -> Option<usize> {
        range.find(|&at| {
            if !self.starts.contains(self.cleaned.characters[at]) || self.patience == 0 {
                return false;
            }
            let found = attempt(self.framing, self.cleaned, at);
            let read = match &found {
                Some(Attempt { parsed: Ok(parsed), .. }) => parsed.end - at,
                _ => 8,
            };
            self.patience = self.patience.saturating_sub(read);
            matches!(found, Some(Attempt { layout, cause: None, .. }) if !layout.checks.is_empty())
        })
    }
}

/// What was read where a block begins.
struct Attempt<'a> {
    layout: &'a Layout,
    parsed: Result<Parsed, Miss>,
    /// What speaks against it.
    cause: Option<Cause>,
}

/// Reads whatever begins at a place: a sound block before a damaged one, a damaged one before a torn one.
fn attempt<'a>(framing: &'a Framing, cleaned: &Cleaned, at: usize) -> Option<Attempt<'a>> {
    let mut best: Option<Attempt> = None;
    for layout in framing.layouts() {
        let parsed = match parse(framing, layout, &cleaned.characters, at) {
            Err(Miss::Other) => continue,
            parsed => parsed,
        };
        let cause = match &parsed {
            Ok(parsed) => cause(layout, parsed).or_else(|| exposed_flaw(framing, cleaned, layout, parsed, at)),
            Err(_) => Some(Cause::Torn),
        };
        if cause.is_none() {
            return Some(Attempt { layout, parsed, cause });
        }
        if best.as_ref().is_none_or(|best| best.parsed.is_err()) {
            best = Some(Attempt { layout, parsed, cause });
        }
    }
    best
}

/// What the block itself speaks against it.
fn cause(layout: &Layout, parsed: &Parsed) -> Option<Cause> {
    if parsed.garbled {
        return Some(Cause::Character);
    }
    let (field, found, right) = parsed.failed?;
    Some(Cause::Check { name: layout.fields[field].name.clone(), found, right })
}

/// A frame whose eighth track is wrong speaks against a block, unless a check that agrees covers the frame.
fn exposed_flaw(framing: &Framing, cleaned: &Cleaned, layout: &Layout, parsed: &Parsed, at: usize) -> Option<Cause> {
    if !cleaned.is_flawed(&(at..parsed.end)) {
        return None;
    }
    let mut start = at;
    let exposed = layout.fields.iter().enumerate().any(|(index, field)| {
        let width = if matches!(field.kind, Kind::Mark(_)) { 1 } else { framing.coding.digits.width() };
        let range = start..start + width * layout.size(index, parsed.count);
        start = range.end;
        !layout.is_covered(index) && cleaned.is_flawed(&range)
    });
    exposed.then_some(Cause::Parity)
}

/// What the fields of a block say.
pub(super) fn block_of(framing: &Framing, part: Part, parsed: &Parsed, range: Range<usize>, verdict: Verdict) -> Block {
    let order = Order::InOrder;
    let mut block = Block { part, range, number: None, pieces: Vec::new(), entry: None, label: None, verdict, order };
    let Some(layout) = framing.layout(part) else { return block };
    let ranges = layout.ranges(parsed.count);
    let Some(base) = base(framing, layout, parsed, &ranges) else {
        // Its bytes would lie outside memory: its form is right and its content cannot be.
        block.verdict = Verdict::Bad { cause: Cause::Character, slips: Slips::None };
        return block;
    };
    for (field, range) in layout.fields.iter().zip(&ranges) {
        let bytes = &parsed.body[range.clone()];
        match &field.kind {
            Kind::Data(data) => {
                let carried = if data.pad.is_some() { parsed.count.min(data.most) } else { bytes.len() };
                let mut bytes = bytes[..carried].to_vec();
                if data.falling {
                    bytes.reverse();
                }
                block.pieces.push((base.wrapping_add(data.at), bytes));
            }
            Kind::Entry(Pointer::Whole(word)) => block.entry = Some(Address(word.read(bytes))),
            Kind::Entry(_) => block.entry = Some(Address((base.0 & 0xFF00) | u16::from(bytes[0]))),
            Kind::Label(_) => block.label = Some(String::from_utf8_lossy(bytes).into_owned()),
            _ => {}
        }
    }
    block
}

/// What the sequence field of a block says.
fn sequence(framing: &Framing, part: Part, parsed: &Parsed) -> Option<u16> {
    let layout = framing.layout(part)?;
    let (index, word, _) = layout.sequence()?;
    Some(word.read(&parsed.body[layout.ranges(parsed.count)[index].clone()]))
}

/// The block's address; nothing if its bytes would not all lie in memory.
fn base(framing: &Framing, layout: &Layout, parsed: &Parsed, ranges: &[Range<usize>]) -> Option<Address> {
    let reach = layout.data().map(|(_, data)| usize::from(data.at) + parsed.count.min(data.most)).max().unwrap_or(0);
    let base = match (layout.address(), framing.placing()) {
        (Some((index, pointer)), _) => {
            let bytes = &parsed.body[ranges[index].clone()];
            let first = match pointer {
                Pointer::Whole(word) => word.read(bytes),
                _ => u16::from(bytes[0]) << 8,
            };
            let falling = layout.data().next().is_some_and(|(_, data)| data.falling);
            let is_high_end = falling && matches!(pointer, Pointer::Whole(_));
            usize::from(if is_high_end { first.checked_sub((parsed.count - 1) as u16)? } else { first })
        }
        (None, Placing::ByNumber) => {
            let (_, word, first) = framing.block.sequence()?;
            let sequence = usize::from(sequence(framing, layout.part, parsed)?);
            let index = (sequence + word.modulus() - usize::from(first)) % word.modulus();
            framing.origin.index() + index * framing.block.most()
        }
        (None, _) => framing.origin.index(),
    };
    let fits = reach == 0 || base + reach <= MEMORY;
    u16::try_from(base).ok().filter(|_| fits).map(Address)
}

/// Puts what was found together to programs.
struct Gatherer<'a> {
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
    fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>, tape: &'a [u8]) -> Self {
        let reading = Reading { stretches: Vec::new(), programs: Vec::new() };
        let (current, seen) = (ProgramRead::default(), HashMap::new());
        Gatherer { framing, cleaned, tape, reading, current, expected: 0, seen, noise: false, parted: false }
    }

    fn take(&mut self, find: Find) {
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

    fn finish(mut self) -> Reading {
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
    let present: std::collections::HashSet<_> = blocks.iter().filter_map(|block| block.number).collect();
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
            while stretches.get(run + 1).is_some_and(|next| is_letter(next) || is_blank(next)) {
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
