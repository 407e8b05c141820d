//! The lights sheet: what address, data and status lights show at every machine cycle of a single-stepped run.
//!
//! [`Lights::run`] really executes the program; nothing is predicted. What nobody can know (a port that is not given,
//! memory and registers that nobody set) is *open*, and so is every bit that depends on it: its light may show anything.
//! Where an open flag decides, the run goes one way, and the other one is drawn as far as it differs.

#[cfg(test)]
mod agreement;
mod alu;
mod bits;
mod draw;
mod execute;
mod fold;
mod layout;
mod state;
mod trace;
mod ways;
mod words;
mod write;

pub use bits::{Cause, Origin};
pub use fold::{Loop, Passage};
pub use layout::Line;
pub use trace::{Cycle, Fork, Instruction, Lost, Varying};
pub use ways::{Branch, Place, Way};

use std::collections::{BTreeMap, VecDeque};

use super::model::Reach;
use super::program::{Check, Program};
use crate::notation::{Address, Notation};
use state::Base;
use ways::{Walk, Walked};

/// What is taken of that which nobody can know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum World {
    /// It is open. Where a run has to go one way, a port in the list is taken to read its byte, as a line does on which
    /// nothing happens; every other open bit is taken to be zero.
    Open {
        /// By number of the port.
        idle: BTreeMap<u8, u8>,
    },
    /// Every port reads this byte; registers, and memory that nobody filled, are zero.
    Taken(u8),
}

impl Default for World {
    fn default() -> World {
        World::Open { idle: BTreeMap::new() }
    }
}

/// How a run is to be made.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Where it starts.
    pub start: Address,
    /// Stop before the instruction at this address.
    pub until: Option<Address>,
    /// The most machine cycles.
    pub cycles: u64,
    /// Values that input ports give, one after the other; the last one stays.
    pub inputs: BTreeMap<u8, VecDeque<u8>>,
    /// What everything else is.
    pub world: World,
    /// How far one press of SINGLE STEP goes.
    pub step: Reach,
}

/// A lights sheet as data.
#[derive(Clone, Debug, PartialEq)]
pub struct Lights {
    /// What it is headed with.
    pub name: String,
    /// How addresses and bytes are written.
    pub notation: Notation,
    /// The check of the program's image.
    pub check: Check,
    /// Where the run starts.
    pub start: Address,
    /// How far one press of SINGLE STEP goes.
    pub step: Reach,
    /// What was executed, loops folded.
    pub passages: Vec<Passage>,
    /// Machine cycles that were executed.
    pub cycles: u64,
    /// Why it ended.
    pub end: End,
    /// The other ways, where an open flag decides.
    pub branches: Vec<Branch>,
    /// By number of a fork: where its other way is drawn.
    pub ways: BTreeMap<usize, Way>,
}

/// Why a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The processor halted.
    Halted,
    /// The address at which to stop was reached.
    Reached(Address),
    /// The count of cycles was used up; the next instruction is here.
    Count(Address),
    /// The last loop repeats for ever: every register, all memory and every given input came back, open bits as others.
    Endless,
    /// Execution came to an address where nobody put a program.
    NoProgram(Address),
    /// What follows from an open byte is too much to be drawn.
    Lost(Lost),
    /// In a branch: it goes on as from a row that is drawn.
    Joined(Place),
}

impl Lights {
    /// Executes a program and keeps its lights.
    pub fn run(program: &Program, notation: Notation, request: &Request) -> Lights {
        let mut walk = Walk::new(Base::new(&program.image), request);
        let Walked { passages, cycles, end } = walk.main();
        let (branches, ways) = walk.others(&passages);
        Lights {
            name: program.name.clone(),
            notation,
            check: program.check(),
            start: request.start,
            step: request.step,
            passages,
            cycles,
            end,
            branches,
            ways,
        }
    }
}
