//! The processor in lockstep with `iz80` in its 8080 mode: registers, flags, T-states, and each access to memory and
//! ports with its order, address and byte.
//!
//! Where the library departs from the published manual:
//! * the upper half of a port's address (see `iz80_board`);
//! * `XTHL` writes the low byte first. By Table 2-2 of the User's Manual (from memory) the processor counts the stack
//!   pointer up once, after the first read, and down once, after the first write: H goes out first, to SP+1;
//! * after `EI` its interrupt flip-flop is set at once, with a note beside it that holds interrupts off for one
//!   instruction; an acknowledged interrupt always calls 0038H. Interrupts are checked against the manual instead, in
//!   `published/cpu.rs`;
//! * a halted processor is not an instruction further: `HLT` is compared, then both start anew.

use coldwright::cpu::{Bus, Cpu};
use coldwright::isa::{Pair, TStates};

use crate::iz80_board::{self, Board, Numbers, State};

/// Pairs of instruction and state when the environment names no other count in `COLDWRIGHT_LOCKSTEP`.
const PAIRS: u64 = 200_000;

const HLT: u8 = 0o166;
const XTHL: u8 = 0o343;

#[test]
fn lockstep_with_iz80() {
    let pairs = match std::env::var("COLDWRIGHT_LOCKSTEP") {
        Ok(count) => count.parse().expect("COLDWRIGHT_LOCKSTEP is a number of pairs"),
        Err(_) => PAIRS,
    };
    let mut numbers = Numbers(8080);
    let memory = numbers.memory();
    let (mut our_board, mut their_board) = (Board::new(memory.clone()), Board::new(memory));
    let (mut ours, mut theirs) = (Cpu::default(), iz80::Cpu::new_8080());
    for pair in 0..pairs {
        // Most steps follow from the one before, so that what an instruction leaves behind is put to use.
        if pair % 4 == 0 {
            let state = numbers.state();
            set_state(&mut ours, state);
            iz80_board::set_state(&mut theirs, state);
        }
        // Each opcode in its turn, wherever the program counter stands.
        let opcode = (pair % 256) as u8 ^ (pair / 256) as u8;
        let before = state(&ours);
        our_board.memory[usize::from(before.pc)] = opcode;
        their_board.memory[usize::from(before.pc)] = opcode;
        let (our_start, their_start) = (ours.clock, theirs.cycle_count());

        ours.step(&mut our_board);
        theirs.execute_instruction(&mut their_board);

        let context = || format!("pair {pair}, opcode {opcode:03o} from {before:x?}");
        assert_eq!(state(&ours), iz80_board::state(&mut theirs), "registers: {}", context());
        assert_eq!(ours.clock.0 - our_start.0, theirs.cycle_count() - their_start, "T-states: {}", context());
        if opcode == XTHL {
            their_board.accesses[3..].reverse();
        }
        assert_eq!(our_board.accesses, their_board.accesses, "accesses: {}", context());
        our_board.accesses.clear();
        their_board.accesses.clear();
        if opcode == HLT {
            assert!(ours.is_halted() && theirs.is_halted());
            (ours, theirs) = (Cpu::default(), iz80::Cpu::new_8080());
            iz80_board::set_state(&mut theirs, state(&ours));
        }
    }
    assert!(our_board.memory == their_board.memory, "memory after all");
}

#[test]
fn a_free_run_from_random_memory_stays_in_step() {
    let mut numbers = Numbers(1975);
    for run in 0..20 {
        let memory = numbers.memory();
        let (mut our_board, mut their_board) = (Board::new(memory.clone()), Board::new(memory));
        let (mut ours, mut theirs) = (Cpu::default(), iz80::Cpu::new_8080());
        let start = numbers.state();
        set_state(&mut ours, start);
        iz80_board::set_state(&mut theirs, start);
        let deadline = TStates(100_000);
        ours.run(&mut our_board, deadline);
        while theirs.cycle_count() < deadline.0 && !theirs.is_halted() {
            theirs.execute_instruction(&mut their_board);
        }
        assert_eq!(ours.clock.0, theirs.cycle_count(), "run {run}");
        assert_eq!(state(&ours), iz80_board::state(&mut theirs), "run {run}");
        assert_eq!(ours.is_halted(), theirs.is_halted(), "run {run}");
        assert!(our_board.memory == their_board.memory, "memory of run {run}");
    }
}

impl Bus for Board {
    fn read(&mut self, address: u16) -> u8 {
        Board::read(self, address)
    }
    fn write(&mut self, address: u16, byte: u8) {
        Board::write(self, address, byte);
    }
    fn input(&mut self, port: u8) -> u8 {
        Board::input(self, port)
    }
    fn output(&mut self, port: u8, byte: u8) {
        Board::output(self, port, byte);
    }
}

fn state(cpu: &Cpu) -> State {
    let pair = |pair| cpu.registers.pair(pair);
    State {
        psw: pair(Pair::Psw),
        bc: pair(Pair::B),
        de: pair(Pair::D),
        hl: pair(Pair::H),
        sp: cpu.registers.sp,
        pc: cpu.registers.pc,
    }
}

fn set_state(cpu: &mut Cpu, state: State) {
    let registers = &mut cpu.registers;
    registers.set_pair(Pair::Psw, state.psw);
    registers.set_pair(Pair::B, state.bc);
    registers.set_pair(Pair::D, state.de);
    registers.set_pair(Pair::H, state.hl);
    registers.sp = state.sp;
    registers.pc = state.pc;
}
