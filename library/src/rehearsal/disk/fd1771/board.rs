//! The chip as a board wires it to the processor and to a drive.

use super::chip::{Fd1771, Register};
use super::pins::Pins;
use crate::isa::TStates;

/// What a port of the board is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A register of the chip.
    Register(Register),
    /// The request lines.
    Requests,
}

/// How a board wires the chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wiring {
    /// Whether the processor sees the complement of what is in the registers: the bus of the chip is inverted, and the
    /// board does not turn it round again.
    ///
    /// Source: Western Digital FD179X-02 data sheet, May 1980, for the 1791; that the 1771 is so too, from memory of its
    /// own.
    pub inverted: bool,
    /// DRQ at a bit of the port of requests.
    pub data: Line,
    /// INTRQ there.
    pub interrupt: Line,
    /// Whether that port holds the processor until one of them comes.
    pub holds: bool,
}

/// A line at a bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// The bit, `0..=7`.
    pub bit: u8,
    /// Whether the bit is 0 when the line says yes.
    pub low: bool,
}

/// The chip with its wiring, and the drive at its pins.
#[derive(Debug)]
pub struct Board<P> {
    /// The chip.
    pub chip: Fd1771,
    /// What it sees of a drive.
    pub pins: P,
    wiring: Wiring,
}

impl<P: Pins> Board<P> {
    /// A chip just let go from master reset, with a clock of 2 MHz or 1 MHz, in a machine of so many T-states a second.
    pub fn new(wiring: Wiring, clock_hz: u64, is_slow: bool, mut pins: P) -> Board<P> {
        let chip = Fd1771::new(clock_hz, is_slow, &mut pins);
        Board { chip, pins, wiring }
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
        while role == Role::Requests && self.wiring.holds && !self.chip.drq() && !self.chip.intrq() {
            if !self.chip.may_request() {
                return None;
            }
            at = self.next_event().into_iter().chain(changes(&self.pins, at)).min()?;
            self.settle(at);
        }
        Some(at)
    }

    fn turned(&self, byte: u8) -> u8 {
        if self.wiring.inverted { !byte } else { byte }
    }

    /// Bits to which nothing is wired float, and read one.
    fn requests(&self) -> u8 {
        let lines = [(self.wiring.data, self.chip.drq()), (self.wiring.interrupt, self.chip.intrq())];
        lines.into_iter().fold(0xFF, |byte, (line, yes)| if yes == line.low { byte & !(1 << line.bit) } else { byte })
    }
}
