//! What each instruction does, in the groups of the manual's chapter 4. The groups are tried in turn, which the
//! compiler folds into one jump.

use super::step::Step;
use super::{Bus, Cpu};
use crate::isa::{Mnemonic, Pair, Register, TStates};

impl Cpu {
    /// Completes the instruction whose first byte has just been fetched.
    #[inline]
    pub(super) fn execute<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        self.transfer(bus, step);
        self.clock += TStates(u64::from(step.tail));
    }

    /// Data transfer group.
    #[inline(always)]
    fn transfer<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        match step.mnemonic {
            Mnemonic::Mov => {
                let byte = self.load(bus, step.from);
                self.store(bus, step.to, byte);
            }
            Mnemonic::Mvi => {
                let byte = self.operand(bus);
                self.store(bus, step.to, byte);
            }
            Mnemonic::Lxi => {
                let word = self.operand_word(bus);
                self.registers.set_pair(step.pair, word);
            }
            Mnemonic::Lda => {
                let address = self.operand_word(bus);
                self.load_a(bus, address);
            }
            Mnemonic::Sta => {
                let address = self.operand_word(bus);
                self.store_a(bus, address);
            }
            Mnemonic::Lhld => {
                let address = self.operand_word(bus);
                let low = self.read(bus, address);
                let high = self.read(bus, address.wrapping_add(1));
                self.registers.set_pair(Pair::H, u16::from_le_bytes([low, high]));
            }
            Mnemonic::Shld => {
                let address = self.operand_word(bus);
                let [low, high] = self.registers.pair(Pair::H).to_le_bytes();
                self.write(bus, address, low);
                self.write(bus, address.wrapping_add(1), high);
            }
            Mnemonic::Ldax => self.load_a(bus, self.registers.pair(step.pair)),
            Mnemonic::Stax => self.store_a(bus, self.registers.pair(step.pair)),
            Mnemonic::Xchg => {
                let (de, hl) = (self.registers.pair(Pair::D), self.registers.pair(Pair::H));
                self.registers.set_pair(Pair::D, hl);
                self.registers.set_pair(Pair::H, de);
            }
            _ => self.arithmetic(bus, step),
        }
    }

    /// Arithmetic group.
    #[inline(always)]
    fn arithmetic<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        match step.mnemonic {
            Mnemonic::Add | Mnemonic::Adi => {
                let byte = self.second(bus, step);
                self.registers.add(byte, 0);
            }
            Mnemonic::Adc | Mnemonic::Aci => {
                let byte = self.second(bus, step);
                self.registers.add(byte, self.registers.carry());
            }
            Mnemonic::Sub | Mnemonic::Sui => {
                let byte = self.second(bus, step);
                self.registers.subtract(byte, 0);
            }
            Mnemonic::Sbb | Mnemonic::Sbi => {
                let byte = self.second(bus, step);
                self.registers.subtract(byte, self.registers.carry());
            }
            Mnemonic::Inr => {
                let byte = self.load(bus, step.from);
                let byte = self.registers.increment(byte);
                self.store(bus, step.to, byte);
            }
            Mnemonic::Dcr => {
                let byte = self.load(bus, step.from);
                let byte = self.registers.decrement(byte);
                self.store(bus, step.to, byte);
            }
            Mnemonic::Inx => self.registers.set_pair(step.pair, self.registers.pair(step.pair).wrapping_add(1)),
            Mnemonic::Dcx => self.registers.set_pair(step.pair, self.registers.pair(step.pair).wrapping_sub(1)),
            Mnemonic::Dad => {
                self.internal(bus);
                self.internal(bus);
                self.registers.add_to_hl(self.registers.pair(step.pair));
            }
            Mnemonic::Daa => self.registers.adjust_decimal(),
            _ => self.logical(bus, step),
        }
    }

    /// Logical group.
    #[inline(always)]
    fn logical<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        let registers = &mut self.registers;
        match step.mnemonic {
            Mnemonic::Ana | Mnemonic::Ani => {
                let byte = self.second(bus, step);
                self.registers.and(byte);
            }
            Mnemonic::Xra | Mnemonic::Xri => {
                let byte = self.second(bus, step);
                self.registers.exclusive_or(byte);
            }
            Mnemonic::Ora | Mnemonic::Ori => {
                let byte = self.second(bus, step);
                self.registers.or(byte);
            }
            Mnemonic::Cmp | Mnemonic::Cpi => {
                let byte = self.second(bus, step);
                self.registers.compare(byte);
            }
            Mnemonic::Rlc => registers.rotate_left(registers.get(Register::A) >> 7),
            Mnemonic::Rrc => registers.rotate_right(registers.get(Register::A) & 1),
            Mnemonic::Ral => registers.rotate_left(registers.carry()),
            Mnemonic::Rar => registers.rotate_right(registers.carry()),
            Mnemonic::Cma => registers.set(Register::A, !registers.get(Register::A)),
            Mnemonic::Cmc => registers.set_carry(registers.carry() ^ 1),
            Mnemonic::Stc => registers.set_carry(1),
            _ => self.branch(bus, step),
        }
    }
}
