//! Instructions that a form is made of.

use super::row::{Given, Row};
use super::trial::Coded;
use crate::isa::{Instruction, Operands};

/// An instruction of a form.
#[derive(Clone, Debug)]
pub(super) struct Made {
    pub instruction: &'static Instruction,
    pub operand: Option<Given>,
}

impl Made {
    /// As bytes for a trial.
    pub fn coded(&self) -> Coded {
        let operand = self.operand.as_ref().map_or(0, |given| given.value);
        Coded { opcode: self.instruction.opcode, operand, length: self.instruction.length }
    }
}

/// A row as an instruction of a form.
pub(super) fn made_of(row: &Row) -> Made {
    Made { instruction: row.instruction, operand: row.text.clone() }
}

/// An instruction as a line has it: the mnemonic, and its operands.
pub(super) fn written(made: &Made) -> (String, String) {
    let instruction = made.instruction;
    let text = || made.operand.as_ref().map(|given| given.text.clone()).unwrap_or_default();
    let operands = match instruction.operands {
        Operands::None => String::new(),
        Operands::Registers(to, from) => format!("{},{}", to.name(), from.name()),
        Operands::Register(register) => register.name().to_owned(),
        Operands::RegisterByte(register) => format!("{},{}", register.name(), text()),
        Operands::Pair(pair) => pair.name().to_owned(),
        Operands::PairWord(pair) => format!("{},{}", pair.name(), text()),
        Operands::Byte | Operands::Port | Operands::Address => text(),
        Operands::Vector(vector) => vector.to_string(),
    };
    (instruction.mnemonic.name().to_owned(), operands)
}
