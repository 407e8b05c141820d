//! Somebody who looks at the lights and the listing while the machine runs.

use std::fmt::Write;

use super::board::Board;
use super::machine::Witness;
use super::recurrence::Turn;
use super::unset::Unset;
use crate::cpu::Cpu;
use crate::isa::{TStates, decode};
use crate::notation::{Address, Notation, counted};
use crate::panel::{Program, statement};
use crate::source::SourceMap;

/// Instructions that are remembered, to tell which loop was passed over.
const REMEMBERED: usize = 64;

/// Columns for the name of a source and a line of it.
const PLACE: usize = 22;

/// Takes a line of a trace.
pub type Trace<'a> = dyn FnMut(&str) + 'a;

/// How far a stage has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// T-states since it was started.
    pub done: TStates,
    /// T-states after which it is given up.
    pub most: TStates,
}

/// Watches where the program waits, and writes a trace if one is wanted.
pub struct Recorder<'a> {
    recent: [u16; REMEMBERED],
    count: usize,
    /// The count at which the present run is given up.
    enough: usize,
    progress: &'a mut dyn FnMut(Progress),
    /// Where the present run began, and where it ends if nothing else ends it.
    stretch: (TStates, TStates),
    /// The wait that took longest: its T-states, its lowest and its highest address.
    longest: Option<(u64, Address, Address)>,
    trace: Option<&'a mut Trace<'a>>,
    /// What nobody set, if that is followed.
    pub(super) unset: Option<Unset>,
    notation: Notation,
    /// The programs of the chain, for the source lines of the trace.
    programs: Vec<&'a Program>,
    sources: &'a SourceMap,
}

impl<'a> Recorder<'a> {
    /// A recorder for the programs of a chain.
    pub fn new(
        notation: Notation,
        programs: Vec<&'a Program>,
        sources: &'a SourceMap,
        trace: Option<&'a mut Trace<'a>>,
        progress: &'a mut dyn FnMut(Progress),
    ) -> Self {
        let (enough, stretch) = (usize::MAX, (TStates(0), TStates(0)));
        Recorder {
            recent: [0; REMEMBERED],
            count: 0,
            enough,
            progress,
            stretch,
            longest: None,
            trace,
            unset: None,
            notation,
            programs,
            sources,
        }
    }

    /// A run begins that may last until `deadline`, and is given up after so many instructions.
    pub fn begin(&mut self, now: TStates, deadline: TStates, most: u64) {
        self.enough = self.count.saturating_add(usize::try_from(most).unwrap_or(usize::MAX));
        self.stretch = (now, deadline);
    }

    /// What the address lights show while the program waits; forgets it.
    pub fn waits(&mut self) -> Option<(Address, Address)> {
        self.longest.take().map(|(_, low, high)| (low, high))
    }

    /// An instruction with its time, its place in memory, its bytes, its place in the sources, and what stands there.
    fn line(&self, cpu: &Cpu, board: &Board) -> String {
        let pc = Address(cpu.registers.pc);
        let bytes = board.memory.bytes(pc, usize::from(decode(board.memory.byte(pc)).length));
        let shown: Vec<_> = bytes.iter().map(|byte| self.notation.byte(*byte).to_string()).collect();
        let mut line = format!("{:>12}  {}  {:<11}", cpu.clock.0, self.notation.address(pc), shown.join(" "));
        let source = self.programs.iter().rev().find_map(|program| Some((program, program.remarks.get(&pc)?)));
        let Some((program, remark)) = source else {
            let _ = write!(line, "  {:PLACE$}  {}", "", statement(&bytes, self.notation));
            return line;
        };
        let place = program.image.made_by(pc).map(|position| self.sources.file_line(position)).unwrap_or_default();
        let place = place.rsplit('/').next().unwrap_or_default();
        let _ = write!(line, "  {place:<PLACE$}  ");
        let as_built = bytes.iter().zip(0..).all(|(byte, at)| program.image.byte(pc.wrapping_add(at)) == Some(*byte));
        let _ = match as_built {
            false => write!(line, "{} ; no longer {}", statement(&bytes, self.notation), remark.statement),
            true if remark.comment.is_empty() => write!(line, "{}", remark.statement),
            true => write!(line, "{} ; {}", remark.statement, remark.comment),
        };
        line
    }
}

impl Witness for Recorder<'_> {
    fn instruction(&mut self, cpu: &Cpu, board: &Board) {
        self.recent[self.count % REMEMBERED] = cpu.registers.pc;
        self.count += 1;
        if let Some(unset) = &mut self.unset {
            unset.observe(cpu, board);
        }
        if self.trace.is_some() {
            let line = self.line(cpu, board);
            if let Some(trace) = &mut self.trace {
                trace(&line);
            }
        }
    }

    fn goes_on(&mut self, now: TStates) -> bool {
        let (from, to) = self.stretch;
        (self.progress)(Progress { done: TStates(now.0 - from.0), most: TStates(to.0 - from.0) });
        self.count < self.enough
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
            trace(&format!("{:>12}  ... {} of {each} T-states", "", counted(turns, "more turn")));
        }
    }
}
