//! The flow from the entries: what is reached is an instruction.

use super::behind;
use super::bytes::{Bytes, Decoded};
use super::hints::{Hints, Kind};
use super::marks::{Mark, Marks, Uses};
use super::places::Places;
use super::trial::Trials;
use crate::isa::{Mnemonic, Operands, Pair};

/// A place where execution goes on at an address that lies in memory or a register.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Leap {
    /// Where the instruction lies that goes there.
    pub at: usize,
}

/// The bytes with all that was found so far.
pub struct Flow<'a> {
    /// The bytes.
    pub bytes: &'a Bytes,
    /// What a person said.
    pub hints: &'a Hints,
    /// Where they run.
    pub places: Places,
    /// What they are.
    pub marks: Marks,
    /// Jumps over registers that have not been looked at yet.
    pub leaps: Vec<Leap>,
    /// Whether the program lets itself be interrupted.
    pub interrupts: bool,
    /// Ports that the program uses, or the machine has.
    pub ports: Vec<bool>,
    /// Runs of routines, to see what they do.
    pub trials: Trials<'a>,
    open: Vec<usize>,
}

impl<'a> Flow<'a> {
    /// Nothing is known but the hints.
    pub fn new(bytes: &'a Bytes, hints: &'a Hints, places: Places) -> Flow<'a> {
        Flow {
            bytes,
            hints,
            places,
            marks: Marks::default(),
            leaps: Vec::new(),
            interrupts: false,
            ports: vec![false; 256],
            trials: Trials::new(bytes),
            open: Vec::new(),
        }
    }

    /// Execution comes to the byte that lies here.
    pub fn enter(&mut self, at: usize, how: Uses) {
        if self.bytes.has(at) {
            self.marks.note(at, how);
            self.open.push(at);
        }
    }

    /// Follows all that was entered to its ends.
    pub fn follow(&mut self) {
        while let Some(at) = self.open.pop() {
            self.walk(at);
        }
    }

    /// Whether an instruction may lie at an address: all its bytes are there, run in one piece, and no hint says otherwise.
    pub fn readable(&self, at: usize) -> Option<Decoded> {
        let decoded = self.bytes.decode(at)?;
        let last = at + decoded.length() - 1;
        let same = self.places.moved().is_empty() || self.places.of(at) == self.places.of(last);
        let plain = (at..=last).any(|at| matches!(self.marks.at(at), Mark::Plain(_)));
        (same && !plain).then_some(decoded)
    }

    fn walk(&mut self, mut at: usize) {
        loop {
            if self.marks.at(at) == Mark::Start {
                return;
            }
            let Some(decoded) = self.readable(at) else { return };
            let end = at + decoded.length();
            let free = (at..end).all(|at| self.marks.at(at) == Mark::Unknown);
            if free {
                self.marks.instruction(at, decoded.length());
            } else if !self.marks.overlapping.insert(at) {
                return;
            }
            if !self.look(at, decoded) {
                return;
            }
            at = match self.behind(at, decoded) {
                Some(next) => next,
                None => end,
            };
        }
    }

    /// Notes what an instruction refers to; whether execution may go on behind it.
    fn look(&mut self, at: usize, decoded: Decoded) -> bool {
        let mnemonic = decoded.instruction.mnemonic;
        match mnemonic {
            Mnemonic::Lda | Mnemonic::Lhld => self.refer(at, decoded.operand, Uses::READ),
            Mnemonic::Sta | Mnemonic::Shld => self.refer(at, decoded.operand, Uses::WRITTEN),
            Mnemonic::Ei => self.interrupts = true,
            Mnemonic::In | Mnemonic::Out => self.ports[usize::from(decoded.operand)] = true,
            Mnemonic::Pchl | Mnemonic::Ret => self.leaps.push(Leap { at }),
            Mnemonic::Lxi if decoded.instruction.operands != Operands::PairWord(Pair::Sp) => {
                if let Some(lies) = self.places.lies_at(self.bytes, at, decoded.operand) {
                    self.marks.note(lies, Uses::POINTED);
                }
            }
            _ => {}
        }
        let target = match decoded.instruction.operands {
            Operands::Vector(number) => Some(u16::from(number) * 8),
            _ => decoded.target(),
        };
        if let Some(target) = target {
            let how = if mnemonic.calls() { Uses::CALLED } else { Uses::JUMPED };
            self.refer(at, target, how);
            if let Some(lies) = self.places.lies_at(self.bytes, at, target) {
                self.open.push(lies);
            }
        }
        !mnemonic.ends_flow()
    }

    /// Whether an instruction of input or output is for a port that is known.
    pub fn knows_port(&self, decoded: Decoded) -> bool {
        self.ports[usize::from(decoded.operand & 0xFF)]
    }

    /// Notes a use of an address, be it among the bytes or not.
    fn refer(&mut self, from: usize, address: u16, how: Uses) {
        match self.places.lies_at(self.bytes, from, address) {
            Some(lies) => self.marks.note(lies, how),
            None => self.marks.note_outside(address, how),
        }
    }

    /// Where execution goes on behind a CALL whose routine takes what lies there.
    fn behind(&mut self, at: usize, decoded: Decoded) -> Option<usize> {
        let target = match decoded.instruction.operands {
            Operands::Vector(number) => u16::from(number) * 8,
            _ if decoded.instruction.mnemonic.calls() => decoded.operand,
            _ => return None,
        };
        let routine = self.places.lies_at(self.bytes, at, target)?;
        let first = at + decoded.length();
        let count = match self.hints.behind.get(&crate::notation::Address(self.places.runs_at(routine))) {
            Some(hint) => behind::told(self.bytes, first, hint.value),
            None if behind::takes(self.bytes, &self.places, routine) => self.trials.behind(at, first),
            None => None,
        }?;
        let free = (first..first + count).all(|at| self.bytes.has(at) && self.marks.at(at) == Mark::Unknown);
        if !free || count == 0 {
            return None;
        }
        let kind = if behind::is_text(self.bytes, first..first + count) { Kind::Text } else { Kind::Data };
        self.marks.set(first..first + count, Mark::Plain(kind));
        Some(first + count)
    }
}
