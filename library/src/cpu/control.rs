//! What the instructions do that steer the program, use the stack or reach the ports, and how operands are reached.

use super::step::Step;
use super::{Bus, Cpu, Interrupts};
use crate::isa::{Flags, Mnemonic, Pair, Register};

impl Cpu {
    /// Branch group.
    #[inline(always)]
    pub(super) fn branch<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        use Mnemonic::*;
        match step.mnemonic {
            Jmp => self.registers.pc = self.operand_word(bus),
            Jnz | Jz | Jnc | Jc | Jpo | Jpe | Jp | Jm => {
                let address = self.operand_word(bus);
                if self.holds(step) {
                    self.registers.pc = address;
                }
            }
            Call => {
                let address = self.operand_word(bus);
                self.call(bus, address);
            }
            Cnz | Cz | Cnc | Cc | Cpo | Cpe | Cp | Cm => {
                let address = self.operand_word(bus);
                if self.holds(step) {
                    self.call(bus, address);
                }
            }
            Ret => self.registers.pc = self.pop(bus),
            Rnz | Rz | Rnc | Rc | Rpo | Rpe | Rp | Rm => {
                if self.holds(step) {
                    self.registers.pc = self.pop(bus);
                }
            }
            // The vector stands in the opcode where it is already multiplied by eight.
            Rst => self.call(bus, u16::from(step.opcode & 0o070)),
            Pchl => self.registers.pc = self.registers.pair(Pair::H),
            _ => self.stack_io_control(bus, step),
        }
    }

    /// Stack, input/output and machine control group.
    #[inline(always)]
    fn stack_io_control<B: Bus>(&mut self, bus: &mut B, step: &Step) {
        match step.mnemonic {
            Mnemonic::Push => self.push(bus, self.registers.pair(step.pair)),
            Mnemonic::Pop => {
                let word = self.pop(bus);
                self.registers.set_pair(step.pair, word);
            }
            Mnemonic::Xthl => self.exchange_stack(bus),
            Mnemonic::Sphl => self.registers.sp = self.registers.pair(Pair::H),
            Mnemonic::In => {
                let port = self.operand(bus);
                let byte = self.input(bus, port);
                self.registers.set(Register::A, byte);
            }
            Mnemonic::Out => {
                let port = self.operand(bus);
                self.output(bus, port, self.registers.get(Register::A));
            }
            Mnemonic::Ei if self.interrupts == Interrupts::Disabled => self.interrupts = Interrupts::Enabling,
            Mnemonic::Di => self.interrupts = Interrupts::Disabled,
            Mnemonic::Hlt => {
                self.halt(bus);
                self.halted = true;
            }
            // `NOP`, and `EI` where it changes nothing; every other mnemonic has been dealt with.
            _ => {}
        }
    }

    #[inline]
    fn call<B: Bus>(&mut self, bus: &mut B, address: u16) {
        self.push(bus, self.registers.pc);
        self.registers.pc = address;
    }

    /// Whether the condition of a conditional instruction is met. Bits 5 and 4 of the opcode choose the flag, bit 3
    /// tells whether it is to be set.
    #[inline]
    fn holds(&self, step: &Step) -> bool {
        let flag = [Flags::Z, Flags::C, Flags::P, Flags::S][usize::from(step.opcode >> 4 & 3)];
        self.registers.flags().contains(flag) == (step.opcode & 0o010 != 0)
    }

    /// The second operand of an arithmetic or logical instruction: a register, or the byte after the opcode.
    #[inline]
    pub(super) fn second<B: Bus>(&mut self, bus: &mut B, step: &Step) -> u8 {
        match step.opcode < 0o300 {
            true => self.load(bus, step.from),
            false => self.operand(bus),
        }
    }

    /// The value of a register operand, which may be the byte in memory at H and L.
    #[inline]
    pub(super) fn load<B: Bus>(&mut self, bus: &mut B, register: Register) -> u8 {
        match register {
            Register::M => self.read(bus, self.registers.pair(Pair::H)),
            register => self.registers.get(register),
        }
    }

    /// Sets a register operand, which may be the byte in memory at H and L.
    #[inline]
    pub(super) fn store<B: Bus>(&mut self, bus: &mut B, register: Register, byte: u8) {
        match register {
            Register::M => self.write(bus, self.registers.pair(Pair::H), byte),
            register => self.registers.set(register, byte),
        }
    }

    /// Loads the accumulator from memory.
    #[inline]
    pub(super) fn load_a<B: Bus>(&mut self, bus: &mut B, address: u16) {
        let byte = self.read(bus, address);
        self.registers.set(Register::A, byte);
    }

    /// Stores the accumulator in memory.
    #[inline]
    pub(super) fn store_a<B: Bus>(&mut self, bus: &mut B, address: u16) {
        self.write(bus, address, self.registers.get(Register::A));
    }
}
