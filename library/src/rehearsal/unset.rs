//! What nobody set: which bits of registers, flags and memory still hang on what they held at power-on, followed from
//! instruction to instruction.
//!
//! A bit counts as set if no noise can change it as far as one instruction shows: `ANI 0` sets all bits, `XRA A` too. What two
//! bits have in common is not followed, so a bit may count as unset that is always the same; never the other way round.

use std::collections::{BTreeMap, BTreeSet};

use super::board::Board;
use super::wiring::Sink;
use crate::cpu::Cpu;
use crate::image::MEMORY;
use crate::isa::{Flags, Mnemonic, Operands, Pair, Register, decode};
use crate::notation::Address;

/// Something that a program does with bits that nobody set.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Misuse {
    /// Which way it goes hangs on them.
    Branches,
    /// It goes to an address that has such bits, or runs an instruction that has.
    Goes,
    /// It stores at an address that has such bits.
    Stores,
    /// It gives a byte that has such bits to a line, a chip or a controller.
    Gives,
}

/// Bits of a byte that nobody set.
type Bits = u8;

/// The bits that nobody set, and what was done with them.
#[derive(Clone)]
pub(super) struct Unset {
    /// By register code; the place of `M` has the flags, as in PSW.
    registers: [Bits; 8],
    sp: u16,
    /// Of bytes that were stored.
    memory: Box<[Bits; MEMORY]>,
    misused: BTreeSet<(Misuse, Address)>,
    /// Outputs by their number, with the bits of each that nobody set.
    put: BTreeMap<usize, Bits>,
    /// The serial chips that were given such bytes to send.
    gave: BTreeSet<usize>,
    /// What the last instruction had on the address and on the data lights, but for its own bytes.
    shown: (u16, Bits),
}

impl std::fmt::Debug for Unset {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Unset")
            .field("registers", &self.registers)
            .field("misused", &self.misused)
            .finish_non_exhaustive()
    }
}

const FLAGS: usize = Register::M as usize;
const A: usize = Register::A as usize;

/// All bits from the lowest that is set upwards: where a carry may go.
fn upwards(bits: u16) -> u16 {
    bits | bits.wrapping_neg()
}

impl Unset {
    /// At power-on nothing is set.
    pub(super) fn new() -> Unset {
        Unset {
            registers: [0o377; 8],
            sp: u16::MAX,
            memory: Box::new([0; MEMORY]),
            misused: BTreeSet::new(),
            put: BTreeMap::new(),
            gave: BTreeSet::new(),
            shown: (0, 0),
        }
    }

    /// After instructions that were not followed no register counts as set.
    pub(super) fn lost(self) -> Unset {
        Unset { registers: [0o377; 8], sp: u16::MAX, ..self }
    }

    /// Takes what was found so far: what was done, and by which instruction.
    pub(super) fn take_misused(&mut self) -> Vec<(Misuse, Address)> {
        std::mem::take(&mut self.misused).into_iter().collect()
    }

    /// The bits of an output that nobody set, by its number.
    pub(super) fn put(&self, output: usize) -> Bits {
        self.put.get(&output).copied().unwrap_or(0)
    }

    /// Whether a serial chip was given bytes to send that have bits which nobody set.
    pub(super) fn gave(&self, serial: usize) -> bool {
        self.gave.contains(&serial)
    }

    /// The bits on the address and on the data lights, during the last instruction, that nobody set.
    pub(super) fn shown(&self) -> (u16, Bits) {
        self.shown
    }

    fn pair(&self, pair: Pair) -> u16 {
        match pair {
            Pair::Sp => self.sp,
            Pair::Psw => u16::from_be_bytes([self.registers[A], self.registers[FLAGS]]),
            _ => {
                let at = usize::from(pair.code()) * 2;
                u16::from_be_bytes([self.registers[at], self.registers[at + 1]])
            }
        }
    }

    fn set_pair(&mut self, pair: Pair, bits: u16) {
        let [high, low] = bits.to_be_bytes();
        match pair {
            Pair::Sp => self.sp = bits,
            Pair::Psw => (self.registers[A], self.registers[FLAGS]) = (high, low & Flags::ALL.0),
            _ => {
                let at = usize::from(pair.code()) * 2;
                (self.registers[at], self.registers[at + 1]) = (high, low);
            }
        }
    }

    fn byte(&self, board: &Board, address: Address) -> Bits {
        match board.memory.is_ram(address) && !board.memory.is_known(address) {
            true => 0o377,
            false => self.memory[address.index()],
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

    fn shows(&mut self, address: u16, data: Bits) {
        self.shown = (self.shown.0 | address, self.shown.1 | data);
    }

    fn misuse(&mut self, what: Misuse, pc: u16) {
        self.misused.insert((what, Address(pc)));
    }

    fn flag(&self, flag: Flags) -> bool {
        self.registers[FLAGS] & flag.0 != 0
    }

    fn set_flag(&mut self, flag: Flags, unset: bool) {
        let flags = &mut self.registers[FLAGS];
        *flags = if unset { *flags | flag.0 } else { *flags & !flag.0 };
    }

    /// The flags that tell of a result, of which some bits are unset.
    fn flags_of(&mut self, result: u8, bits: Bits) {
        self.set_flag(Flags::S, bits & 0o200 != 0);
        self.set_flag(Flags::P, bits != 0);
        // One bit that is known to be a one is enough to know that it is not zero.
        self.set_flag(Flags::Z, bits != 0 && result & !bits == 0);
    }

    /// An instruction is about to run.
    pub(super) fn observe(&mut self, cpu: &Cpu, board: &Board) {
        self.shown = (0, 0);
        let pc = cpu.registers.pc;
        let opcode = board.memory.byte(Address(pc));
        let instruction = decode(opcode);
        // An instruction that was stored as a value of which something is unset.
        if (0..u16::from(instruction.length)).any(|at| self.byte(board, Address(pc.wrapping_add(at))) != 0) {
            self.misuse(Misuse::Goes, pc);
        }
        let operand = |at: u16| board.memory.byte(Address(pc.wrapping_add(at)));
        let word = u16::from_le_bytes([operand(1), operand(2)]);
        match (instruction.mnemonic, instruction.operands) {
            (Mnemonic::Mov, Operands::Registers(to, from)) => {
                let bits = self.load(cpu, board, from);
                self.store(to, bits, cpu);
            }
            (Mnemonic::Mvi, Operands::RegisterByte(to)) => self.store(to, 0, cpu),
            (Mnemonic::Lxi, Operands::PairWord(pair)) => self.set_pair(pair, 0),
            (Mnemonic::Lda, _) => self.registers[A] = self.read(board, word, 0),
            (Mnemonic::Sta, _) => self.write(word, self.registers[A]),
            (Mnemonic::Lhld, _) => {
                let low = self.read(board, word, 0);
                let high = self.read(board, word.wrapping_add(1), 0);
                self.set_pair(Pair::H, u16::from_be_bytes([high, low]));
            }
            (Mnemonic::Shld, _) => {
                let [high, low] = self.pair(Pair::H).to_be_bytes();
                self.write(word, low);
                self.write(word.wrapping_add(1), high);
            }
            (Mnemonic::Ldax, Operands::Pair(pair)) => {
                self.registers[A] = self.read(board, cpu.registers.pair(pair), self.pair(pair));
            }
            (Mnemonic::Stax, Operands::Pair(pair)) => {
                self.store_at(cpu.registers.pair(pair), self.pair(pair), self.registers[A], pc);
            }
            (Mnemonic::Xchg, _) => {
                let (de, hl) = (self.pair(Pair::D), self.pair(Pair::H));
                self.set_pair(Pair::D, hl);
                self.set_pair(Pair::H, de);
            }
            (Mnemonic::Inx | Mnemonic::Dcx, Operands::Pair(pair)) => self.set_pair(pair, upwards(self.pair(pair))),
            (Mnemonic::Dad, Operands::Pair(pair)) => {
                let bits = upwards(self.pair(pair) | self.pair(Pair::H));
                self.set_pair(Pair::H, bits);
                self.set_flag(Flags::C, bits != 0);
            }
            (Mnemonic::Sphl, _) => self.sp = self.pair(Pair::H),
            (Mnemonic::Pchl, _) if self.pair(Pair::H) != 0 => self.misuse(Misuse::Goes, pc),
            (Mnemonic::Push, Operands::Pair(pair)) => self.push(cpu, self.pair(pair)),
            (Mnemonic::Pop, Operands::Pair(pair)) => {
                let bits = self.pop(cpu, board);
                self.set_pair(pair, bits);
            }
            (Mnemonic::Xthl, _) => {
                let bits = self.pop(cpu, board);
                let sp = cpu.registers.sp;
                if self.sp != 0 {
                    self.misuse(Misuse::Stores, pc);
                }
                let [high, low] = self.pair(Pair::H).to_be_bytes();
                self.write(sp, low);
                self.write(sp.wrapping_add(1), high);
                self.set_pair(Pair::H, bits);
            }
            (Mnemonic::In, _) => self.registers[A] = 0,
            (Mnemonic::Out, _) => self.output(board, operand(1), pc),
            (Mnemonic::Rst | Mnemonic::Call, _) => self.push(cpu, 0),
            (Mnemonic::Ret, _) => self.back(cpu, board),
            _ => match opcode & 0o307 {
                // Where the condition stands in bits 5 to 3.
                0o300 | 0o302 | 0o304 => self.branch(cpu, board, opcode),
                _ => self.compute(cpu, board, opcode, operand(1)),
            },
        }
    }

    fn load(&mut self, cpu: &Cpu, board: &Board, from: Register) -> Bits {
        match from {
            Register::M => self.read(board, cpu.registers.pair(Pair::H), self.pair(Pair::H)),
            _ => self.registers[from as usize],
        }
    }

    fn store(&mut self, to: Register, bits: Bits, cpu: &Cpu) {
        match to {
            Register::M => self.store_at(cpu.registers.pair(Pair::H), self.pair(Pair::H), bits, cpu.registers.pc),
            _ => self.registers[to as usize] = bits,
        }
    }

    fn store_at(&mut self, address: u16, pointer: u16, bits: Bits, pc: u16) {
        if pointer != 0 {
            self.misuse(Misuse::Stores, pc);
        }
        self.shows(pointer, 0);
        self.write(address, bits);
    }

    fn push(&mut self, cpu: &Cpu, bits: u16) {
        let [high, low] = bits.to_be_bytes();
        let sp = cpu.registers.sp;
        if self.sp != 0 {
            self.misuse(Misuse::Stores, cpu.registers.pc);
        }
        self.write(sp.wrapping_sub(1), high);
        self.write(sp.wrapping_sub(2), low);
    }

    fn pop(&mut self, cpu: &Cpu, board: &Board) -> u16 {
        let sp = cpu.registers.sp;
        let low = self.read(board, sp, self.sp);
        let high = self.read(board, sp.wrapping_add(1), self.sp);
        u16::from_be_bytes([high, low])
    }

    fn back(&mut self, cpu: &Cpu, board: &Board) {
        if self.pop(cpu, board) != 0 {
            self.misuse(Misuse::Goes, cpu.registers.pc);
        }
    }

    /// A conditional jump, call or return.
    fn branch(&mut self, cpu: &Cpu, board: &Board, opcode: u8) {
        let condition = opcode >> 3 & 7;
        let flag = [Flags::Z, Flags::C, Flags::P, Flags::S][usize::from(condition >> 1)];
        if self.flag(flag) {
            self.misuse(Misuse::Branches, cpu.registers.pc);
        }
        let holds = cpu.registers.flags().contains(flag) == (condition & 1 == 1);
        match opcode & 7 {
            0 if holds => self.back(cpu, board),
            4 if holds => self.push(cpu, 0),
            _ => {}
        }
    }

    fn output(&mut self, board: &Board, port: u8, pc: u16) {
        let bits = self.registers[A];
        self.shows(0, bits);
        if bits == 0 {
            return;
        }
        match board.wiring.sinks[usize::from(port)] {
            Sink::Recorded | Sink::Nothing => {
                self.put.insert(board.outputs().len(), bits);
            }
            Sink::Data(serial) => {
                self.gave.insert(serial);
                self.misuse(Misuse::Gives, pc);
            }
            Sink::Control(_) | Sink::Disk(..) => self.misuse(Misuse::Gives, pc),
        }
    }

    /// What computes in the accumulator or a register.
    fn compute(&mut self, cpu: &Cpu, board: &Board, opcode: u8, byte: u8) {
        let instruction = decode(opcode);
        let a = cpu.registers.get(Register::A);
        let bits = self.registers[A];
        let carry = self.flag(Flags::C);
        let (of, other, its) = match instruction.operands {
            Operands::Register(from) => (Some(from), self.value(cpu, board, from), self.load(cpu, board, from)),
            _ => (None, byte, 0),
        };
        // A register with itself: the difference is nought whatever it holds.
        let itself = of == Some(Register::A);
        let carried = |on: bool| if on { bits | its | u8::from(carry) } else { bits | its };
        match instruction.mnemonic {
            Mnemonic::Add | Mnemonic::Adi => self.sum(a.wrapping_add(other), carried(false), true),
            Mnemonic::Adc | Mnemonic::Aci => self.sum(a.wrapping_add(other), carried(true), true),
            Mnemonic::Sub | Mnemonic::Sui if itself => self.sum(0, 0, true),
            Mnemonic::Cmp | Mnemonic::Cpi if itself => self.sum(0, 0, false),
            Mnemonic::Sbb | Mnemonic::Sbi if itself => self.sum(0, u8::from(carry), true),
            Mnemonic::Sub | Mnemonic::Sui => self.sum(a.wrapping_sub(other), carried(false), true),
            Mnemonic::Sbb | Mnemonic::Sbi => self.sum(a.wrapping_sub(other), carried(true), true),
            Mnemonic::Cmp | Mnemonic::Cpi => self.sum(a.wrapping_sub(other), carried(false), false),
            Mnemonic::Ana | Mnemonic::Ani => {
                let unset = (bits | its) & (a | bits) & (other | its);
                self.set_flag(Flags::A, (bits | its) & 0o10 != 0);
                self.logic(a & other, unset);
            }
            Mnemonic::Ora | Mnemonic::Ori => {
                let unset = (bits | its) & !(a & !bits) & !(other & !its);
                self.set_flag(Flags::A, false);
                self.logic(a | other, unset);
            }
            Mnemonic::Xra | Mnemonic::Xri => {
                let unset = if itself { 0 } else { bits | its };
                self.set_flag(Flags::A, false);
                self.logic(a ^ other, unset);
            }
            Mnemonic::Inr | Mnemonic::Dcr => {
                let Some(register) = of else { return };
                let step = if instruction.mnemonic == Mnemonic::Inr { 1 } else { 0o377 };
                let unset = upwards(its.into()) as u8;
                self.set_flag(Flags::A, its & 0o17 != 0);
                self.flags_of(other.wrapping_add(step), unset);
                self.store(register, unset, cpu);
            }
            Mnemonic::Rlc => self.rotate(bits.rotate_left(1), bits & 0o200),
            Mnemonic::Rrc => self.rotate(bits.rotate_right(1), bits & 1),
            Mnemonic::Ral => self.rotate(bits << 1 | u8::from(carry), bits & 0o200),
            Mnemonic::Rar => self.rotate(bits >> 1 | u8::from(carry) << 7, bits & 1),
            Mnemonic::Stc => self.set_flag(Flags::C, false),
            Mnemonic::Daa if bits != 0 || carry || self.flag(Flags::A) => {
                (self.registers[A], self.registers[FLAGS]) = (0o377, Flags::ALL.0);
            }
            Mnemonic::Daa => self.registers[FLAGS] = 0,
            _ => {}
        }
    }

    fn value(&self, cpu: &Cpu, board: &Board, from: Register) -> u8 {
        match from {
            Register::M => board.memory.byte(Address(cpu.registers.pair(Pair::H))),
            _ => cpu.registers.get(from),
        }
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

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::isa::TStates;
    use crate::rehearsal::{Machine, Setup, Witness};

    struct Watcher(Unset);

    impl Witness for Watcher {
        fn instruction(&mut self, cpu: &Cpu, board: &Board) {
            self.0.observe(cpu, board);
        }
    }

    const RAM: usize = 0o2000;
    const PROGRAM: u16 = 0o400;

    fn machine(program: &[u8], seed: u64) -> Machine {
        let setup = Setup { seed, ram: vec![(Address(0), RAM)], outputs: vec![1], ..Setup::default() };
        let mut machine = Machine::new(&setup).unwrap();
        for (at, &byte) in program.iter().enumerate() {
            machine.deposit(Address(PROGRAM + at as u16), byte);
        }
        machine.examine(Address(PROGRAM));
        machine
    }

    /// Whether all bits that differ between two machines are known to be unset.
    fn covers(unset: &Unset, one: &Machine, other: &Machine) -> Result<(), String> {
        for pair in [Pair::B, Pair::D, Pair::H, Pair::Sp, Pair::Psw] {
            let differ = one.cpu.registers.pair(pair) ^ other.cpu.registers.pair(pair);
            if differ & !unset.pair(pair) != 0 {
                return Err(format!("{} differs in {differ:o}, unset {:o}", pair.name(), unset.pair(pair)));
            }
        }
        for at in 0..RAM as u16 {
            let address = Address(at);
            let differ = one.board.memory.byte(address) ^ other.board.memory.byte(address);
            if differ & !unset.byte(&one.board, address) != 0 {
                return Err(format!("{at:o} differs in {differ:o}"));
            }
        }
        Ok(())
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(3000))]
        #[test]
        fn what_differs_between_two_noises_is_unset(
            words in prop::collection::vec((any::<u8>(), any::<u8>(), 0..4_u8), 1..40), seed in 0..1000_u64,
        ) {
            // Pointers into RAM are as likely as anything else.
            let program: Vec<u8> = words.iter().flat_map(|&(opcode, low, high)| match decode(opcode).length {
                1 => vec![opcode],
                2 => vec![opcode, low],
                _ => vec![opcode, low, high],
            }).collect();
            let mut watcher = Watcher(Unset::new());
            let mut one = machine(&program, seed);
            let mut others = [machine(&program, seed ^ 1), machine(&program, seed + 2)];
            for _ in 0..60 {
                if one.step(&mut watcher).is_some() || !watcher.0.misused.is_empty() {
                    break;
                }
                for other in &mut others {
                    let _ = other.step(&mut ());
                    let covered = covers(&watcher.0, &one, other);
                    prop_assert!(covered.is_ok(), "{:?} after {:?}", covered, program);
                    prop_assert_eq!(one.cpu.registers.pc, other.cpu.registers.pc);
                }
            }
        }
    }

    fn misused(program: &[u8]) -> Vec<(Misuse, Address)> {
        let mut watcher = Watcher(Unset::new());
        machine(program, 0).run(TStates(10_000), &mut watcher);
        watcher.0.take_misused()
    }

    #[test]
    fn what_is_set_is_not_told() {
        let at = |what, offset| vec![(what, Address(PROGRAM + offset))];
        // XRA A, SUB A, ANI 0, SBB A after a known carry: known, whatever A held.
        for clears in [&[0o257, 0o300][..], &[0o227, 0o300], &[0o346, 0, 0o300], &[0o067, 0o237, 0o310]] {
            assert_eq!(misused(&[clears, &[0o166]].concat()), [], "{clears:?}");
        }
        // ORA A, RZ; DCR B, JNZ; LDA of a byte that nobody put there, ORA A, JM.
        assert_eq!(misused(&[0o267, 0o310, 0o166]), at(Misuse::Branches, 1));
        assert_eq!(misused(&[0o005, 0o302, 0o004, 0o001, 0o166]), at(Misuse::Branches, 1));
        assert_eq!(misused(&[0o072, 0, 3, 0o267, 0o372, 7, 1, 0o166]), at(Misuse::Branches, 4));
        // ORI 1, RZ: one bit is known, and is no zero.
        assert_eq!(misused(&[0o366, 1, 0o310, 0o166]), []);
        // STAX D without DE; LXI D, STAX D.
        assert_eq!(misused(&[0o022, 0o166]), at(Misuse::Stores, 0));
        assert_eq!(misused(&[0o021, 0, 3, 0o022, 0o166]), []);
        // MOV A,M at a place that nobody set, then a sum of it, put out.
        let mut watcher = Watcher(Unset::new());
        machine(&[0o041, 0, 3, 0o176, 0o346, 0o016, 0o323, 1, 0o166], 0).run(TStates(10_000), &mut watcher);
        assert_eq!(watcher.0.put(0), 0o016);
    }
}
