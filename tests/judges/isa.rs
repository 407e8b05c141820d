//! The instruction table, opcode by opcode, against what `iz80` in its 8080 mode does when it executes it: length,
//! T-states, flags, and number and direction of the transfers.

use std::collections::BTreeSet;

use coldwright::isa::{Cycle, CycleKind, Flags, Instruction, Operands, decode};

use crate::iz80_board::{self, Access, Board, Numbers, State};

/// Random states in which each opcode is executed; enough for every flag to change and every condition to hold and fail.
const STATES: usize = 120;

/// The first places after an execution and before, and what went over the bus.
struct Execution {
    before: State,
    after: State,
    states: u64,
    accesses: Vec<Access>,
    memory: Vec<u8>,
}

#[test]
fn lengths() {
    // Jumps, returns and `PCHL` always leave; their length shows in no state, unless a condition fails.
    const ALWAYS_LEAVE: [u8; 5] = [0o303, 0o311, 0o313, 0o331, 0o351];
    for_each_opcode(|instruction, executions| {
        let lengths: BTreeSet<u16> = executions.iter().filter_map(|run| observed_length(instruction, run)).collect();
        if ALWAYS_LEAVE.contains(&instruction.opcode) {
            assert!(lengths.is_empty(), "{instruction:?}");
        } else {
            assert_eq!(lengths, BTreeSet::from([u16::from(instruction.length)]), "{instruction:?}");
        }
    });
}

#[test]
fn t_states_taken_and_not() {
    for_each_opcode(|instruction, executions| {
        let seen: BTreeSet<u64> = executions.iter().map(|run| run.states).collect();
        let listed = [Some(instruction.states()), instruction.states_not_taken()];
        assert_eq!(seen, listed.into_iter().flatten().map(|states| states.0).collect(), "{instruction:?}");
    });
}

#[test]
fn flags_written() {
    for_each_opcode(|instruction, executions| {
        let changed = executions.iter().fold(0, |changed, run| changed | (run.before.psw ^ run.after.psw) as u8);
        // `SBB A` gives 000 or 377 and borrows what was borrowed before: the carry is written with its own value.
        let unseen = if instruction.opcode == 0o237 { Flags::C.0 } else { 0 };
        assert_eq!(changed, instruction.flags.0 & !unseen, "{instruction:?}");
    });
}

#[test]
fn transfers() {
    for_each_opcode(|instruction, executions| {
        let listed = [Some(instruction.cycles), instruction.cycles_not_taken];
        let listed: BTreeSet<String> = listed.into_iter().flatten().map(directions).collect();
        let seen: BTreeSet<String> =
            executions.iter().map(|run| run.accesses.iter().map(direction).collect()).collect();
        assert_eq!(seen, listed, "{instruction:?}");
    });
}

fn for_each_opcode(check: impl Fn(&Instruction, &[Execution])) {
    let mut numbers = Numbers(98_153);
    let memory = numbers.memory();
    for opcode in 0..=255 {
        let executions: Vec<_> =
            (0..STATES).map(|_| execute(opcode, numbers.state(), Board::new(memory.clone()))).collect();
        check(decode(opcode), &executions);
    }
}

fn execute(opcode: u8, start: State, mut board: Board) -> Execution {
    let mut cpu = iz80::Cpu::new_8080();
    iz80_board::set_state(&mut cpu, start);
    let before = iz80_board::state(&mut cpu);
    board.memory[usize::from(before.pc)] = opcode;
    cpu.execute_instruction(&mut board);
    Execution {
        before,
        after: iz80_board::state(&mut cpu),
        states: cpu.cycle_count(),
        accesses: board.accesses,
        memory: board.memory,
    }
}

/// How far the program counter stepped on: directly, or in the return address of a call.
fn observed_length(instruction: &Instruction, run: &Execution) -> Option<u16> {
    let called = run.accesses.iter().filter(|access| matches!(access, Access::Write(..))).count() == 2
        && run.after.sp == run.before.sp.wrapping_sub(2)
        && matches!(instruction.operands, Operands::Address | Operands::Vector(_));
    if called {
        let at = |offset| run.memory[usize::from(run.after.sp.wrapping_add(offset))];
        return Some(u16::from_le_bytes([at(0), at(1)]).wrapping_sub(run.before.pc));
    }
    let step = run.after.pc.wrapping_sub(run.before.pc);
    (1..=3).contains(&step).then_some(step)
}

fn directions(cycles: &[Cycle]) -> String {
    let letter = |cycle: &Cycle| match cycle.kind {
        CycleKind::Fetch | CycleKind::Read | CycleKind::StackRead => Some('r'),
        CycleKind::Write | CycleKind::StackWrite => Some('w'),
        CycleKind::Input => Some('i'),
        CycleKind::Output => Some('o'),
        _ => None,
    };
    cycles.iter().filter_map(letter).collect()
}

fn direction(access: &Access) -> char {
    match access {
        Access::Read(..) => 'r',
        Access::Write(..) => 'w',
        Access::Input(..) => 'i',
        Access::Output(..) => 'o',
    }
}
