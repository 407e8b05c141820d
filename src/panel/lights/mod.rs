//! The lights sheet: what address, data and status lights show at every machine cycle of a single-stepped run.
//!
//! [`Lights::run`] really executes the program on the [`cpu`](crate::cpu); nothing is predicted. What comes from the
//! world (an input port that is not given, memory that nobody filled) is a window: its lights may show anything.

mod draw;
mod fold;
mod layout;
mod trace;
mod write;

use layout::Frame;

pub use fold::{Loop, Passage};
pub use layout::Line;
pub use trace::{Cycle, Instruction, Varying};

use std::collections::{BTreeMap, VecDeque};

use super::program::{Check, Program};
use crate::cpu::Registers;
use crate::notation::{Address, Notation};
use trace::Bench;

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
    /// What the run takes a byte from any other port to be.
    pub assumed: u8,
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
    /// What was executed, loops folded.
    pub passages: Vec<Passage>,
    /// Machine cycles that were executed.
    pub cycles: u64,
    /// Why it ended.
    pub end: End,
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
    /// The last loop repeats for ever: every register, all memory and every input came back.
    Endless,
    /// Execution came to an address where nobody put a program.
    NoProgram(Address),
}

impl Lights {
    /// Executes a program and keeps its lights.
    pub fn run(program: &Program, notation: Notation, request: &Request) -> Lights {
        let mut bench = Bench::new(&program.image, request.inputs.clone(), request.assumed);
        bench.cpu.registers.pc = request.start.0;
        let mut passages = Vec::new();
        let mut cycles = 0;
        let mut returns = Returns::default();
        let end = loop {
            let at = Address(bench.cpu.registers.pc);
            if request.until == Some(at) && cycles > 0 {
                break End::Reached(at);
            }
            if cycles >= request.cycles {
                break End::Count(at);
            }
            if !bench.is_known(at) {
                break End::NoProgram(at);
            }
            let instruction = bench.step();
            cycles += instruction.cycles.len() as u64;
            passages.push(Passage::Instruction(instruction));
            let closed_loop = fold::fold(&mut passages);
            if bench.cpu.is_halted() {
                break End::Halted;
            }
            if closed_loop && returns.sees_again(State::of(&bench)) {
                break End::Endless;
            }
        };
        Lights {
            name: program.name.clone(),
            notation,
            check: program.check(),
            start: request.start,
            passages,
            cycles,
            end,
        }
    }
}

/// All that decides how a run goes on.
#[derive(PartialEq)]
struct State {
    registers: Registers,
    interrupts: bool,
    changes: u64,
    inputs_taken: u64,
}

impl State {
    fn of(bench: &Bench) -> State {
        State {
            registers: bench.cpu.registers,
            interrupts: bench.cpu.interrupts_enabled(),
            changes: bench.changes(),
            inputs_taken: bench.inputs_taken(),
        }
    }
}

/// Notices that a state came back, by comparing with one kept from earlier; the distance doubles (R. P. Brent, "An
/// improved Monte Carlo factorization algorithm", BIT 20, 1980).
#[derive(Default)]
struct Returns {
    kept: Option<State>,
    age: u64,
    limit: u64,
}

impl Returns {
    fn sees_again(&mut self, state: State) -> bool {
        if self.kept.as_ref() == Some(&state) {
            return true;
        }
        self.age += 1;
        if self.age >= self.limit {
            *self = Returns { kept: Some(state), age: 0, limit: (self.limit * 2).max(1) };
        }
        false
    }
}
