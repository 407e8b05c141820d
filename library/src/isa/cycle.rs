//! Machine cycles: what the processor does on its bus, and for how many clock periods.

use std::iter::Sum;
use std::ops::{Add, AddAssign};

/// A number of T-states: clock periods of the processor.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TStates(pub u64);

impl Add for TStates {
    type Output = TStates;
    fn add(self, other: TStates) -> TStates {
        TStates(self.0 + other.0)
    }
}

impl AddAssign for TStates {
    fn add_assign(&mut self, other: TStates) {
        self.0 += other.0;
    }
}

impl Sum for TStates {
    fn sum<I: Iterator<Item = TStates>>(cycles: I) -> TStates {
        cycles.fold(TStates(0), Add::add)
    }
}

impl std::fmt::Display for TStates {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// What kind of bus transfer a machine cycle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CycleKind {
    /// Fetch of the first byte of an instruction (M1).
    Fetch,
    /// Memory read: the second and third byte of an instruction, or data.
    Read,
    /// Memory write.
    Write,
    /// Memory read with the stack pointer on the address bus.
    StackRead,
    /// Memory write with the stack pointer on the address bus.
    StackWrite,
    /// Read from an input port.
    Input,
    /// Write to an output port.
    Output,
    /// Fetch of an instruction from the interrupting device.
    InterruptAcknowledge,
    /// The cycle in which the processor stops after `HLT`.
    HaltAcknowledge,
    /// Interrupt acknowledge that ends a halt.
    InterruptAcknowledgeWhileHalted,
    /// An internal cycle of `DAD`: no SYNC, no status byte, memory not referenced (Table 2-2, note 8).
    Internal,
}

impl CycleKind {
    /// The status byte latched at SYNC, or `None` for an internal cycle, which issues none.
    ///
    /// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, Table 2-1. The row for an interrupt
    /// acknowledged while halted is from memory of the same table.
    pub const fn status(self) -> Option<u8> {
        Some(match self {
            CycleKind::Fetch => 0xA2,
            CycleKind::Read => 0x82,
            CycleKind::Write => 0x00,
            CycleKind::StackRead => 0x86,
            CycleKind::StackWrite => 0x04,
            CycleKind::Input => 0x42,
            CycleKind::Output => 0x10,
            CycleKind::InterruptAcknowledge => 0x23,
            CycleKind::HaltAcknowledge => 0x8A,
            CycleKind::InterruptAcknowledgeWhileHalted => 0x2B,
            CycleKind::Internal => return None,
        })
    }
}

/// One machine cycle of an instruction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Cycle {
    /// What the cycle does on the bus.
    pub kind: CycleKind,
    /// Clock periods without wait states: 3, 4 or 5.
    pub states: u8,
}

/// The sum of the T-states of `cycles`.
pub const fn total(cycles: &[Cycle]) -> TStates {
    let (mut sum, mut at) = (0, 0);
    while at < cycles.len() {
        sum += cycles[at].states as u64;
        at += 1;
    }
    TStates(sum)
}
