//! Short runs of instructions tried on the processor, which turn away most forms before anything is proved of them.

use super::effect::Places;
use super::facts::Known;
use super::state::FLAGS;
use crate::cpu::{Bus, Cpu};
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

/// What a run left behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Outcome {
    registers: [u8; 8],
    flags: u8,
    accesses: Vec<(bool, u16, u8)>,
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

struct Bench<'a> {
    code: &'a [u8],
    seed: u64,
    written: Vec<(u16, u8)>,
    accesses: Vec<(bool, u16, u8)>,
}

/// A number that looks random, from another: Steele, Lea and Flood, OOPSLA 2014 (SplitMix64), its constants from memory.
pub(super) fn mixed(seed: u64) -> u64 {
    let word = seed.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let word = (word ^ word >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let word = (word ^ word >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
    word ^ word >> 31
}

impl Bus for Bench<'_> {
    fn read(&mut self, address: u16) -> u8 {
        if let Some(&byte) = self.code.get(usize::from(address.wrapping_sub(PLACE))) {
            return byte;
        }
        let written = self.written.iter().rev().find(|(at, _)| *at == address);
        let byte = written.map_or_else(|| mixed(self.seed ^ u64::from(address)) as u8, |(_, byte)| *byte);
        self.accesses.push((false, address, byte));
        byte
    }

    fn write(&mut self, address: u16, byte: u8) {
        self.written.push((address, byte));
        self.accesses.push((true, address, byte));
    }

    fn input(&mut self, _: u8) -> u8 {
        0
    }

    fn output(&mut self, _: u8, _: u8) {}

    fn begin(&mut self, _: CycleKind, _: Option<u16>, _: TStates) -> TStates {
        TStates(0)
    }
}

/// Runs instructions from registers, flags and memory drawn from a seed, those that are known as they are known.
pub(super) fn run(code: &[Coded], known: &Known, seed: u64) -> Outcome {
    let mut bytes = [0u8; 16];
    let mut length = 0;
    for it in code {
        bytes[length] = it.opcode;
        bytes[length + 1..length + 3].copy_from_slice(&it.operand.to_le_bytes());
        length += usize::from(it.length);
    }
    let mut bench = Bench { code: &bytes[..length], seed, written: Vec::new(), accesses: Vec::new() };
    let mut cpu = Cpu::default();
    for (at, register) in Register::ALL.into_iter().enumerate() {
        cpu.registers.set(register, known[at].unwrap_or(mixed(seed ^ (1 << (40 + at))) as u8));
    }
    cpu.registers.set_pair(Pair::Sp, mixed(seed ^ 1 << 50) as u16);
    cpu.registers.set_flags(Flags(mixed(seed ^ 1 << 51) as u8));
    cpu.registers.pc = PLACE;
    for _ in code {
        cpu.step(&mut bench);
    }
    Outcome {
        registers: Register::ALL.map(|register| cpu.registers.get(register)),
        flags: cpu.registers.flags().0,
        accesses: bench.accesses,
    }
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
        for (access, &(writes, address, byte)) in self.accesses.iter().zip(&outcome.accesses) {
            let (high, low, stored) = match *access {
                Access::Read(high, low) => (high, low, None),
                Access::Write(high, low, byte) => (high, low, Some(byte)),
            };
            assert_eq!(stored.is_some(), writes, "{opcode:o}");
            let bytes = [high, low].map(|value| known(values, value));
            assert_eq!(bytes, address.to_be_bytes().map(Some), "{opcode:o}");
            if let Some(known) = stored.and_then(|value| known(values, value)) {
                assert_eq!(known, byte, "{opcode:o}");
            }
        }
    }
}
