//! Several readings of one tape put together, block by block: what one reading lost another may have.

use std::collections::BTreeSet;

use super::content::misplaced;
use super::declared::Framing;
use super::gather::{lacks_head, missing};
use super::part::Part;
use super::reading::{Block, Cause, End, Order, ProgramRead, Reading, Stray, StrayPlace, Verdict};
use super::same_tape::{Unlike, agree, are_strangers, counts, is_apart, key, unlike};
use super::twice;
use crate::notation::Address;

/// What several readings tell together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// The programs in the order of the tape.
    pub programs: Vec<ProgramRead>,
    /// Frames outside of these programs that may be what is left of another, by their places in their readings.
    pub strays: Vec<Stray>,
    /// Where readings contradict each other.
    pub contradictions: Vec<Contradiction>,
    /// Blocks that were taken from one reading although what another has of them, damaged, is unlike them.
    pub unlike: Vec<Unlike>,
    /// Programs put together of readings that have nothing in common: it shows nowhere that they are of one tape.
    pub apart: Vec<usize>,
    /// Programs that a reading has twice, once broken off, where another reading is whole and has them once.
    pub twice: Vec<usize>,
}

/// Where two readings contradict each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Contradiction {
    /// Which program.
    pub program: usize,
    /// How.
    pub kind: Conflict,
}

/// How two readings contradict each other.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// They claim good bytes for one place that differ; neither is in the programs.
    Differ {
        /// What stands there.
        part: Part,
        /// The place of the block by its number, if it has one.
        number: Option<u32>,
        /// The place of the block by its address, if it has one.
        base: Option<Address>,
        /// Whether checks agree with both; there is none for one of them otherwise.
        checked: bool,
    },
    /// Both have blocks in the place of this program on the tape, and none in common: they may be of two tapes.
    Strangers,
    /// One has as one program what another has as two: what parts them was lost, or is no end.
    Parted,
}

impl Merged {
    /// Whether there is a program, all of each was read, and no reading contradicts another.
    pub fn is_whole(&self) -> bool {
        let whole = !self.programs.is_empty() && self.programs.iter().all(ProgramRead::is_whole);
        whole && self.contradictions.is_empty() && self.strays.is_empty()
    }

    /// Whether a program is what it is said to be only if the readings are of one tape.
    pub fn is_doubted(&self, program: usize) -> bool {
        self.apart.contains(&program) || self.unlike.iter().any(|unlike| unlike.program == program)
    }

    /// Whether frames that nothing explains, in or between programs, leave something open.
    pub fn has_strays(&self) -> bool {
        !self.strays.is_empty() || self.programs.iter().any(|program| !program.strays.is_empty())
    }
}

/// One reading is taken as it is.
impl From<&Reading> for Merged {
    fn from(reading: &Reading) -> Merged {
        Merged { programs: reading.programs.clone(), strays: reading.strays.clone(), ..Merged::default() }
    }
}

/// Merges readings of one tape. A good block of any reading is taken; a damaged one is kept only where no reading has
/// a good one for its place.
pub fn merge(framing: &Framing, readings: &[Reading]) -> Merged {
    let as_many = readings.windows(2).all(|pair| pair[0].programs.len() == pair[1].programs.len());
    // The fullest reading comes first: what it has in order puts the others in order.
    let mut fullest: Vec<_> = readings.iter().collect();
    fullest.sort_by_key(|reading| std::cmp::Reverse(reading.blocks().filter(|block| block.is_good()).count()));
    let mut groups: Vec<Vec<&ProgramRead>> = Vec::new();
    for reading in fullest {
        let mut after = 0;
        for program in &reading.programs {
            let found = home(&groups, after, program, as_many);
            match found {
                Some(found) => groups[found].push(program),
                None => groups.insert(after, vec![program]),
            }
            after = found.unwrap_or(after) + 1;
        }
    }
    let mut merged = Merged { twice: twice::joined(&mut groups, readings), ..Merged::default() };
    if as_many {
        merged.contradictions = strangers(readings, &groups);
    }
    for (index, group) in groups.iter().enumerate() {
        let program = merge_program(framing, index, group, &mut merged.contradictions);
        merged.unlike.extend(unlike(index, &program, group));
        if is_apart(group) {
            merged.apart.push(index);
        }
        merged.programs.push(program);
    }
    let parted = (0..merged.programs.len()).filter(|&index| has_another_programs_block(&merged.programs, index));
    let parted: Vec<_> = parted.map(|program| Contradiction { program, kind: Conflict::Parted }).collect();
    merged.contradictions.extend(parted);
    // A program that one reading lost another may have.
    let lacks = |reading: &Reading| reading.programs.len() >= merged.programs.len();
    merged.strays = readings.iter().filter(|it| lacks(it)).flat_map(|reading| reading.strays.iter().cloned()).collect();
    merged
}

/// Whether a program has a block of data that a later one has at the same place, and that one more besides: readings that
/// lost what stands between the two have put them together.
fn has_another_programs_block(programs: &[ProgramRead], index: usize) -> bool {
    let data =
        |program: &ProgramRead| program.blocks.iter().filter(|it| it.part == Part::Block && it.is_good()).count();
    programs.iter().skip(index + 1).any(|other| {
        let shared = counts(&programs[index], other).data;
        shared > 0 && shared == data(other) && data(&programs[index]) > shared
    })
}

/// Where readings with as many programs have nothing in common in the place of one of them.
fn strangers(readings: &[Reading], groups: &[Vec<&ProgramRead>]) -> Vec<Contradiction> {
    let home = |program: &ProgramRead| {
        groups.iter().position(|group| group.iter().any(|other| std::ptr::eq::<ProgramRead>(*other, program)))
    };
    let places = 0..readings.first().map_or(0, |reading| reading.programs.len());
    let apart = places.flat_map(|place| {
        let at_place: Vec<_> = readings.iter().map(|reading| &reading.programs[place]).collect();
        let first = at_place.first().and_then(|program| home(program));
        let other = at_place.iter().map(|program| home(program)).find(|group| *group != first);
        other.into_iter().flatten()
    });
    apart.map(|program| Contradiction { program, kind: Conflict::Strangers }).collect()
}

/// Which group, from `after` on, a program belongs to: the first with which it shares a good block of data, or else
/// another good part; else, if all readings have as many programs, the one in its place, unless good blocks differ.
/// Programs that nothing joins are kept apart.
fn home(groups: &[Vec<&ProgramRead>], after: usize, program: &ProgramRead, as_many: bool) -> Option<usize> {
    let first = |joins: &dyn Fn(&ProgramRead) -> bool| {
        let found = groups.iter().skip(after).position(|group| group.iter().any(|other| joins(other)));
        found.map(|found| after + found)
    };
    let is_stranger = |group: &Vec<&ProgramRead>| group.iter().all(|other| are_strangers(other, program));
    let data = first(&|other| counts(other, program).data > 0);
    let other = || first(&|other| counts(other, program).same > 0 && !are_strangers(other, program));
    let differs = |group: &Vec<&ProgramRead>| group.iter().any(|other| counts(other, program).different > 0);
    data.or_else(other).or_else(|| {
        let group = groups.get(after)?;
        (as_many && !differs(group) && !is_stranger(group)).then_some(after)
    })
}

fn merge_program(
    framing: &Framing,
    index: usize,
    group: &[&ProgramRead],
    contradictions: &mut Vec<Contradiction>,
) -> ProgramRead {
    let mut program = ProgramRead { label: group.iter().find_map(|read| read.label.clone()), ..Default::default() };
    let mut contested = Vec::new();
    for block in group.iter().flat_map(|read| &read.blocks).filter(|block| is_proved(block)) {
        match program.blocks.iter().find(|taken| key(taken) == key(block)) {
            None if !block.is_good() => {}
            None => program.blocks.push(Block { order: Order::InOrder, ..block.clone() }),
            Some(taken) if !agree(taken, block) && !contested.contains(&key(block)) => {
                contested.push(key(block));
                let checked = [taken, block].iter().all(|it| it.verdict != Verdict::Unchecked);
                let (part, number, base) = (block.part, block.number, block.base());
                let kind = Conflict::Differ { part, number, base, checked };
                contradictions.push(Contradiction { program: index, kind });
            }
            Some(_) => {}
        }
    }
    program.blocks.retain(|block| !contested.contains(&key(block)));
    let is_whole = group.iter().any(|read| read.is_whole());
    if !is_whole {
        keep_damaged(&mut program, group);
    }
    // Without numbers even a reading that is whole by itself may have lost a block that another shows.
    keep_unproven(&mut program, group);
    program.blocks.sort_by_key(|block| match block.part {
        Part::Head => (0, 0, 0),
        Part::Block => (1, block.number.unwrap_or(0), block.base().map_or(0, |base| base.0)),
        Part::End => (2, 0, 0),
    });
    program.missing = missing(&program.blocks);
    program.lacks_head = lacks_head(framing, &program.blocks);
    // What one reading lost in silence, a reading without unexplained frames has; numbers tell that nothing lacks, and
    // without them only a reading that goes on to the end.
    let is_numbered = program.blocks.iter().all(|block| block.part == Part::Head || block.number.is_some());
    let is_clean = |read: &&ProgramRead| read.strays.is_empty() && (is_numbered || read.end != End::Absent);
    if !is_whole && !group.iter().any(is_clean) {
        program.strays = group.iter().flat_map(|read| read.strays.iter().cloned()).collect();
    }
    program.lacks_entry = framing.carries_entry() && program.entry().is_none();
    program.misplaced = misplaced(framing, &program.blocks);
    // What stands before the first block of another reading may be what is left of the one that is torn off.
    let is_open =
        |read: &&ProgramRead| read.is_unled || read.strays.iter().any(|stray| stray.place == StrayPlace::BeforeFirst);
    program.is_unled = group.iter().any(|read| read.is_unled) && group.iter().all(is_open);
    program.end = match program.blocks.iter().find(|block| block.part == Part::End) {
        _ if framing.end.is_none() => End::NotDeclared,
        Some(end) if end.is_good() => End::Found,
        Some(_) => End::Damaged,
        None => End::Absent,
    };
    program
}

/// Whether what a block says is good, or its checks agree and only the eighth track of some frames is wrong: then its
/// bytes are not taken, and yet they contradict others.
fn is_proved(block: &Block) -> bool {
    block.is_good() || matches!(block.verdict, Verdict::Bad { cause: Cause::Parity { checked: true, .. }, .. })
}

/// Adds the damaged blocks for whose place there is no good one. Where all numbers up to the end are there, no block
/// is lacking, whatever a damaged one claims to be.
fn keep_damaged(program: &mut ProgramRead, group: &[&ProgramRead]) {
    let ended = program.blocks.iter().any(|block| block.part == Part::End && block.number.is_some());
    if ended && missing(&program.blocks).is_empty() {
        return;
    }
    for block in group.iter().flat_map(|read| &read.blocks).filter(|block| !block.is_good()) {
        if !program.blocks.iter().any(|taken| key(taken) == key(block)) {
            program.blocks.push(block.clone());
        }
    }
}

/// Adds the damaged blocks of the reading that shows the most blocks without a number, if it shows more than have come
/// together: the address that a damaged block claims may be another one's. Where others have numbers, these tell.
fn keep_unproven(program: &mut ProgramRead, group: &[&ProgramRead]) {
    let counts = |block: &&Block| block.part == Part::Block && block.number.is_none();
    if program.blocks.iter().any(|block| block.part == Part::Block && block.number.is_some()) {
        return;
    }
    let have = program.blocks.iter().filter(counts).filter(|block| block.is_good()).count();
    let damaged = |read: &ProgramRead| -> Vec<Block> {
        read.blocks.iter().filter(counts).filter(|block| !block.is_good()).cloned().collect()
    };
    let shown = |read: &ProgramRead| {
        let good = read.blocks.iter().filter(counts).filter(|block| block.is_good());
        good.map(Block::base).collect::<BTreeSet<_>>().len() + damaged(read).len()
    };
    let Some(fullest) = group.iter().max_by_key(|read| shown(read)).filter(|read| shown(read) > have) else { return };
    let unproven = damaged(fullest).into_iter().filter(|block| !program.blocks.contains(block));
    program.blocks.extend(unproven.collect::<Vec<_>>());
}
