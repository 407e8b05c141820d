//! Short runs of instructions tried on the processor, which turn away most forms before anything is proved of them.

use super::effect::Places;
use super::state::{FLAGS, Known};
use crate::cpu::{Bus, Cpu, Registers};
use crate::isa::{CycleKind, Flags, Pair, Register, TStates};

/// An instruction with the bytes behind its opcode.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Coded {
    pub opcode: u8,
    pub operand: u16,
    pub length: u8,
}

/// Where the instructions are put. Data that happen to lie there make a trial fail, never pass.
const PLACE: u16 = 0xA53C;

/// The way of a byte over the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Way {
    Read,
    Write,
    Input,
    Output,
}

/// What a run left behind.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(super) struct Outcome {
    registers: [u8; 8],
    flags: u8,
    accesses: Vec<(Way, u16, u8)>,
}

impl Outcome {
    /// Whether nothing that reads only these places could tell two outcomes apart.
    pub fn is_like(&self, other: &Outcome, live: Places) -> bool {
        let flags = FLAGS.iter().enumerate().filter(|(at, _)| live >> (8 + at) & 1 == 1);
        let flags = flags.fold(0, |all, (_, flag)| all | flag.0);
        (self.flags ^ other.flags) & flags == 0
            && (0..8).filter(|code| live >> code & 1 == 1).all(|code| self.registers[code] == other.registers[code])
            && self.accesses == other.accesses
    }
}

/// Memory and what was done to it.
#[derive(Clone)]
struct Bench {
    /// The instruction that runs, and its length.
    code: [u8; 3],
    length: u8,
    seed: u64,
    accesses: Vec<(Way, u16, u8)>,
}

/// A number that looks random, from another: Steele, Lea and Flood, OOPSLA 2014 (SplitMix64), its constants from memory.
pub(super) fn mixed(seed: u64) -> u64 {
    let word = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let word = (word ^ word >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let word = (word ^ word >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
    word ^ word >> 31
}

impl Bus for Bench {
    fn read(&mut self, address: u16) -> u8 {
        let own = address.wrapping_sub(PLACE);
        if own < self.length.into() {
            return self.code[usize::from(own)];
        }
        let written = self.accesses.iter().rev().find(|(way, at, _)| *way == Way::Write && *at == address);
        let byte = written.map_or_else(|| mixed(self.seed ^ u64::from(address)) as u8, |(.., byte)| *byte);
        self.accesses.push((Way::Read, address, byte));
        byte
    }

    fn write(&mut self, address: u16, byte: u8) {
        self.accesses.push((Way::Write, address, byte));
    }

    fn input(&mut self, port: u8) -> u8 {
        let byte = mixed(self.seed ^ u64::from(port) << 20 ^ self.accesses.len() as u64) as u8;
        self.accesses.push((Way::Input, port.into(), byte));
        byte
    }

    fn output(&mut self, port: u8, byte: u8) {
        self.accesses.push((Way::Output, port.into(), byte));
    }

    fn begin(&mut self, _: CycleKind, _: Option<u16>, _: TStates) -> TStates {
        TStates(0)
    }
}

/// A run under way, instruction by instruction.
#[derive(Clone)]
pub(super) struct Trial {
    registers: Registers,
    bench: Bench,
}

impl Trial {
    /// Begins with registers, flags and memory drawn from a seed, those that are known as they are known.
    pub fn new(known: &Known, seed: u64) -> Trial {
        let mut registers = Registers::default();
        for (at, register) in Register::ALL.into_iter().enumerate() {
            registers.set(register, known[at].unwrap_or(mixed(seed ^ (1 << (40 + at))) as u8));
        }
        registers.set_pair(Pair::Sp, mixed(seed ^ 1 << 50) as u16);
        registers.set_flags(Flags(mixed(seed ^ 1 << 51) as u8));
        Trial { registers, bench: Bench { code: [0; 3], length: 0, seed, accesses: Vec::new() } }
    }

    /// Runs an instruction.
    pub fn step(&mut self, it: Coded) {
        let [low, high] = it.operand.to_le_bytes();
        (self.bench.code, self.bench.length) = ([it.opcode, low, high], it.length);
        let mut cpu = Cpu::default();
        cpu.registers.clone_from(&self.registers);
        cpu.registers.pc = PLACE;
        cpu.step(&mut self.bench);
        self.registers = cpu.registers;
    }

    /// What it has left behind so far.
    pub fn outcome(&self) -> Outcome {
        Outcome {
            registers: Register::ALL.map(|register| self.registers.get(register)),
            flags: self.registers.flags().0,
            accesses: self.bench.accesses.clone(),
        }
    }
}

/// Runs instructions to their end.
pub(super) fn run(code: &[Coded], known: &Known, seed: u64) -> Outcome {
    let mut trial = Trial::new(known, seed);
    code.iter().for_each(|&it| trial.step(it));
    trial.outcome()
}

#[cfg(test)]
impl super::state::State {
    /// Whether a state of numbers is the outcome of a run. What was read from memory, and what follows from it, is no
    /// number; the addresses are.
    pub fn assert_like(&self, values: &mut super::value::Values, outcome: &Outcome, opcode: u8) {
        use super::state::Access;
        let known = |values: &super::value::Values, value| values.known_byte(value);
        for (code, &value) in self.registers.iter().enumerate().filter(|(code, _)| *code != 6) {
            if let Some(byte) = known(values, value) {
                assert_eq!(byte, outcome.registers[code], "{opcode:o}: register {code}");
            }
        }
        for (at, flag) in FLAGS.into_iter().enumerate() {
            let is = outcome.flags & flag.0 != 0;
            let (set, clear) = (values.bit(true), values.bit(false));
            assert!(self.flags[at] != if is { clear } else { set }, "{opcode:o}: flag {at}");
        }
        assert_eq!(self.accesses.len(), outcome.accesses.len(), "{opcode:o}");
        for (access, &(way, address, byte)) in self.accesses.iter().zip(&outcome.accesses) {
            let (high, low, stored) = match *access {
                Access::Read(high, low) => (high, low, None),
                Access::Write(high, low, byte) => (high, low, Some(byte)),
                Access::Input(_) | Access::Output(..) => panic!("{opcode:o} works a port"),
            };
            assert_eq!(stored.is_some(), way == Way::Write, "{opcode:o}");
            let bytes = [high, low].map(|value| known(values, value));
            assert_eq!(bytes, address.to_be_bytes().map(Some), "{opcode:o}");
            if let Some(known) = stored.and_then(|value| known(values, value)) {
                assert_eq!(known, byte, "{opcode:o}");
            }
        }
    }
}
