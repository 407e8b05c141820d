//! The chip as a board wires it to the processor and to a drive.

use super::chip::{Fd1771, Register};
use super::pins::Pins;
use crate::disk::ChipWires;
use crate::isa::TStates;

/// What a port of the board is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A register of the chip.
    Register(Register),
    /// The request lines.
    Requests,
}

/// The chip with its wiring, and the drive at its pins.
#[derive(Clone, Debug)]
pub struct Board<P> {
    /// The chip.
    pub chip: Fd1771,
    /// What it sees of a drive.
    pub pins: P,
    wires: ChipWires,
}

impl<P: Pins> Board<P> {
    /// A chip just let go from master reset, in a machine of so many T-states a second.
    pub fn new(wires: ChipWires, clock_hz: u64, mut pins: P) -> Board<P> {
        let chip = Fd1771::new(clock_hz, wires.is_slow, &mut pins);
        Board { chip, pins, wires }
    }

    /// Lets happen what is due up to and including `now`.
    pub fn settle(&mut self, now: TStates) {
        self.chip.settle(now, &mut self.pins);
    }

    /// When the chip will next change by itself.
    pub fn next_event(&self) -> Option<TStates> {
        self.chip.next_event(&self.pins)
    }

    /// What a port reads, without what reading it does. The board has been settled to the moment.
    pub fn peek(&self, role: Role, at: TStates) -> u8 {
        match role {
            Role::Register(register) => self.turned(self.chip.peek(register, at, &self.pins)),
            Role::Requests => self.requests(),
        }
    }

    /// The processor reads a port. The board has been settled to the moment.
    pub fn input(&mut self, role: Role, at: TStates) -> u8 {
        match role {
            Role::Register(register) => {
                let byte = self.chip.read(register, at, &self.pins);
                self.turned(byte)
            }
            Role::Requests => self.requests(),
        }
    }

    /// The processor writes a port; nothing hears what is written to that of the requests. The board has been settled to
    /// the moment.
    pub fn output(&mut self, role: Role, byte: u8, at: TStates) {
        if let Role::Register(register) = role {
            self.chip.write(register, self.turned(byte), at, &mut self.pins);
        }
    }

    /// Lets happen what is due until a port no longer holds the processor that reads it from a moment on; nothing if it
    /// holds it for ever. What the drive does by itself is heard of at `changes` behind a moment.
    pub fn held_until(
        &mut self,
        role: Role,
        from: TStates,
        changes: impl Fn(&P, TStates) -> Option<TStates>,
    ) -> Option<TStates> {
        let mut at = from;
        self.settle(at);
        let holds = role == Role::Requests && self.wires.requests.is_some_and(|requests| requests.holds);
        while holds && !self.chip.drq() && !self.chip.intrq() {
            if !self.chip.may_request() {
                return None;
            }
            at = self.next_event().into_iter().chain(changes(&self.pins, at)).min()?;
            self.settle(at);
        }
        Some(at)
    }

    fn turned(&self, byte: u8) -> u8 {
        if self.wires.inverted { !byte } else { byte }
    }

    /// Bits to which nothing is wired float, and read one.
    fn requests(&self) -> u8 {
        let requests = self.wires.requests;
        let data = requests.map(|requests| (requests.data, self.chip.drq()));
        let interrupt = requests.map(|requests| (requests.interrupt, self.chip.intrq()));
        data.into_iter()
            .chain(interrupt)
            .fold(0xFF, |byte, (line, yes)| if yes == line.low { byte & !(1 << line.bit) } else { byte })
    }
}
