//! The hand at the panel: it does the very steps of the deposit sheet.

use super::machine::Machine;
use crate::notation::Address;
use crate::panel::{Key, Step};

/// A hand at a panel, with the switches as it left them.
#[derive(Debug, Default)]
pub struct Hand {
    address: u16,
    data: u8,
    shown: Address,
}

/// What the hand found wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Differs {
    /// Where.
    pub address: Address,
    /// What the sheet says.
    pub expected: u8,
    /// What the lights show.
    pub found: u8,
}

impl Hand {
    /// Does a step of a sheet. RUN leaves the program counter where it is to start.
    ///
    /// # Errors
    /// The lights show something else than the sheet says.
    pub fn act(&mut self, step: Step, machine: &mut Machine) -> Result<(), Differs> {
        match step {
            Step::SetAddress(address) => self.address = address.0,
            Step::SetData(byte) => self.data = byte,
            Step::SetSense(byte) => machine.board.sense = byte,
            Step::Press(Key::Examine) => self.show(Address(self.address), machine),
            Step::Press(Key::ExamineNext) => self.show(self.shown.wrapping_add(1), machine),
            Step::Press(Key::Deposit) => drop(machine.deposit(self.shown, self.data)),
            Step::Press(Key::DepositNext) => {
                self.show(self.shown.wrapping_add(1), machine);
                machine.deposit(self.shown, self.data);
            }
            Step::Press(Key::Run) => {}
            Step::Compare(address, expected) => {
                let found = machine.board.memory.byte(address);
                if self.shown != address || found != expected {
                    return Err(Differs { address, expected, found });
                }
            }
        }
        Ok(())
    }

    fn show(&mut self, address: Address, machine: &mut Machine) {
        self.shown = address;
        machine.examine(address);
    }
}
