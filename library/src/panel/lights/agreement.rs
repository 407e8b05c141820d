//! The bits of [`execute`](super::execute) against the processor, opcode by opcode: whatever values open bits have, what is
//! known is what the processor makes of them.

#![allow(clippy::unwrap_used, reason = "every byte of this memory is filled")]

use std::collections::HashMap;

use super::bits::{Bit, Byte, Word, split};
use super::request::{Request, World};
use super::state::{Base, State};
use super::trace::{Bench, Cycle, Lost, Outcome};
use crate::cpu::{Bus, Cpu, MachineCycle};
use crate::image::{Image, MEMORY};
use crate::isa::{Pair, Register};
use crate::notation::Address;
use crate::source::{Origin as SourceOrigin, Position, SourceMap};

/// SplitMix64.
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = (self.0 ^ self.0 >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    /// Bits of which some are open: one of a few variables, or its complement.
    fn bits<const N: usize>(&mut self, pool: &[Bit], open: u64) -> [Bit; N] {
        std::array::from_fn(|_| {
            let draw = self.next();
            match draw % 100 < open {
                true => pool[(draw >> 16) as usize % pool.len()].flipped(draw >> 40 & 1 == 1),
                false => Bit::from(draw >> 41 & 1 == 1),
            }
        })
    }
}

/// What the variables are in one world.
#[derive(Default)]
struct Values(HashMap<u32, bool>);

impl Values {
    /// The value of bits; a variable that nobody spoke of yet is drawn.
    fn of(&mut self, bits: &[Bit], draws: &mut Draws) -> u16 {
        bits.iter().rev().fold(0, |value, bit| {
            let one = bit.variable().map_or(*bit == Bit::ONE, |(variable, complement)| {
                *self.0.entry(variable).or_insert_with(|| draws.next() & 1 == 1) != complement
            });
            value << 1 | u16::from(one)
        })
    }

    /// Checks that bits can have a value; a variable that nobody spoke of yet has it from now on.
    fn check(&mut self, bits: &[Bit], value: u16) -> bool {
        bits.iter().enumerate().all(|(at, bit)| {
            let one = value >> at & 1 == 1;
            match bit.variable() {
                None => (*bit == Bit::ONE) == one,
                Some((variable, complement)) => {
                    *self.0.entry(variable).or_insert(one != complement) == (one != complement)
                }
            }
        })
    }
}

struct Board {
    memory: Vec<u8>,
    input: u8,
    cycles: Vec<MachineCycle>,
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }
    fn write(&mut self, address: u16, byte: u8) {
        self.memory[usize::from(address)] = byte;
    }
    fn input(&mut self, _port: u8) -> u8 {
        self.input
    }
    fn output(&mut self, _port: u8, _byte: u8) {}
    fn complete(&mut self, cycle: MachineCycle) {
        self.cycles.push(cycle);
    }
}

const PAIRS: [Pair; 5] = [Pair::B, Pair::D, Pair::H, Pair::Sp, Pair::Psw];
/// Where the instruction lies.
const HERE: u16 = 0o40000;

#[test]
fn what_is_known_is_what_the_processor_makes_of_any_open_bits() {
    let mut draws = Draws(1);
    let request = Request { start: Address(HERE), world: World::default(), ..Request::default() };
    for opcode in 0..=255 {
        let mut memory: Vec<u8> = (0..MEMORY / 8).flat_map(|_| draws.next().to_le_bytes()).collect();
        memory[usize::from(HERE)] = opcode;
        let mut bench = Bench::new(Base::new(&image(&memory), &request.grounds), &request);
        for round in 0..30 {
            one_instruction(&mut bench, &memory, if round % 3 == 0 { 100 } else { 30 }, &mut draws);
        }
    }
}

fn image(bytes: &[u8]) -> Image {
    let mut sources = SourceMap::default();
    let position = Position { source: sources.add("test", "", SourceOrigin::Given), offset: 0 };
    let mut image = Image::default();
    assert_eq!(image.insert(Address(0), bytes, position), Ok(()));
    image
}

fn one_instruction(bench: &mut Bench, memory: &[u8], open: u64, draws: &mut Draws) {
    let pool: [Bit; 12] = bench.unknowns.open(None, 0);
    let mut state = State::zero(HERE);
    set_out(&mut state, &pool, open, draws);
    if let Some(condition) = bench.condition(&mut state) {
        state.settle(condition.bit, draws.next() & 1 == 1);
    }
    let before = state.clone();
    let (instruction, outcome) = bench.step(&mut state);
    for _ in 0..4 {
        let mut values = Values::default();
        let (mut cpu, mut board) = real(&before, bench, memory, &mut values, draws);
        cpu.step(&mut board);
        let said = format!("{instruction:?} {:?} {:?}", board.cycles, cpu.registers);
        assert_eq!(instruction.cycles.len(), board.cycles.len(), "{said}");
        assert!(instruction.cycles.iter().zip(&board.cycles).all(shows), "{said}");
        assert_eq!(cpu.is_halted(), outcome == Outcome::Halted, "{said}");
        for pair in PAIRS {
            assert!(values.check(&state.pair(pair), cpu.registers.pair(pair)), "{pair:?} {said}");
        }
        assert!(matches!(outcome, Outcome::Lost(Lost::Way(_))) || state.pc == cpu.registers.pc, "{said}");
        if !matches!(outcome, Outcome::Lost(Lost::Write(_))) {
            let mut left = memory.to_vec();
            for at in state.changed() {
                let byte = board.memory[usize::from(at)];
                assert!(values.check(&state.byte(&bench.base, at).unwrap(), byte.into()), "{at} {said}");
                left[usize::from(at)] = byte;
            }
            assert!(left == board.memory, "{said}");
        }
    }
}

/// Registers, and the memory that they and the operand point to, with open bits.
fn set_out(state: &mut State, pool: &[Bit], open: u64, draws: &mut Draws) {
    for register in [Register::A, Register::B, Register::C, Register::D, Register::E, Register::H, Register::L] {
        state.set(register, draws.bits(pool, open));
    }
    state.set_flags(draws.bits(pool, open));
    state.sp = draws.bits(pool, 0);
    if draws.next() & 1 == 1 {
        // Addresses of which a bit or two are open.
        for pair in [Pair::B, Pair::D, Pair::H, Pair::Sp] {
            let mut word: Word = draws.bits(pool, 0);
            word[draws.next() as usize % 16] = pool[0];
            word[draws.next() as usize % 16] = !pool[1];
            state.set_pair(pair, word);
        }
    }
    for pair in [Pair::B, Pair::D, Pair::H, Pair::Sp] {
        let (known, _) = split(&state.pair(pair));
        for address in [known, known.wrapping_add(1)].into_iter().filter(|address| !(HERE..HERE + 3).contains(address))
        {
            let byte: Byte = draws.bits(pool, open);
            state.store(address, byte);
        }
    }
}

/// The processor and its memory in one of the worlds that are open.
fn real(state: &State, bench: &Bench, memory: &[u8], values: &mut Values, draws: &mut Draws) -> (Cpu, Board) {
    let mut cpu = Cpu::default();
    for pair in PAIRS {
        let value = values.of(&state.pair(pair), draws);
        cpu.registers.set_pair(pair, value);
    }
    cpu.registers.pc = state.pc;
    let mut board = Board { memory: memory.to_vec(), input: draws.next() as u8, cycles: Vec::new() };
    for at in state.changed() {
        board.memory[usize::from(at)] = values.of(&state.byte(&bench.base, at).unwrap(), draws) as u8;
    }
    (cpu, board)
}

fn shows((mine, real): (&Cycle, &MachineCycle)) -> bool {
    mine.kind == real.kind
        && mine.address == real.address.map(|address| address & !mine.open_address)
        && mine.data == real.data.map(|data| data & !mine.open_data)
}

/// A program that counts on what is known: `IN 42Q; ANI 360Q; ORI 1; RLC; XRA A; SUB B; SBB A; HLT`.
#[test]
fn masks_and_like_bits_make_bits_known() {
    let program = [0o333, 0o42, 0o346, 0o360, 0o366, 1, 0o007, 0o107, 0o220, 0o237];
    let request = Request::default();
    let mut bench = Bench::new(Base::new(&image(&program), &request.grounds), &request);
    let mut state = bench.start();
    let mut a = Vec::new();
    for _ in 0..7 {
        bench.step(&mut state);
        a.push(split(&state.get(Register::A)));
    }
    let expected = [(0, 0o377), (0, 0o360), (1, 0o360), (2, 0o341), (2, 0o341), (0, 0), (0, 0)];
    assert_eq!(a, expected, "value and open bits after each instruction");
    assert_eq!(split(&state.flags()[..]).1, 0, "all flags are known");
}
