//! An instruction of a program, with what its source says of it.

use crate::isa::{Instruction, Mnemonic};

/// An instruction of a program.
#[derive(Clone, Debug)]
pub(super) struct Row {
    /// Where it lies and runs.
    pub address: u16,
    /// Its first byte, decoded.
    pub instruction: &'static Instruction,
    /// Its byte or word, 0 without.
    pub operand: u16,
    /// Its byte or word as the source has it.
    pub text: Option<Given>,
    /// The line of the source in which it stands alone, if it may be changed, counted from 0.
    pub line: Option<usize>,
    /// Whether a label stands in its line.
    pub labelled: bool,
}

impl Row {
    /// The address behind it.
    pub fn next(&self) -> u16 {
        self.address.wrapping_add(self.instruction.length.into())
    }

    /// The mnemonic.
    pub fn mnemonic(&self) -> Mnemonic {
        self.instruction.mnemonic
    }
}

/// A byte or word of an instruction as a source has it.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Given {
    pub text: String,
    pub value: u16,
    /// Whether it stays as it is when code moves.
    pub fixed: bool,
    /// The label that it is counted from, in capitals, and how far, if it is a label with nothing but numbers added to it.
    pub from: Option<(String, u16)>,
    /// Whether it is how far two labels lie apart.
    pub length: bool,
}
