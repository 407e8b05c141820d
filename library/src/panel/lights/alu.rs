//! The arithmetic unit for bits that may be open, and how operands are reached.

use super::bits::{Bit, Byte, Unknowns, Word, bits, halves, word};
use super::trace::Run;
use crate::isa::{CycleKind, Instruction, Mnemonic, Pair, Register};

impl Run<'_, '_> {
    /// Adds a byte and a carry to the accumulator.
    pub fn add(&mut self, byte: Byte, carry: Bit) {
        let (sum, carries) = self.bench.unknowns.add(self.state.get(Register::A), byte, carry);
        self.conclude(sum, carries[3], carries[7]);
    }

    /// Subtracts a byte and a borrow from the accumulator: adds the complement, and complements the carry.
    pub fn subtract(&mut self, byte: Byte, borrow: Bit) {
        self.add(byte.map(|bit| !bit), !borrow);
        self.state.set_carry(!self.state.flags()[0]);
    }

    /// Combines the accumulator with a byte, bit by bit; the carry is cleared.
    pub fn combine(&mut self, byte: Byte, auxiliary: Bit, logic: fn(&mut Unknowns, Bit, Bit) -> Bit) {
        let result = self.bench.unknowns.each(self.state.get(Register::A), byte, logic);
        self.conclude(result, auxiliary, Bit::ZERO);
    }

    fn conclude(&mut self, result: Byte, auxiliary: Bit, carry: Bit) {
        let flags = self.bench.unknowns.flags(result, auxiliary, carry);
        self.state.set_flags(flags);
        self.state.set(Register::A, result);
    }

    /// A byte plus or minus one, with all flags but the carry.
    pub fn count(&mut self, byte: Byte, down: bool) -> Byte {
        let (other, carry) = if down { (bits(0o377), Bit::ZERO) } else { (bits(0), Bit::ONE) };
        let (result, carries) = self.bench.unknowns.add(byte, other, carry);
        let flags = self.bench.unknowns.flags(result, carries[3], self.state.flags()[0]);
        self.state.set_flags(flags);
        result
    }

    /// Makes two decimal digits of the sum of two such. The carry can be set by it, never cleared.
    pub fn adjust_decimal(&mut self) {
        let (a, flags) = (self.state.get(Register::A), self.state.flags());
        let unknowns = &mut self.bench.unknowns;
        let above_one = unknowns.or(a[2], a[1]);
        let above_nine = unknowns.and(a[3], above_one);
        let low = unknowns.or(above_nine, flags[4]);
        // Above 99 hexadecimal: the high digit is above nine, or is nine with a low digit above nine.
        let nine = unknowns.and(a[4], above_nine);
        let more = unknowns.or(a[6], a[5]);
        let more = unknowns.or(more, nine);
        let above = unknowns.and(a[7], more);
        let high = unknowns.or(above, flags[0]);
        self.add([Bit::ZERO, low, low, Bit::ZERO, Bit::ZERO, high, high, Bit::ZERO], Bit::ZERO);
        self.state.set_carry(high);
    }

    /// A register operand, which may be the byte in memory at H and L.
    pub fn load(&mut self, register: Register) -> Byte {
        match register {
            Register::M => self.read(CycleKind::Read, self.state.pair(Pair::H)),
            register => self.state.get(register),
        }
    }

    /// Sets a register operand, which may be the byte in memory at H and L.
    pub fn store(&mut self, register: Register, byte: Byte) {
        match register {
            Register::M => self.write(CycleKind::Write, self.state.pair(Pair::H), byte),
            register => self.state.set(register, byte),
        }
    }

    /// The next two bytes of the instruction, the low one first.
    pub fn operand_word(&mut self) -> Word {
        let low = self.operand();
        let high = self.operand();
        word(high, low)
    }

    /// Where `LDA` and its like find their byte.
    pub fn address(&mut self, instruction: &Instruction, pair: Pair) -> Word {
        match instruction.mnemonic {
            Mnemonic::Lda | Mnemonic::Sta => self.operand_word(),
            _ => self.state.pair(pair),
        }
    }

    pub fn call(&mut self, address: Word) {
        let (high, low) = halves(bits(self.state.pc));
        self.push(high, low);
        self.jump(address);
    }

    pub fn go_back(&mut self) {
        let (high, low) = self.pop();
        self.jump(word(high, low));
    }

    /// Whether the condition of a conditional instruction, which is known, is met. Bits 5 and 4 of the opcode choose the
    /// flag, bit 3 tells whether it is to be set.
    pub fn holds(&self, opcode: u8) -> bool {
        let flag = self.state.flags()[[6, 0, 2, 7][usize::from(opcode >> 4 & 3)]];
        self.bench.unknowns.taken(flag) == (opcode & 0o010 != 0)
    }
}
