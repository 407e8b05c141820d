//! What the interpreter needs to know of an opcode, drawn from the instruction table at compile time.

use crate::isa::{Instruction, Mnemonic, Operands, Pair, Register, decode};

/// An opcode, unpacked.
#[derive(Clone, Copy, Debug)]
pub(super) struct Step {
    pub mnemonic: Mnemonic,
    pub opcode: u8,
    /// The register written, of an instruction that names one.
    pub to: Register,
    /// The register read, of an instruction that names one.
    pub from: Register,
    /// The pair, of an instruction that names one.
    pub pair: Pair,
    /// T-states of the fetch.
    pub fetch: u8,
    /// T-states by which the last cycle after the fetch is longer than [`TRANSFER`].
    pub tail: u8,
}

/// T-states of a machine cycle after the fetch. The last one of an instruction may be longer.
pub(super) const TRANSFER: u8 = 3;

pub(super) static STEPS: [Step; 256] = {
    let mut steps = [unpack(decode(0)); 256];
    let mut opcode = 0;
    while opcode < 256 {
        steps[opcode] = unpack(decode(opcode as u8));
        opcode += 1;
    }
    steps
};

const fn unpack(instruction: &Instruction) -> Step {
    let (to, from) = match instruction.operands {
        Operands::Registers(to, from) => (to, from),
        Operands::Register(register) | Operands::RegisterByte(register) => (register, register),
        _ => (Register::A, Register::A),
    };
    let pair = match instruction.operands {
        Operands::Pair(pair) | Operands::PairWord(pair) => pair,
        _ => Pair::H,
    };
    if let Some(fewer) = instruction.cycles_not_taken {
        let states = fewer[0].states;
        assert!(states == instruction.cycles[0].states, "the fetch ends before the condition is known");
        assert!(tail(instruction) == 0, "a conditional instruction has no long last cycle");
    }
    Step {
        mnemonic: instruction.mnemonic,
        opcode: instruction.opcode,
        to,
        from,
        pair,
        fetch: instruction.cycles[0].states,
        tail: tail(instruction),
    }
}

/// The length of the last cycle beyond [`TRANSFER`]; evaluated at compile time, it also proves that the cycles between
/// the fetch and the last are not longer.
const fn tail(instruction: &Instruction) -> u8 {
    let cycles = instruction.cycles;
    let mut at = 1;
    while at + 1 < cycles.len() {
        assert!(cycles[at].states == TRANSFER, "only the first and the last cycle may be longer");
        at += 1;
    }
    if cycles.len() == 1 { 0 } else { cycles[cycles.len() - 1].states - TRANSFER }
}
