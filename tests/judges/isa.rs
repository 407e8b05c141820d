//! The instruction table, opcode by opcode, against what `iz80` in its 8080 mode does when it executes it: length,
//! T-states, flags, and number and direction of the transfers.

use std::collections::BTreeSet;

use coldwright::isa::{Cycle, CycleKind, Flags, Instruction, Operands, decode};
use iz80::Cpu;

use crate::iz80_board::{self, Access, Board, Numbers, State};

/// Random states in which each opcode is executed; enough for every flag to change and every condition to hold and fail.
const STATES: usize = 120;

/// One execution: registers before and after, and what went over the bus.
struct Execution {
    before: State,
    after: State,
    states: u64,
    accesses: Vec<Access>,
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
    let mut board = Board::new(numbers.memory());
    let mut cpu = Cpu::new_8080();
    for opcode in 0..=255 {
        let executions: Vec<_> = (0..STATES).map(|_| execute(opcode, numbers.state(), &mut cpu, &mut board)).collect();
        check(decode(opcode), &executions);
    }
}

fn execute(opcode: u8, start: State, cpu: &mut Cpu, board: &mut Board) -> Execution {
    if cpu.is_halted() {
        *cpu = Cpu::new_8080();
    }
    iz80_board::set_state(cpu, start);
    let (before, clock) = (iz80_board::state(cpu), cpu.cycle_count());
    board.memory[usize::from(before.pc)] = opcode;
    cpu.execute_instruction(board);
    Execution {
        before,
        after: iz80_board::state(cpu),
        states: cpu.cycle_count() - clock,
        accesses: std::mem::take(&mut board.accesses),
    }
}

/// How far the program counter stepped on: directly, or in the return address that a call or restart wrote last.
fn observed_length(instruction: &Instruction, run: &Execution) -> Option<u16> {
    let step = |to: u16| to.wrapping_sub(run.before.pc);
    match (instruction.operands, &run.accesses[..]) {
        (Operands::Address | Operands::Vector(_), [.., Access::Write(at, high), Access::Write(_, low)])
            if *at == run.before.sp.wrapping_sub(1) =>
        {
            Some(step(u16::from_be_bytes([*high, *low])))
        }
        _ => Some(step(run.after.pc)).filter(|step| (1..=3).contains(step)),
    }
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
