//! Finding that the machine is back in a state it was in before.
//!
//! While nothing changes but registers, the next state depends on the present one alone. So once a state comes back, the
//! program goes round and round until a device changes: a polling loop, a wait for nothing, or a jump to itself. The
//! search is Brent's (R. P. Brent, "An improved Monte Carlo factorization algorithm", BIT 20, 1980): one state is
//! remembered and compared with each that follows; it is renewed after 1, 2, 4, 8 ... instructions, so a loop of any
//! length is found within three times its length.

use super::records::Counts;
use crate::cpu::{Cpu, Registers};
use crate::isa::TStates;

/// One state, remembered.
#[derive(Clone, Debug)]
pub(super) struct Recurrence {
    registers: Registers,
    clock: TStates,
    counts: Counts,
    /// The count of changes outside the registers when the state was remembered.
    changes: u64,
    /// Instructions until the remembered state is renewed.
    left: u32,
    /// For how many instructions a state is remembered.
    span: u32,
}

/// What one turn of a loop adds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Turn {
    /// T-states.
    pub length: TStates,
    /// Instructions and reads.
    pub counts: Counts,
}

impl Recurrence {
    /// Remembers the present state.
    pub(super) fn new(cpu: &Cpu, counts: Counts, changes: u64) -> Recurrence {
        Recurrence { registers: cpu.registers, clock: cpu.clock, counts, changes, left: 1, span: 1 }
    }

    /// Takes the state after an instruction. If it is the remembered one, says what lies between.
    #[inline]
    pub(super) fn observe(&mut self, cpu: &Cpu, counts: Counts, changes: u64) -> Option<Turn> {
        if changes != self.changes {
            *self = Recurrence::new(cpu, counts, changes);
            return None;
        }
        if cpu.registers.pc == self.registers.pc && cpu.registers == self.registers {
            let length = TStates(cpu.clock.0 - self.clock.0);
            let turn = Turn { length, counts: counts.since(self.counts) };
            *self = Recurrence::new(cpu, counts, changes);
            return Some(turn);
        }
        self.left -= 1;
        if self.left == 0 {
            let span = self.span.saturating_mul(2);
            *self = Recurrence { left: span, span, ..Recurrence::new(cpu, counts, changes) };
        }
        None
    }
}
