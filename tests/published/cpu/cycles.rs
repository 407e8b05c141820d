//! Machine cycles: kind, order, length, address and data.

use std::collections::BTreeSet;

use coldwright::cpu::Cpu;
use coldwright::isa::{CycleKind, Flags, Pair, Register, TStates};

use super::board::{Board, START, cpu};

const TABLE: &str = include_str!("../data/isa-8080.tsv");

/// The User's Manual, Table 2-2, for kinds and states; its summary of instructions for the total.
#[test]
fn every_opcode_runs_the_published_cycles_in_both_outcomes() {
    for row in TABLE.lines().skip(1) {
        let columns: Vec<_> = row.split('\t').collect();
        let (opcode, totals, kinds, states) = (columns[0], columns[5], columns[6], columns[9]);
        let listed: BTreeSet<String> = totals
            .split('/')
            .zip(kinds.split('|'))
            .zip(states.split('|'))
            .map(|((total, kinds), states)| format!("{kinds} = {states} = {total}"))
            .collect();
        let opcode = u8::from_str_radix(opcode, 16).unwrap();
        let seen: BTreeSet<String> = all_flags().map(|flags| run_and_write_down(opcode, flags)).collect();
        assert_eq!(seen, listed, "{row}");
    }
}

/// The User's Manual, Table 2-1: the ten columns of the chart, of which the last is [M].
#[test]
fn status_bytes() {
    use CycleKind::*;
    let chart = [
        (Fetch, 0o242),
        (Read, 0o202),
        (Write, 0o000),
        (StackRead, 0o206),
        (StackWrite, 0o004),
        (Input, 0o102),
        (Output, 0o020),
        (InterruptAcknowledge, 0o043),
        (HaltAcknowledge, 0o212),
        (InterruptAcknowledgeWhileHalted, 0o053),
    ];
    for (kind, status) in chart {
        assert_eq!(kind.status(), Some(status), "{kind:?}");
    }
    // Note 8 to Table 2-2: the internal cycles of DAD have no SYNC and no status.
    assert_eq!(Internal.status(), None);
}

/// The User's Manual, Table 2-1 and chapter 2 on T1: selecting a device, sending it a command and reading its status.
/// The port's number stands in both halves of the address [M].
#[test]
fn a_device_program_shows_the_published_status_words() {
    let mut board = Board::with_program(&[0o076, 0o021, 0o323, 0o040, 0o333, 0o041, 0o166]);
    board.port_input = 0o201;
    assert_eq!(run_to_halt(&mut board), TStates(7 + 10 + 10 + 7));
    assert_eq!(board.status(), ["242", "202", "242", "202", "020", "242", "202", "102", "242", "212"]);
    let transfers = board.transfers();
    assert_eq!(transfers[4], (CycleKind::Output, Some(0o040 * 0x101), Some(0o021)));
    assert_eq!(transfers[7], (CycleKind::Input, Some(0o041 * 0x101), Some(0o201)));
    assert_eq!(transfers[9], (CycleKind::HaltAcknowledge, Some(START + 7), None));
}

/// The User's Manual, chapter 4 and Table 2-2 [M]: the high byte is pushed first, to SP-1; the low byte is popped first,
/// from SP.
#[test]
fn stack_order() {
    use CycleKind::*;
    // LXI B,1234H; PUSH B; POP D
    let mut board = Board::with_program(&[0x01, 0x34, 0x12, 0xC5, 0xD1, 0x76]);
    run_to_halt(&mut board);
    let transfers = board.transfers();
    assert_eq!(transfers[4..6], [(StackWrite, Some(0x1FFF), Some(0x12)), (StackWrite, Some(0x1FFE), Some(0x34))]);
    assert_eq!(transfers[7..9], [(StackRead, Some(0x1FFE), Some(0x34)), (StackRead, Some(0x1FFF), Some(0x12))]);

    // CALL 0200H; at 0200H: RET
    let mut board = Board::with_program(&[0xCD, 0x00, 0x02, 0x76]);
    board.put(0x0200, &[0xC9]);
    run_to_halt(&mut board);
    let transfers = board.transfers();
    assert_eq!(transfers[3..5], [(StackWrite, Some(0x1FFF), Some(0x01)), (StackWrite, Some(0x1FFE), Some(0x03))]);
    assert_eq!(transfers[5], (Fetch, Some(0x0200), Some(0xC9)));
    assert_eq!(transfers[8], (Fetch, Some(0x0103), Some(0x76)));

    // LXI H,1234H; RST 5; at 0028H: XTHL
    let mut board = Board::with_program(&[0x21, 0x34, 0x12, 0xEF]);
    board.put(0x0028, &[0xE3, 0x76]);
    run_to_halt(&mut board);
    let transfers = board.transfers();
    assert_eq!(transfers[4..6], [(StackWrite, Some(0x1FFF), Some(0x01)), (StackWrite, Some(0x1FFE), Some(0x04))]);
    assert_eq!(transfers[6], (Fetch, Some(0x0028), Some(0xE3)));
    assert_eq!(transfers[7..9], [(StackRead, Some(0x1FFE), Some(0x04)), (StackRead, Some(0x1FFF), Some(0x01))]);
    assert_eq!(transfers[9..11], [(StackWrite, Some(0x1FFF), Some(0x12)), (StackWrite, Some(0x1FFE), Some(0x34))]);
}

/// The User's Manual, chapter 4 [M]: SHLD and LHLD move L at the address and H at the next.
#[test]
fn direct_word_order() {
    use CycleKind::*;
    // LXI H,1234H; SHLD 0300H; LHLD 02FFH
    let mut board = Board::with_program(&[0x21, 0x34, 0x12, 0x22, 0x00, 0x03, 0x2A, 0xFF, 0x02, 0x76]);
    run_to_halt(&mut board);
    let transfers = board.transfers();
    assert_eq!(transfers[6..8], [(Write, Some(0x0300), Some(0x34)), (Write, Some(0x0301), Some(0x12))]);
    assert_eq!(transfers[11..13], [(Read, Some(0x02FF), Some(0x00)), (Read, Some(0x0300), Some(0x34))]);
}

/// The User's Manual, Table 2-2, note 8: in M2 and M3 of DAD memory is not referenced.
#[test]
fn the_internal_cycles_of_dad_touch_no_bus() {
    let mut board = Board::with_program(&[0x39, 0x76]);
    run_to_halt(&mut board);
    assert_eq!(board.transfers()[1..3], [(CycleKind::Internal, None, None); 2]);
    assert_eq!(board.status()[..3], ["242", "none", "none"]);
}

/// The User's Manual, chapter 2: wait states stand between T2 and T3 of each cycle that looks at READY. The internal
/// cycles of DAD do not (Table 2-2, note 8).
#[test]
fn wait_states_lengthen_each_cycle() {
    for (program, cycles, states) in [(&[0x00][..], 1, 4), (&[0xE3][..], 5, 18), (&[0x09][..], 1, 10)] {
        let mut board = Board::with_program(program);
        board.waits = 2;
        let mut cpu = cpu();
        cpu.step(&mut board);
        assert_eq!(cpu.clock, TStates(states + 2 * cycles), "{program:?}");
    }
}

/// At 2 MHz (500 ns a state) [D]: NOP 2.0, MOV 2.5, LXI 5.0, CALL 8.5 and XTHL 9.0 microseconds.
#[test]
fn times_at_two_megahertz() {
    for (opcode, nanoseconds) in [(0x00, 2000), (0x41, 2500), (0x01, 5000), (0xCD, 8500), (0xE3, 9000)] {
        let mut board = Board::with_program(&[opcode]);
        let mut cpu = cpu();
        cpu.step(&mut board);
        assert_eq!(cpu.clock.0 * 500, nanoseconds, "{opcode:02X}");
    }
}

/// The User's Manual, chapter 4, condition codes in the order of bits 5-3 [M]: not zero, zero, no carry, carry, parity
/// odd, parity even, plus, minus.
#[test]
fn conditions() {
    let met: [fn(Flags) -> bool; 8] = [
        |flags| flags.0 & 0x40 == 0,
        |flags| flags.0 & 0x40 != 0,
        |flags| flags.0 & 0x01 == 0,
        |flags| flags.0 & 0x01 != 0,
        |flags| flags.0 & 0x04 == 0,
        |flags| flags.0 & 0x04 != 0,
        |flags| flags.0 & 0x80 == 0,
        |flags| flags.0 & 0x80 != 0,
    ];
    for (code, met) in met.iter().enumerate() {
        for flags in all_flags() {
            for group in [0o300, 0o302, 0o304] {
                let mut board = Board::with_program(&[group | (code as u8) << 3, 0x00, 0x03]);
                board.put(0x2000, &[0x00, 0x03]);
                let mut cpu = cpu();
                cpu.registers.set_flags(flags);
                cpu.step(&mut board);
                assert_eq!(cpu.registers.pc == 0x0300, met(flags), "{group:o}, condition {code}, {flags:?}");
            }
        }
    }
}

/// Register codes in the order of the User's Manual, chapter 4: B, C, D, E, H, L, memory, A.
#[test]
fn register_codes() {
    for (code, register) in Register::ALL.into_iter().enumerate() {
        let mut board = Board::with_program(&[0o006 | (code as u8) << 3, 0o123]); // MVI
        let mut cpu = cpu();
        cpu.registers.set_pair(Pair::H, 0x0400);
        cpu.step(&mut board);
        match register {
            Register::M => assert_eq!(board.memory[0x0400], 0o123),
            register => assert_eq!(cpu.registers.get(register), 0o123),
        }
    }
}

/// Each of the 32 states of the flags.
fn all_flags() -> impl Iterator<Item = Flags> {
    (0..=255).map(Flags).filter(|flags| Flags::ALL.contains(*flags))
}

/// Runs one instruction and writes its cycles down as the table does.
fn run_and_write_down(opcode: u8, flags: Flags) -> String {
    let mut board = Board::with_program(&[opcode]);
    let mut cpu = cpu();
    cpu.registers.set_flags(flags);
    cpu.step(&mut board);
    let ends = board.record.iter().skip(1).map(|cycle| cycle.at).chain([cpu.clock]);
    let states: Vec<_> = board.record.iter().zip(ends).map(|(cycle, end)| (end.0 - cycle.at.0).to_string()).collect();
    let kinds: Vec<_> = board.record.iter().map(|cycle| letters(cycle.kind)).collect();
    format!("{} = {} = {}", kinds.join(" "), states.join(","), cpu.clock)
}

fn letters(kind: CycleKind) -> &'static str {
    match kind {
        CycleKind::Fetch => "M1",
        CycleKind::Read => "MR",
        CycleKind::Write => "MW",
        CycleKind::StackRead => "SR",
        CycleKind::StackWrite => "SW",
        CycleKind::Input => "IN",
        CycleKind::Output => "OUT",
        CycleKind::HaltAcknowledge => "HALT",
        CycleKind::Internal => "BI",
        CycleKind::InterruptAcknowledge | CycleKind::InterruptAcknowledgeWhileHalted => "INTA",
    }
}

fn run_to_halt(board: &mut Board) -> TStates {
    let mut cpu: Cpu = cpu();
    cpu.run(board, TStates(1000));
    assert!(cpu.is_halted());
    cpu.clock
}
