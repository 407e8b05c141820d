//! What the rest of a chain does to a program: where others enter it or look, and which of its bytes they change.

use std::collections::BTreeSet;

use crate::assembler::Assembly;
use crate::image::Image;
use crate::isa::{Mnemonic, Operands, decode};
use crate::notation::Address;
use crate::project::{Id, Plan, Stage};

/// What others know of a program. All of it stays where it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Outside {
    /// Addresses in it that others name: they go there, read there or write there.
    pub named: BTreeSet<u16>,
    /// Addresses that change hands while the program is loaded or runs: those of what it loads and of what loads it.
    pub shared: BTreeSet<u16>,
}

impl Outside {
    /// What the other stages of a chain know of one.
    ///
    /// Words of their instructions, and two bytes of their data side by side, that lie in the stage and not in themselves
    /// count as names. A half of an address by itself cannot be known for one.
    pub fn of(plan: &Plan, stage: Id<Stage>) -> Outside {
        let own = &plan.stages[stage];
        let mut outside = Outside::default();
        if own.entry_given {
            outside.named.insert(own.entry.0);
        }
        let starts = plan.starts.iter().filter(|start| start.stages.contains(&stage));
        for &other in starts.clone().flat_map(|start| &start.stages).filter(|&&other| other != stage) {
            let other = &plan.stages[other];
            let is_own = |word: &u16| lies_at(own, *word) && other.image.byte(Address(*word)).is_none();
            let names = words(other).into_iter().filter(is_own);
            outside.named.extend(names);
            outside.named.extend(restarts(other).into_iter().filter(|&at| lies_at(own, at)));
        }
        for start in starts {
            let place = start.stages.iter().position(|&other| other == stage).unwrap_or_default();
            // What others call lasts for the whole of the start; else it is done with when what it loads is there.
            let last = if outside.named.is_empty() { place + 1 } else { usize::MAX };
            for (at, &other) in start.stages.iter().enumerate() {
                if other != stage && at + 1 >= place && at <= last {
                    outside.shared.extend(addresses(&plan.stages[other].image));
                }
            }
        }
        outside
    }

    /// All addresses that are to stay as they are.
    pub(super) fn fixed(&self) -> impl Iterator<Item = u16> {
        self.named.iter().chain(&self.shared).copied()
    }
}

/// Whether a program ran past the top of memory: then it has no byte.
pub(super) fn is_past_top(assembly: &Assembly) -> bool {
    assembly.image.is_empty() && assembly.statements.iter().any(|it| it.instruction().is_some())
}

/// Where a program begins.
pub(super) fn first(assembly: &Assembly) -> Option<u16> {
    assembly.statements.iter().find(|it| it.instruction().is_some()).map(|it| it.location)
}

/// Whether a stage has a byte at an address. One that runs past the top of memory has all from its beginning on.
fn lies_at(stage: &Stage, address: u16) -> bool {
    let past_top =
        stage.assembly.as_ref().filter(|assembly| is_past_top(assembly)).and_then(|assembly| first(assembly));
    match past_top {
        Some(first) => address >= first,
        None => stage.image.byte(Address(address)).is_some(),
    }
}

/// Where the restarts of a stage go: all of them, if it enables interrupts.
fn restarts(stage: &Stage) -> BTreeSet<u16> {
    let opcodes = stage.code.iter().flat_map(|code| &code.opcodes);
    let decoded = opcodes.filter_map(|&at| stage.image.byte(Address(at))).map(decode);
    let mut restarts = BTreeSet::new();
    for instruction in decoded {
        match instruction.operands {
            Operands::Vector(vector) => drop(restarts.insert(u16::from(vector) * 8)),
            _ if instruction.mnemonic == Mnemonic::Ei => restarts.extend((0..8).map(|vector| vector * 8)),
            _ => {}
        }
    }
    restarts
}

fn addresses(image: &Image) -> impl Iterator<Item = u16> {
    image.extents().flat_map(|extent| (extent.base.0..=extent.last().0).collect::<Vec<_>>())
}

/// The word that two instructions put together, one behind the other, for the two registers of a pair.
fn halves(first: Option<u8>, one: Option<u8>, second: Option<u8>, other: Option<u8>) -> Option<u16> {
    let (first, second) = (decode(first?), decode(second?));
    let (Operands::RegisterByte(to), Operands::RegisterByte(then)) = (first.operands, second.operands) else {
        return None;
    };
    // B and C, D and E, H and L: the high one has the even code.
    let (to, then) = (to as u8, then as u8);
    match to ^ then {
        1 if to < then => Some(u16::from_be_bytes([one?, other?])),
        1 => Some(u16::from_be_bytes([other?, one?])),
        _ => None,
    }
}

/// Words that may be addresses: of instructions where those are known, and of any two bytes elsewhere.
fn words(stage: &Stage) -> BTreeSet<u16> {
    let byte = |at: u16| stage.image.byte(Address(at));
    let word = |at: u16| Some(u16::from_le_bytes([byte(at)?, byte(at.wrapping_add(1))?]));
    let mut words = BTreeSet::new();
    let mut within = BTreeSet::new();
    for &at in stage.code.iter().flat_map(|code| &code.opcodes) {
        let Some(length) = byte(at).map(|opcode| u16::from(decode(opcode).length)) else { continue };
        within.extend((0..length).map(|on| at.wrapping_add(on)));
        if length == 3 {
            words.extend(word(at.wrapping_add(1)));
        }
        words.extend(halves(byte(at), byte(at.wrapping_add(1)), byte(at.wrapping_add(2)), byte(at.wrapping_add(3))));
    }
    for at in addresses(&stage.image) {
        if !within.contains(&at) && !within.contains(&at.wrapping_add(1)) {
            words.extend(word(at));
        }
    }
    words
}
