//! What one instruction makes of bits that nobody set.

use super::bits::{A, Bits, FLAGS, Misuse, Unset};
use crate::cpu::Cpu;
use crate::isa::{Flags, Instruction, Mnemonic, Operands, Pair, Register, decode};
use crate::notation::Address;
use crate::rehearsal::board::Board;
use crate::rehearsal::wiring::Sink;

/// All bits from the lowest that is set upwards: where a carry may go.
fn upwards(bits: u16) -> u16 {
    bits | bits.wrapping_neg()
}

/// An instruction about to run, and what it finds.
#[derive(Clone, Copy)]
struct Now<'a> {
    cpu: &'a Cpu,
    board: &'a Board,
    pc: u16,
    instruction: &'static Instruction,
    /// Its byte or word.
    operand: u16,
}

impl Now<'_> {
    fn pair(&self, pair: Pair) -> u16 {
        self.cpu.registers.pair(pair)
    }

    fn value(&self, from: Register) -> u8 {
        match from {
            Register::M => self.board.memory.byte(Address(self.pair(Pair::H))),
            _ => self.cpu.registers.get(from),
        }
    }

    fn byte(&self) -> u8 {
        self.operand.to_le_bytes()[0]
    }
}

impl Unset {
    /// An instruction is about to run.
    pub(in crate::rehearsal) fn observe(&mut self, cpu: &Cpu, board: &Board) {
        self.shown = (0, 0);
        let pc = cpu.registers.pc;
        let at = |on: u16| Address(pc.wrapping_add(on));
        let instruction = decode(board.memory.byte(at(0)));
        // An instruction that was stored as a value of which something is unset.
        if (0..u16::from(instruction.length)).any(|on| self.byte(board, at(on)) != 0) {
            self.misuse(Misuse::Goes, pc);
        }
        let operand = u16::from_le_bytes([board.memory.byte(at(1)), board.memory.byte(at(2))]);
        self.transfer(&Now { cpu, board, pc, instruction, operand });
    }

    /// Data transfer group.
    fn transfer(&mut self, now: &Now) {
        let word = now.operand;
        match (now.instruction.mnemonic, now.instruction.operands) {
            (Mnemonic::Mov, Operands::Registers(to, from)) => {
                let bits = self.load(now, from);
                self.store(now, to, bits);
            }
            (Mnemonic::Mvi, Operands::RegisterByte(to)) => self.store(now, to, 0),
            (Mnemonic::Lxi, Operands::PairWord(pair)) => self.set_pair(pair, 0),
            (Mnemonic::Lda, _) => self.registers[A] = self.read(now.board, word, 0),
            (Mnemonic::Sta, _) => self.write(word, self.registers[A]),
            (Mnemonic::Lhld, _) => {
                let low = self.read(now.board, word, 0);
                let high = self.read(now.board, word.wrapping_add(1), 0);
                self.set_pair(Pair::H, u16::from_be_bytes([high, low]));
            }
            (Mnemonic::Shld, _) => self.write_pair(word, self.pair(Pair::H)),
            (Mnemonic::Ldax, Operands::Pair(pair)) => {
                self.registers[A] = self.read(now.board, now.pair(pair), self.pair(pair));
            }
            (Mnemonic::Stax, Operands::Pair(pair)) => self.store_at(now, pair, self.registers[A]),
            (Mnemonic::Xchg, _) => {
                let (de, hl) = (self.pair(Pair::D), self.pair(Pair::H));
                self.set_pair(Pair::D, hl);
                self.set_pair(Pair::H, de);
            }
            _ => self.steer(now),
        }
    }

    /// What uses the stack and the ports, and what steers the program.
    fn steer(&mut self, now: &Now) {
        match (now.instruction.mnemonic, now.instruction.operands) {
            (Mnemonic::Sphl, _) => self.sp = self.pair(Pair::H),
            (Mnemonic::Pchl, _) if self.pair(Pair::H) != 0 => self.misuse(Misuse::Goes, now.pc),
            (Mnemonic::Push, Operands::Pair(pair)) => self.push(now, self.pair(pair)),
            (Mnemonic::Pop, Operands::Pair(pair)) => {
                let bits = self.pop(now);
                self.set_pair(pair, bits);
            }
            (Mnemonic::Xthl, _) => {
                let bits = self.pop(now);
                self.stores_by(now, self.sp);
                self.write_pair(now.pair(Pair::Sp), self.pair(Pair::H));
                self.set_pair(Pair::H, bits);
            }
            (Mnemonic::In, _) => self.registers[A] = 0,
            (Mnemonic::Out, _) => self.output(now),
            (Mnemonic::Rst | Mnemonic::Call, _) => self.push(now, 0),
            (Mnemonic::Ret, _) => self.back(now),
            _ => match now.instruction.opcode & 0o307 {
                // Where the condition stands in bits 5 to 3.
                0o300 | 0o302 | 0o304 => self.branch(now),
                _ => self.arithmetic(now),
            },
        }
    }

    /// The bits of a byte that is read through a pointer, of which some may be unset.
    fn read(&mut self, board: &Board, address: u16, pointer: u16) -> Bits {
        let bits = if pointer == 0 { self.byte(board, Address(address)) } else { 0o377 };
        self.shows(pointer, bits);
        bits
    }

    fn write(&mut self, address: u16, bits: Bits) {
        self.shows(0, bits);
        self.memory[usize::from(address)] = bits;
    }

    fn write_pair(&mut self, address: u16, bits: u16) {
        let [high, low] = bits.to_be_bytes();
        self.write(address, low);
        self.write(address.wrapping_add(1), high);
    }

    fn load(&mut self, now: &Now, from: Register) -> Bits {
        match from {
            Register::M => self.read(now.board, now.pair(Pair::H), self.pair(Pair::H)),
            _ => self.registers[from as usize],
        }
    }

    fn store(&mut self, now: &Now, to: Register, bits: Bits) {
        match to {
            Register::M => self.store_at(now, Pair::H, bits),
            _ => self.registers[to as usize] = bits,
        }
    }

    fn store_at(&mut self, now: &Now, pointer: Pair, bits: Bits) {
        self.stores_by(now, self.pair(pointer));
        self.write(now.pair(pointer), bits);
    }

    /// Something is stored by a pointer.
    fn stores_by(&mut self, now: &Now, pointer: u16) {
        if pointer != 0 {
            self.misuse(Misuse::Stores, now.pc);
        }
        self.shows(pointer, 0);
    }

    fn push(&mut self, now: &Now, bits: u16) {
        self.stores_by(now, self.sp);
        self.write_pair(now.pair(Pair::Sp).wrapping_sub(2), bits);
    }

    fn pop(&mut self, now: &Now) -> u16 {
        let sp = now.pair(Pair::Sp);
        let low = self.read(now.board, sp, self.sp);
        let high = self.read(now.board, sp.wrapping_add(1), self.sp);
        u16::from_be_bytes([high, low])
    }

    fn back(&mut self, now: &Now) {
        if self.pop(now) != 0 {
            self.misuse(Misuse::Goes, now.pc);
        }
    }

    /// A conditional jump, call or return.
    fn branch(&mut self, now: &Now) {
        let condition = now.instruction.opcode >> 3 & 7;
        let flag = [Flags::Z, Flags::C, Flags::P, Flags::S][usize::from(condition >> 1)];
        if self.flag(flag) {
            self.misuse(Misuse::Branches, now.pc);
        }
        let holds = now.cpu.registers.flags().contains(flag) == (condition & 1 == 1);
        match now.instruction.opcode & 7 {
            0 if holds => self.back(now),
            4 if holds => self.push(now, 0),
            _ => {}
        }
    }

    fn output(&mut self, now: &Now) {
        let bits = self.registers[A];
        self.shows(0, bits);
        match now.board.wiring.sinks[usize::from(now.byte())] {
            Sink::Recorded | Sink::Nothing if bits == 0 => drop(self.put.remove(&now.board.outputs().len())),
            Sink::Recorded | Sink::Nothing => drop(self.put.insert(now.board.outputs().len(), bits)),
            _ if bits == 0 => {}
            Sink::Data(serial) => {
                self.gave.insert(serial);
                self.misuse(Misuse::Gives, now.pc);
            }
            Sink::Control(_) | Sink::Disk(..) => self.misuse(Misuse::Gives, now.pc),
        }
    }

    /// Arithmetic group.
    fn arithmetic(&mut self, now: &Now) {
        use Mnemonic::*;
        let (mnemonic, operands) = (now.instruction.mnemonic, now.instruction.operands);
        if let Operands::Pair(pair) = operands {
            return self.count(mnemonic, pair);
        }
        let a = now.cpu.registers.get(Register::A);
        let carry = u8::from(now.cpu.registers.flags().contains(Flags::C));
        let (of, other, its) = match operands {
            Operands::Register(from) => (Some(from), now.value(from), self.load(now, from)),
            _ => (None, now.byte(), 0),
        };
        let both = self.registers[A] | its;
        let carried = both | u8::from(self.flag(Flags::C));
        match mnemonic {
            // A register less itself is nought, or the borrow, whatever it holds.
            Sub if of == Some(Register::A) => self.sum(0, 0, true),
            Cmp if of == Some(Register::A) => self.sum(0, 0, false),
            Sbb if of == Some(Register::A) => self.sum(0, u8::from(self.flag(Flags::C)), true),
            Add | Adi => self.sum(a.wrapping_add(other), both, true),
            Adc | Aci => self.sum(a.wrapping_add(other).wrapping_add(carry), carried, true),
            Sub | Sui => self.sum(a.wrapping_sub(other), both, true),
            Sbb | Sbi => self.sum(a.wrapping_sub(other).wrapping_sub(carry), carried, true),
            Cmp | Cpi => self.sum(a.wrapping_sub(other), both, false),
            Inr | Dcr => {
                let Some(register) = of else { return };
                let step = if mnemonic == Inr { 1 } else { 0o377 };
                let unset = upwards(its.into()) as u8;
                self.set_flag(Flags::A, its & 0o17 != 0);
                self.flags_of(other.wrapping_add(step), unset);
                self.store(now, register, unset);
            }
            _ => self.logical(mnemonic, (a, self.registers[A]), (other, its), of == Some(Register::A)),
        }
    }

    /// What counts in register pairs.
    fn count(&mut self, mnemonic: Mnemonic, pair: Pair) {
        match mnemonic {
            Mnemonic::Inx | Mnemonic::Dcx => self.set_pair(pair, upwards(self.pair(pair))),
            Mnemonic::Dad => {
                let bits = upwards(self.pair(pair) | self.pair(Pair::H));
                self.set_pair(Pair::H, bits);
                self.set_flag(Flags::C, bits != 0);
            }
            _ => {}
        }
    }

    /// Logical group: the accumulator and the other byte, each with its unset bits, and whether they are one.
    fn logical(&mut self, mnemonic: Mnemonic, (a, bits): (u8, Bits), (other, its): (u8, Bits), itself: bool) {
        use Mnemonic::*;
        let carry = u8::from(self.flag(Flags::C));
        match mnemonic {
            Ana | Ani => {
                self.set_flag(Flags::A, (bits | its) & 0o10 != 0);
                self.logic(a & other, (bits | its) & (a | bits) & (other | its));
            }
            Ora | Ori => {
                self.set_flag(Flags::A, false);
                self.logic(a | other, (bits | its) & !(a & !bits) & !(other & !its));
            }
            Xra | Xri => {
                self.set_flag(Flags::A, false);
                self.logic(a ^ other, if itself { 0 } else { bits | its });
            }
            Rlc => self.rotate(bits.rotate_left(1), bits & 0o200),
            Rrc => self.rotate(bits.rotate_right(1), bits & 1),
            Ral => self.rotate(bits << 1 | carry, bits & 0o200),
            Rar => self.rotate(bits >> 1 | carry << 7, bits & 1),
            Stc => self.set_flag(Flags::C, false),
            Daa if bits != 0 || carry != 0 || self.flag(Flags::A) => {
                (self.registers[A], self.registers[FLAGS]) = (0o377, Flags::ALL.0);
            }
            Daa => self.registers[FLAGS] = 0,
            _ => {}
        }
    }

    /// The flags that tell of a result, of which some bits are unset.
    fn flags_of(&mut self, result: u8, bits: Bits) {
        self.set_flag(Flags::S, bits & 0o200 != 0);
        self.set_flag(Flags::P, bits != 0);
        // One bit that is known to be a one is enough to know that it is not zero.
        self.set_flag(Flags::Z, bits != 0 && result & !bits == 0);
    }

    /// A sum or a difference whose terms have unset bits.
    fn sum(&mut self, result: u8, unset: Bits, kept: bool) {
        let reached = upwards(unset.into()) as u8;
        self.set_flag(Flags::C, unset != 0);
        self.set_flag(Flags::A, unset & 0o17 != 0);
        self.flags_of(result, reached);
        if kept {
            self.registers[A] = reached;
        }
    }

    fn logic(&mut self, result: u8, unset: Bits) {
        self.set_flag(Flags::C, false);
        self.flags_of(result, unset);
        self.registers[A] = unset;
    }

    fn rotate(&mut self, unset: Bits, carry: Bits) {
        self.registers[A] = unset;
        self.set_flag(Flags::C, carry != 0);
    }
}
