//! What each instruction does to bits that may be open. It is the processor's chapter 4 once more (the
//! [`cpu`](crate::cpu) has no room for bits that are not known); tests hold the two against each other, opcode by opcode.
//!
//! Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, chapter 4; the auxiliary carry after AND
//! from the 8080/8085 Assembly Language Programming Manual (9800301), page 1-12.

use super::bits::{Bit, Unknowns, bits, halves, word};
use super::trace::{Outcome, Run};
use crate::isa::{CycleKind, Instruction, Mnemonic, Operands, Pair, Register};

impl Run<'_, '_> {
    /// Completes the instruction whose first byte has just been fetched.
    pub fn execute(&mut self, instruction: &Instruction) -> Outcome {
        let pair = match instruction.operands {
            Operands::Pair(pair) | Operands::PairWord(pair) => pair,
            _ => Pair::H,
        };
        match instruction.mnemonic {
            Mnemonic::Hlt => {
                self.halt();
                return Outcome::Halted;
            }
            Mnemonic::Nop | Mnemonic::Ei | Mnemonic::Di => {}
            _ => self.transfer(instruction, pair),
        }
        Outcome::Next
    }

    /// Data transfer group.
    fn transfer(&mut self, instruction: &Instruction, pair: Pair) {
        let (to, from) = match instruction.operands {
            Operands::Registers(to, from) => (to, from),
            Operands::Register(register) | Operands::RegisterByte(register) => (register, register),
            _ => (Register::A, Register::A),
        };
        match instruction.mnemonic {
            Mnemonic::Mov => {
                let byte = self.load(from);
                self.store(to, byte);
            }
            Mnemonic::Mvi => {
                let byte = self.operand();
                self.store(to, byte);
            }
            Mnemonic::Lxi => {
                let word = self.operand_word();
                self.state.set_pair(pair, word);
            }
            Mnemonic::Lda | Mnemonic::Ldax => {
                let address = self.address(instruction, pair);
                let byte = self.read(CycleKind::Read, address);
                self.state.set(Register::A, byte);
            }
            Mnemonic::Sta | Mnemonic::Stax => {
                let address = self.address(instruction, pair);
                self.write(CycleKind::Write, address, self.state.get(Register::A));
            }
            Mnemonic::Lhld => {
                let address = self.operand_word();
                let low = self.read(CycleKind::Read, address);
                let above = self.beside(address, 1);
                let high = self.read(CycleKind::Read, above);
                self.state.set_pair(Pair::H, word(high, low));
            }
            Mnemonic::Shld => {
                let address = self.operand_word();
                let (high, low) = halves(self.state.pair(Pair::H));
                self.write(CycleKind::Write, address, low);
                let above = self.beside(address, 1);
                self.write(CycleKind::Write, above, high);
            }
            Mnemonic::Xchg => {
                let (de, hl) = (self.state.pair(Pair::D), self.state.pair(Pair::H));
                self.state.set_pair(Pair::D, hl);
                self.state.set_pair(Pair::H, de);
            }
            Mnemonic::Inr | Mnemonic::Dcr => {
                let byte = self.load(from);
                let byte = self.count(byte, instruction.mnemonic == Mnemonic::Dcr);
                self.store(to, byte);
            }
            Mnemonic::Inx | Mnemonic::Dcx => {
                let distance = if instruction.mnemonic == Mnemonic::Inx { 1 } else { 0xFFFF };
                let word = self.beside(self.state.pair(pair), distance);
                self.state.set_pair(pair, word);
            }
            Mnemonic::Dad => {
                self.internal();
                self.internal();
                let (hl, other) = (self.state.pair(Pair::H), self.state.pair(pair));
                let (sum, carries) = self.bench.unknowns.add(hl, other, Bit::ZERO);
                self.state.set_pair(Pair::H, sum);
                self.state.set_carry(carries[15]);
            }
            _ => self.arithmetic(instruction, from, pair),
        }
    }

    /// Arithmetic and logical group: the accumulator with a second operand.
    fn arithmetic(&mut self, instruction: &Instruction, from: Register, pair: Pair) {
        use Mnemonic::*;
        let mnemonic = instruction.mnemonic;
        if !matches!(mnemonic, Add | Adi | Adc | Aci | Sub | Sui | Sbb | Sbi)
            && !matches!(mnemonic, Ana | Ani | Xra | Xri | Ora | Ori | Cmp | Cpi)
        {
            return self.accumulator(instruction, pair);
        }
        let byte = if instruction.length == 2 { self.operand() } else { self.load(from) };
        let (a, carry) = (self.state.get(Register::A), self.state.flags()[0]);
        match mnemonic {
            Add | Adi => self.add(byte, Bit::ZERO),
            Adc | Aci => self.add(byte, carry),
            Sub | Sui => self.subtract(byte, Bit::ZERO),
            Sbb | Sbi => self.subtract(byte, carry),
            Cmp | Cpi => {
                self.subtract(byte, Bit::ZERO);
                self.state.set(Register::A, a);
            }
            Ana | Ani => {
                let auxiliary = self.bench.unknowns.or(a[3], byte[3]);
                self.combine(byte, auxiliary, Unknowns::and);
            }
            Xra | Xri => self.combine(byte, Bit::ZERO, Unknowns::exclusive_or),
            _ => self.combine(byte, Bit::ZERO, Unknowns::or),
        }
    }

    /// What is done to the accumulator and the carry alone.
    fn accumulator(&mut self, instruction: &Instruction, pair: Pair) {
        let mnemonic = instruction.mnemonic;
        let (mut a, carry) = (self.state.get(Register::A), self.state.flags()[0]);
        match mnemonic {
            Mnemonic::Rlc | Mnemonic::Ral => {
                let out = a[7];
                a.rotate_right(1);
                a[0] = if mnemonic == Mnemonic::Ral { carry } else { out };
                self.state.set_carry(out);
            }
            Mnemonic::Rrc | Mnemonic::Rar => {
                let out = a[0];
                a.rotate_left(1);
                a[7] = if mnemonic == Mnemonic::Rar { carry } else { out };
                self.state.set_carry(out);
            }
            Mnemonic::Cma => a = a.map(|bit| !bit),
            Mnemonic::Cmc => self.state.set_carry(!carry),
            Mnemonic::Stc => self.state.set_carry(Bit::ONE),
            Mnemonic::Daa => return self.adjust_decimal(),
            _ => return self.branch(instruction, pair),
        }
        self.state.set(Register::A, a);
    }

    /// Branch group; the condition of a conditional instruction is known.
    fn branch(&mut self, instruction: &Instruction, pair: Pair) {
        use Mnemonic::*;
        match instruction.mnemonic {
            Jmp => {
                let address = self.operand_word();
                self.jump(address);
            }
            Jnz | Jz | Jnc | Jc | Jpo | Jpe | Jp | Jm => {
                let address = self.operand_word();
                if self.holds(instruction.opcode) {
                    self.jump(address);
                }
            }
            Call => {
                let address = self.operand_word();
                self.call(address);
            }
            Cnz | Cz | Cnc | Cc | Cpo | Cpe | Cp | Cm => {
                let address = self.operand_word();
                if self.holds(instruction.opcode) {
                    self.call(address);
                }
            }
            Ret => self.go_back(),
            Rnz | Rz | Rnc | Rc | Rpo | Rpe | Rp | Rm => {
                if self.holds(instruction.opcode) {
                    self.go_back();
                }
            }
            // The vector stands in the opcode where it is already multiplied by eight.
            Rst => self.call(bits(u16::from(instruction.opcode & 0o070))),
            Pchl => self.jump(self.state.pair(Pair::H)),
            mnemonic => self.stack_and_ports(mnemonic, pair),
        }
    }

    fn stack_and_ports(&mut self, mnemonic: Mnemonic, pair: Pair) {
        match mnemonic {
            Mnemonic::Push => {
                let (high, low) = halves(self.state.pair(pair));
                self.push(high, low);
            }
            Mnemonic::Pop => {
                let (high, low) = self.pop();
                self.state.set_pair(pair, word(high, low));
            }
            Mnemonic::Xthl => {
                let (high, low) = self.pop();
                let (h, l) = halves(self.state.pair(Pair::H));
                self.push(h, l);
                self.state.set_pair(Pair::H, word(high, low));
            }
            Mnemonic::Sphl => self.state.sp = self.state.pair(Pair::H),
            Mnemonic::In => {
                let byte = self.input();
                self.state.set(Register::A, byte);
            }
            Mnemonic::Out => self.output(self.state.get(Register::A)),
            _ => {}
        }
    }
}
