//! The 256 opcodes, expanded from the rows of the table at compile time.

use super::cycle::{Cycle, TStates, total};
use super::operand::{Flags, Operands, Pair, Pattern, Register};
use super::table::{FORMS, Form, Mnemonic, UNDOCUMENTED};

/// What one opcode is.
#[derive(Clone, Copy, Debug)]
pub struct Instruction {
    /// The first byte.
    pub opcode: u8,
    /// The mnemonic; an undocumented opcode carries that of the instruction it acts as.
    pub mnemonic: Mnemonic,
    /// Operands, with register fields filled in.
    pub operands: Operands,
    /// Length in bytes: 1, 2 or 3.
    pub length: u8,
    /// The machine cycles; those of the taken branch for a conditional call or return.
    pub cycles: &'static [Cycle],
    /// The machine cycles when the condition fails, for a conditional call or return.
    pub cycles_not_taken: Option<&'static [Cycle]>,
    /// The flags written.
    pub flags: Flags,
    /// Whether the maker's manual lists the opcode.
    pub documented: bool,
}

impl Instruction {
    /// T-states without wait states; those of the taken branch where there are two.
    pub const fn states(&self) -> TStates {
        total(self.cycles)
    }

    /// T-states when the condition fails, where they differ.
    pub fn states_not_taken(&self) -> Option<TStates> {
        self.cycles_not_taken.map(total)
    }
}

/// Looks up an opcode. Every byte has an entry.
pub const fn decode(opcode: u8) -> &'static Instruction {
    &TABLE[opcode as usize]
}

static TABLE: [Instruction; 256] = expand();

const fn expand() -> [Instruction; 256] {
    let mut table = [instruction(&FORMS[Mnemonic::Nop as usize], 0); 256];
    let mut row = 0;
    while row < FORMS.len() {
        let form = &FORMS[row];
        let (count, step) = form.pattern.opcodes();
        let mut n = 0;
        while n < count {
            let opcode = form.opcode + n as u8 * step;
            // `MOV M,M` does not exist: its code is that of HLT, a row of its own.
            if !matches!(form.mnemonic, Mnemonic::Mov) || opcode != 0o166 {
                table[opcode as usize] = instruction(form, opcode);
            }
            n += 1;
        }
        row += 1;
    }
    let mut at = 0;
    while at < UNDOCUMENTED.len() {
        let (opcode, acts_as) = UNDOCUMENTED[at];
        let mut alias = instruction(&FORMS[acts_as as usize], opcode);
        alias.documented = false;
        table[opcode as usize] = alias;
        at += 1;
    }
    table
}

const fn instruction(form: &Form, opcode: u8) -> Instruction {
    let operands = operands(form.pattern, opcode);
    Instruction {
        opcode,
        mnemonic: form.mnemonic,
        operands,
        length: form.pattern.length(),
        cycles: form.cycles_of(&operands),
        cycles_not_taken: form.cycles_not_taken,
        flags: form.flags_of(&operands),
        documented: true,
    }
}

const fn operands(pattern: Pattern, opcode: u8) -> Operands {
    let high = Register::from_code(opcode >> 3);
    let low = Register::from_code(opcode);
    match pattern {
        Pattern::None => Operands::None,
        Pattern::DestinationSource => Operands::Registers(high, low),
        Pattern::Destination => Operands::Register(high),
        Pattern::Source => Operands::Register(low),
        Pattern::DestinationByte => Operands::RegisterByte(high),
        Pattern::Pair | Pattern::PairIndirect | Pattern::PairStacked => Operands::Pair(pair(pattern, opcode)),
        Pattern::PairWord => Operands::PairWord(pair(pattern, opcode)),
        Pattern::Byte => Operands::Byte,
        Pattern::Port => Operands::Port,
        Pattern::Address => Operands::Address,
        Pattern::Vector => Operands::Vector(opcode >> 3 & 7),
    }
}

const fn pair(pattern: Pattern, opcode: u8) -> Pair {
    pattern.pairs()[(opcode >> 4 & 3) as usize]
}
