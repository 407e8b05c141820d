//! Lines of the machine that are not as they should be, between the processor with its panel and everything else.

use serde::{Deserialize, Serialize};

use crate::cpu::{Bus, MachineCycle};
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;
use crate::rehearsal::Machine;

/// What is wrong with a group of lines. Lines are numbered from the least significant, 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Defect {
    /// A line always has one level.
    Stuck {
        /// Which.
        line: u8,
        /// Whether it is high.
        high: bool,
    },
    /// A line and the next one lead to each other's places.
    Crossed(u8),
    /// A line and the next one touch: both are low as soon as one is, as the outputs of TTL have it (common practice).
    Touching(u8),
}

impl Defect {
    /// What comes out of the lines.
    pub fn lead(self, value: u16) -> u16 {
        let bit = |line: u8| value >> line & 1;
        match self {
            Defect::Stuck { line, high: true } => value | 1 << line,
            Defect::Stuck { line, high: false } => value & !(1 << line),
            Defect::Crossed(line) => {
                let differ = bit(line) ^ bit(line + 1);
                value ^ (differ << line | differ << (line + 1))
            }
            Defect::Touching(line) if bit(line) & bit(line + 1) == 1 => value,
            Defect::Touching(line) => value & !(3 << line),
        }
    }

    /// What the panel's lamps show of them: a level is everywhere on a line, while lines that are crossed are so behind the
    /// panel.
    fn shown(self, value: u16) -> u16 {
        if matches!(self, Defect::Crossed(_)) { value } else { self.lead(value) }
    }
}

/// A bit of memory that does not change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StuckBit {
    /// Where.
    pub address: Address,
    /// Which bit, `0..=7`.
    pub bit: u8,
    /// What it always is.
    pub one: bool,
}

impl StuckBit {
    fn keeps(self, byte: u8) -> u8 {
        if self.one { byte | 1 << self.bit } else { byte & !(1 << self.bit) }
    }
}

/// What is wrong with the wires and the memory of a machine.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wires {
    /// The sixteen address lines. A port's number is on both halves; devices look at the low one (common practice).
    pub address: Option<Defect>,
    /// The eight data lines, the same for what is read and what is written.
    pub data: Option<Defect>,
    /// A bit of memory.
    pub cell: Option<StuckBit>,
}

impl Wires {
    fn address(&self, address: u16) -> u16 {
        self.address.map_or(address, |defect| defect.lead(address))
    }

    fn data(&self, byte: u8) -> u8 {
        self.data.map_or(byte, |defect| defect.lead(u16::from(byte)) as u8)
    }

    fn keeps(&self, address: u16, byte: u8) -> u8 {
        self.cell.filter(|cell| cell.address.0 == address).map_or(byte, |cell| cell.keeps(byte))
    }

    /// The byte that the processor and the panel find at an address.
    pub fn find(&self, machine: &Machine, address: Address) -> u8 {
        self.data(machine.board.memory.byte(Address(self.address(address.0))))
    }

    /// The panel puts a byte at an address.
    pub fn deposit(&self, machine: &mut Machine, address: Address, byte: u8) {
        let at = self.address(address.0);
        machine.deposit(Address(at), self.keeps(at, self.data(byte)));
    }

    /// What the address lamps show of an address.
    pub fn shown(&self, address: Address) -> Address {
        Address(self.address.map_or(address.0, |defect| defect.shown(address.0)))
    }

    /// A machine cycle as the panel's lamps show it.
    pub fn lamps(&self, cycle: MachineCycle) -> MachineCycle {
        let data = |byte| self.data.map_or(byte, |defect| defect.shown(u16::from(byte)) as u8);
        MachineCycle {
            address: cycle.address.map(|address| self.shown(Address(address)).0),
            data: cycle.data.map(data),
            ..cycle
        }
    }
}

/// A bus behind such wires.
pub struct Wired<'a, B> {
    /// What is behind them.
    pub bus: &'a mut B,
    /// The wires.
    pub wires: &'a Wires,
}

impl<B: Bus> Wired<'_, B> {
    fn port(&self, port: u8) -> u8 {
        self.wires.address(u16::from_le_bytes([port, port])) as u8
    }
}

impl<B: Bus> Bus for Wired<'_, B> {
    fn read(&mut self, address: u16) -> u8 {
        let byte = self.bus.read(self.wires.address(address));
        self.wires.data(byte)
    }

    fn write(&mut self, address: u16, byte: u8) {
        let at = self.wires.address(address);
        self.bus.write(at, self.wires.keeps(at, self.wires.data(byte)));
    }

    fn input(&mut self, port: u8) -> u8 {
        let byte = self.bus.input(self.port(port));
        self.wires.data(byte)
    }

    fn output(&mut self, port: u8, byte: u8) {
        self.bus.output(self.port(port), self.wires.data(byte));
    }

    fn begin(&mut self, kind: CycleKind, address: Option<u16>, at: TStates) -> TStates {
        self.bus.begin(kind, address.map(|address| self.wires.address(address)), at)
    }

    fn complete(&mut self, cycle: MachineCycle) {
        self.bus.complete(cycle);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_lead_where_the_defect_says() {
        let stuck = |line, high| Defect::Stuck { line, high };
        assert_eq!((stuck(3, true).lead(0), stuck(3, false).lead(0o377)), (0o10, 0o367));
        let crossed = [0b01, 0b10, 0b11, 0b00].map(|value| Defect::Crossed(0).lead(value));
        assert_eq!(crossed, [0b10, 0b01, 0b11, 0b00]);
        let touching = [0b0110, 0b0010, 0b0100, 0b1001].map(|value| Defect::Touching(1).lead(value));
        assert_eq!(touching, [0b0110, 0, 0, 0b1001]);
    }

    #[test]
    fn a_stuck_bit_keeps_to_its_cell() {
        let wires = Wires { cell: Some(StuckBit { address: Address(8), bit: 1, one: false }), ..Wires::default() };
        assert_eq!((wires.keeps(8, 0o377), wires.keeps(9, 0o377)), (0o375, 0o377));
    }
}
