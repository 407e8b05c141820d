//! What straight instructions do to a state of [`Values`].

use super::value::{Value, Values};
use crate::isa::{Flags, Instruction, Mnemonic, Operands, Pair, Register};

/// The flags in the order in which a state has them.
pub(super) const FLAGS: [Flags; 5] = [Flags::S, Flags::Z, Flags::A, Flags::P, Flags::C];

/// Where each flag stands in a state.
const S: usize = 0;
const Z: usize = 1;
const AC: usize = 2;
const P: usize = 3;
const CY: usize = 4;

/// Registers whose byte is known, by code.
pub(super) type Known = [Option<u8>; 8];

/// An access to memory. That of two forms must be the same, one by one: what looks like memory may be a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Access {
    /// A byte is read from an address, high byte first.
    Read(Value, Value),
    /// A byte is written to an address.
    Write(Value, Value, Value),
    /// A byte is read from a port.
    Input(Value),
    /// A byte is written to a port.
    Output(Value, Value),
}

/// The bytes of an operand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Operand {
    pub high: Value,
    pub low: Value,
}

/// What registers and flags hold, and what was done to memory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct State {
    /// By register code; the place of `M` is of no meaning.
    pub registers: [Value; 8],
    /// In the order of [`FLAGS`].
    pub flags: [Value; 5],
    /// In order.
    pub accesses: Vec<Access>,
    /// What reads give, one by one, where that is known.
    pub given: Vec<Option<u8>>,
    reads: u32,
}

impl State {
    /// A state of which nothing is known but some registers, by code.
    pub fn start(values: &mut Values, known: &[Option<u8>; 8]) -> State {
        let place = |values: &mut Values, place: u8| values.start(place);
        let registers = std::array::from_fn(|code| match known[code] {
            Some(byte) => values.byte(byte),
            None => place(values, code as u8),
        });
        let flags = std::array::from_fn(|flag| place(values, 8 + flag as u8));
        State { registers, flags, accesses: Vec::new(), given: Vec::new(), reads: 0 }
    }

    fn get(&self, register: Register) -> Value {
        self.registers[register as usize]
    }

    fn pair(&self, pair: Pair) -> Option<(Value, Value)> {
        let at = usize::from(pair.code()) * 2;
        matches!(pair, Pair::B | Pair::D | Pair::H).then(|| (self.registers[at], self.registers[at + 1]))
    }

    fn set_pair(&mut self, pair: Pair, (high, low): (Value, Value)) {
        let at = usize::from(pair.code()) * 2;
        (self.registers[at], self.registers[at + 1]) = (high, low);
    }

    fn load(&mut self, values: &mut Values, (high, low): (Value, Value)) -> Value {
        self.accesses.push(Access::Read(high, low));
        self.reads += 1;
        match self.given.get(self.reads as usize - 1).copied().flatten() {
            Some(byte) => values.byte(byte),
            None => values.loaded(self.reads),
        }
    }

    fn store(&mut self, (high, low): (Value, Value), byte: Value) {
        self.accesses.push(Access::Write(high, low, byte));
    }

    /// What stands in a register or, for `M`, in memory.
    fn read(&mut self, values: &mut Values, register: Register) -> Value {
        if register != Register::M {
            return self.get(register);
        }
        self.load(values, (self.get(Register::H), self.get(Register::L)))
    }

    fn write(&mut self, register: Register, byte: Value) {
        if register == Register::M {
            self.store((self.get(Register::H), self.get(Register::L)), byte);
        } else {
            self.registers[register as usize] = byte;
        }
    }

    fn result(&mut self, values: &mut Values, byte: Value) {
        self.flags[S] = values.bit_of(byte, 7);
        self.flags[Z] = values.zero(byte);
        self.flags[P] = values.even(byte);
    }

    /// Does an instruction; `None` if it is none that runs straight on and touches neither stack nor ports.
    pub fn run(&mut self, values: &mut Values, instruction: &Instruction, operand: Option<Operand>) -> Option<()> {
        use Mnemonic as M;
        let none = values.bit(false);
        match (instruction.mnemonic, instruction.operands) {
            (M::Mov, Operands::Registers(to, from)) => {
                let byte = self.read(values, from);
                self.write(to, byte);
            }
            (M::Mvi, Operands::RegisterByte(to)) => self.write(to, operand?.low),
            (M::Lxi, Operands::PairWord(pair)) => {
                self.pair(pair)?;
                let operand = operand?;
                self.set_pair(pair, (operand.high, operand.low));
            }
            (M::Xchg, _) => {
                let (de, hl) = (self.pair(Pair::D)?, self.pair(Pair::H)?);
                self.set_pair(Pair::D, hl);
                self.set_pair(Pair::H, de);
            }
            (M::Lda | M::Sta | M::Lhld | M::Shld, _) => self.direct(values, instruction.mnemonic, operand?),
            (M::Ldax, Operands::Pair(pair)) => {
                let address = self.pair(pair)?;
                self.registers[Register::A as usize] = self.load(values, address);
            }
            (M::Stax, Operands::Pair(pair)) => self.store(self.pair(pair)?, self.get(Register::A)),
            (M::Inr | M::Dcr, Operands::Register(register)) => {
                let by = values.byte(if instruction.mnemonic == M::Inr { 1 } else { 0xFF });
                let byte = self.read(values, register);
                let [byte, _, half] = values.add(byte, by, none);
                self.write(register, byte);
                self.result(values, byte);
                self.flags[AC] = half;
            }
            (M::Inx | M::Dcx, Operands::Pair(pair)) => {
                let by = values.byte(if instruction.mnemonic == M::Inx { 0 } else { 0xFF });
                let low_by = values.byte(if instruction.mnemonic == M::Inx { 1 } else { 0xFF });
                let (sum, _) = values.add_pairs(self.pair(pair)?, (by, low_by));
                self.set_pair(pair, sum);
            }
            (M::Dad, Operands::Pair(pair)) => {
                let (sum, carry) = values.add_pairs(self.pair(Pair::H)?, self.pair(pair)?);
                self.set_pair(Pair::H, sum);
                self.flags[CY] = carry;
            }
            (M::Stc, _) => self.flags[CY] = values.bit(true),
            (M::Cmc, _) => self.flags[CY] = values.unless(self.flags[CY]),
            (M::Cma, _) => self.registers[Register::A as usize] = values.not(self.get(Register::A)),
            (M::Rlc | M::Rrc | M::Ral | M::Rar | M::Daa, _) => self.turn(values, instruction.mnemonic),
            (mnemonic, Operands::Register(register)) => {
                let byte = self.read(values, register);
                self.arithmetic(values, mnemonic, byte)?;
            }
            (mnemonic, Operands::Byte) => self.arithmetic(values, mnemonic, operand?.low)?,
            _ => return None,
        }
        Some(())
    }

    /// Does an instruction as [`State::run`] does, or one that works a port.
    pub fn run_with_ports(
        &mut self,
        values: &mut Values,
        instruction: &Instruction,
        operand: Option<Operand>,
    ) -> Option<()> {
        match instruction.mnemonic {
            Mnemonic::In => {
                self.accesses.push(Access::Input(operand?.low));
                self.reads += 1;
                self.registers[Register::A as usize] = values.loaded(self.reads);
            }
            Mnemonic::Out => self.accesses.push(Access::Output(operand?.low, self.get(Register::A))),
            _ => self.run(values, instruction, operand)?,
        }
        Some(())
    }

    fn direct(&mut self, values: &mut Values, mnemonic: Mnemonic, Operand { high, low }: Operand) {
        let one = (values.byte(0), values.byte(1));
        let here = (high, low);
        let (next, _) = values.add_pairs(here, one);
        match mnemonic {
            Mnemonic::Lda => self.registers[Register::A as usize] = self.load(values, here),
            Mnemonic::Sta => self.store(here, self.get(Register::A)),
            Mnemonic::Lhld => {
                self.registers[Register::L as usize] = self.load(values, here);
                self.registers[Register::H as usize] = self.load(values, next);
            }
            _ => {
                self.store(here, self.get(Register::L));
                self.store(next, self.get(Register::H));
            }
        }
    }

    fn turn(&mut self, values: &mut Values, mnemonic: Mnemonic) {
        let (byte, carry) = (self.get(Register::A), self.flags[CY]);
        let (top, bottom) = (values.bit_of(byte, 7), values.bit_of(byte, 0));
        let (byte, carry) = match mnemonic {
            Mnemonic::Rlc => (values.left(byte, top), top),
            Mnemonic::Rrc => (values.right(byte, bottom), bottom),
            Mnemonic::Ral => (values.left(byte, carry), top),
            Mnemonic::Rar => (values.right(byte, carry), bottom),
            _ => {
                let [byte, carry, half] = values.decimal(byte, carry, self.flags[AC]);
                self.result(values, byte);
                self.flags[AC] = half;
                (byte, carry)
            }
        };
        self.registers[Register::A as usize] = byte;
        self.flags[CY] = carry;
    }

    /// One of the eight operations on the accumulator, with a register, with memory or with a byte.
    fn arithmetic(&mut self, values: &mut Values, mnemonic: Mnemonic, byte: Value) -> Option<()> {
        use Mnemonic as M;
        let (a, carry, none) = (self.get(Register::A), self.flags[CY], values.bit(false));
        let (result, carry, half) = match mnemonic {
            M::Add | M::Adi | M::Adc | M::Aci => {
                let carry = if matches!(mnemonic, M::Adc | M::Aci) { carry } else { none };
                let [sum, carry, half] = values.add(a, byte, carry);
                (sum, carry, half)
            }
            M::Sub | M::Sui | M::Sbb | M::Sbi | M::Cmp | M::Cpi => {
                let borrow = if matches!(mnemonic, M::Sbb | M::Sbi) { carry } else { none };
                let (byte, no_borrow) = (values.not(byte), values.unless(borrow));
                let [difference, carry, half] = values.add(a, byte, no_borrow);
                (difference, values.unless(carry), half)
            }
            M::Ana | M::Ani => {
                let either = values.or(a, byte);
                (values.and(a, byte), none, values.bit_of(either, 3))
            }
            M::Xra | M::Xri => (values.xor(a, byte), none, none),
            M::Ora | M::Ori => (values.or(a, byte), none, none),
            _ => return None,
        };
        self.result(values, result);
        (self.flags[AC], self.flags[CY]) = (half, carry);
        if !matches!(mnemonic, M::Cmp | M::Cpi) {
            self.registers[Register::A as usize] = result;
        }
        Some(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::trial::{Coded, mixed, run};
    use super::*;
    use crate::isa::decode;

    /// With every register and flag known, the expressions are numbers: they must be those of the processor, for every
    /// opcode that has expressions, over thousands of states.
    #[test]
    fn expressions_say_what_the_processor_does() {
        let mut straight = 0;
        for opcode in 0..=0xFF {
            let instruction = decode(opcode);
            let mut counted = false;
            for seed in 0..2000 {
                let mut values = Values::default();
                let known: [Option<u8>; 8] = std::array::from_fn(|code| Some(mixed(seed << 8 | code as u64) as u8));
                let mut state = State::start(&mut values, &known);
                let drawn = mixed(seed ^ 1 << 51) as u8;
                for (flag, bit) in FLAGS.into_iter().enumerate() {
                    state.flags[flag] = values.bit(drawn & bit.0 != 0);
                }
                let operand = mixed(seed ^ 1 << 60) as u16;
                let [high, low] = operand.to_be_bytes();
                let given = Operand { high: values.byte(high), low: values.byte(low) };
                if state.run(&mut values, instruction, Some(given)).is_none() {
                    break;
                }
                counted = true;
                let code = [Coded { opcode, operand, length: instruction.length }];
                state.assert_like(&mut values, &run(&code, &known, seed), opcode);
            }
            straight += usize::from(counted);
        }
        assert!(straight > 180, "{straight}");
    }
}
