//! Somebody who looks at the lights and the listing while the machine runs.

use std::fmt::Write;

use super::board::Board;
use super::machine::Witness;
use super::recurrence::Turn;
use crate::cpu::Cpu;
use crate::isa::{TStates, decode};
use crate::notation::{Address, Notation};
use crate::panel::Program;

/// Instructions that are remembered, to tell which loop was passed over.
const REMEMBERED: usize = 64;

/// Takes a line of a trace.
pub type Trace<'a> = dyn FnMut(&str) + 'a;

/// Watches where the program waits, and writes a trace if one is wanted.
pub struct Recorder<'a> {
    recent: [u16; REMEMBERED],
    count: usize,
    /// The wait that took longest: its T-states, its lowest and its highest address.
    longest: Option<(u64, Address, Address)>,
    trace: Option<&'a mut Trace<'a>>,
    notation: Notation,
    /// The programs of the chain, for the source lines of the trace.
    programs: Vec<Program>,
}

impl<'a> Recorder<'a> {
    /// A recorder for the programs of a chain.
    pub fn new(notation: Notation, programs: Vec<Program>, trace: Option<&'a mut Trace<'a>>) -> Self {
        Recorder { recent: [0; REMEMBERED], count: 0, longest: None, trace, notation, programs }
    }

    /// What the address lights show while the program waits; forgets it.
    pub fn waits(&mut self) -> Option<(Address, Address)> {
        self.longest.take().map(|(_, low, high)| (low, high))
    }

    fn line(&self, cpu: &Cpu, board: &Board) -> String {
        let pc = Address(cpu.registers.pc);
        let bytes = board.memory.bytes(pc, usize::from(decode(board.memory.byte(pc)).length));
        let shown: Vec<_> = bytes.iter().map(|byte| self.notation.byte(*byte).to_string()).collect();
        let mut line = format!("{:>12}  {}  {:<11}", cpu.clock.0, self.notation.address(pc), shown.join(" "));
        if let Some(remark) = self.programs.iter().rev().find_map(|program| program.remarks.get(&pc)) {
            let _ = write!(line, "  {}", remark.statement);
            if !remark.comment.is_empty() {
                let _ = write!(line, " ; {}", remark.comment);
            }
        } else {
            let _ = write!(line, "  {}", crate::panel::statement(&bytes, self.notation));
        }
        line
    }
}

impl Witness for Recorder<'_> {
    fn instruction(&mut self, cpu: &Cpu, board: &Board) {
        self.recent[self.count % REMEMBERED] = cpu.registers.pc;
        self.count += 1;
        if self.trace.is_some() {
            let line = self.line(cpu, board);
            if let Some(trace) = &mut self.trace {
                trace(&line);
            }
        }
    }

    fn passed_over(&mut self, turns: u64, turn: Turn) {
        let length = (turn.counts.instructions as usize).min(REMEMBERED).min(self.count);
        let addresses = (0..length).map(|back| self.recent[(self.count - 1 - back) % REMEMBERED]);
        let low = addresses.clone().min().unwrap_or_default();
        let high = addresses.max().unwrap_or_default();
        let states = turns * turn.length.0;
        if self.longest.is_none_or(|(longest, ..)| states > longest) {
            self.longest = Some((states, Address(low), Address(high)));
        }
        if let Some(trace) = &mut self.trace {
            let TStates(each) = turn.length;
            trace(&format!("{:>12}  ... {turns} more turns of {each} T-states", ""));
        }
    }
}
