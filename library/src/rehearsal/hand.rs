//! The hand at the panel: it does the very steps of the deposit sheet, with the faults that are asked for.

use super::machine::Machine;
use crate::notation::Address;
use crate::panel::{Key, Step};

/// A hand at a panel, with the switches as it left them.
#[derive(Debug)]
pub struct Hand<'a> {
    address: u16,
    data: u8,
    shown: Address,
    slips: &'a [(Address, u8)],
    skips: &'a [Address],
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

impl<'a> Hand<'a> {
    /// A hand that sets some bytes wrong and leaves some deposits out. One that has such a fault notices nothing
    /// afterwards, or there would be no fault.
    pub fn new(slips: &'a [(Address, u8)], skips: &'a [Address]) -> Hand<'a> {
        Hand { address: 0, data: 0, shown: Address(0), slips, skips }
    }

    /// Does a step of a sheet; `byte` is the address to which its row deposits. RUN leaves the program counter where it
    /// is to start.
    ///
    /// # Errors
    /// The lights show something else than the sheet says.
    pub fn act(&mut self, step: Step, byte: Option<Address>, machine: &mut Machine) -> Result<(), Differs> {
        match step {
            Step::SetAddress(address) => self.address = address.0,
            Step::SetData(data) => self.data = self.set(data, byte),
            Step::SetSense(byte) => machine.board.sense = byte,
            Step::Press(Key::Deposit | Key::DepositNext) if byte.is_some_and(|byte| self.skips.contains(&byte)) => {}
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
                let notices = self.slips.is_empty() && self.skips.is_empty();
                if notices && (self.shown != address || found != expected) {
                    return Err(Differs { address, expected, found });
                }
            }
        }
        Ok(())
    }

    /// What the hand sets where the sheet says `data`.
    fn set(&self, data: u8, byte: Option<Address>) -> u8 {
        let slip = self.slips.iter().rev().find(|(address, _)| Some(*address) == byte);
        slip.map_or(data, |(_, slip)| *slip)
    }

    fn show(&mut self, address: Address, machine: &mut Machine) {
        self.shown = address;
        machine.examine(address);
    }
}
