//! Reset, halt and interrupts. Source of each: the User's Manual, chapters 2 and 4; `[M]` unless marked. What happens
//! when one is acknowledged: p. 2-11 `[V]`; INTE cleared then, and RST n to 8n: the 1977 manual, p. 7-2 `[V]`; RESET: Intel's
//! text as quoted elsewhere `[2]`.

use coldwright::cpu::{Bus, Cpu, Pause};
use coldwright::isa::{CycleKind, Flags, Pair, Register, TStates};

use super::board::{Board, START, cpu};

const NOP: u8 = 0o000;
const HLT: u8 = 0o166;
const EI: u8 = 0o373;
const DI: u8 = 0o363;
const RST_3: u8 = 0o337;

/// Chapter 2, pin description: RESET clears the program counter and INTE; registers, flags and stack pointer stay.
#[test]
fn reset_keeps_the_registers() {
    let mut board = Board::with_program(&[EI, NOP, HLT]);
    let mut cpu = cpu();
    cpu.registers.set_pair(Pair::B, 0x1234);
    cpu.registers.set(Register::A, 0x56);
    cpu.registers.set_flags(Flags::ALL);
    cpu.run(&mut board, TStates(100));
    assert!(cpu.is_halted() && cpu.interrupts_enabled());
    let mut expected = cpu.registers;
    expected.pc = 0;
    cpu.reset();
    assert_eq!(cpu.registers, expected);
    assert!(!cpu.is_halted() && !cpu.interrupts_enabled());
}

/// Chapter 4, read in the document: EI takes effect after the following instruction, DI at once.
#[test]
fn ei_is_one_instruction_late() {
    let mut board = Board::with_program(&[EI, NOP, NOP]);
    board.interrupt = true;
    board.instruction = vec![RST_3];
    let mut cpu = cpu();
    let mut enabled = Vec::new();
    for _ in 0..3 {
        cpu.step(&mut board);
        enabled.push(cpu.interrupts_enabled());
    }
    assert_eq!(enabled, [false, true, false]);
    assert_eq!(kinds(&board)[..3], [CycleKind::Fetch, CycleKind::Fetch, CycleKind::InterruptAcknowledge]);
    assert_eq!(cpu.registers.pc, 0o030);
    // The return address is that of the instruction not yet run.
    assert_eq!(board.memory[0x1FFE..0x2000], (START + 2).to_le_bytes());
}

#[test]
fn di_is_in_time_even_right_after_ei() {
    let mut board = Board::with_program(&[EI, DI, NOP, NOP, EI, NOP, DI, NOP]);
    let mut cpu = cpu();
    let mut enabled = Vec::new();
    for _ in 0..8 {
        cpu.step(&mut board);
        enabled.push(cpu.interrupts_enabled());
    }
    assert_eq!(enabled, [false, false, false, false, false, true, false, false]);
}

/// Chapters 2 and 4: INTE is cleared, the program counter does not step on, RST n calls 8 times n.
#[test]
fn each_restart_calls_its_address() {
    for vector in 0..8 {
        let (mut cpu, mut board) = interruptible(&[0o307 | vector << 3]);
        let (pc, clock) = (cpu.registers.pc, cpu.clock);
        cpu.step(&mut board);
        assert_eq!(cpu.registers.pc, u16::from(vector) * 8);
        assert_eq!(board.memory[0x1FFE..0x2000], pc.to_le_bytes());
        assert_eq!(cpu.clock.0 - clock.0, 11);
        assert!(!cpu.interrupts_enabled());
        let [.., acknowledge, high, low] = board.transfers()[..] else { panic!("{:?}", board.record) };
        assert_eq!(acknowledge, (CycleKind::InterruptAcknowledge, Some(pc), Some(0o307 | vector << 3)));
        assert_eq!((high.0, low.0), (CycleKind::StackWrite, CycleKind::StackWrite));
    }
}

/// Any instruction may be given. One that changes no program counter is followed by the program where it was.
#[test]
fn an_acknowledged_nop_or_mvi_skips_nothing() {
    for instruction in [&[NOP][..], &[0o076, 0o102]] {
        let (mut cpu, mut board) = interruptible(instruction);
        let pc = cpu.registers.pc;
        cpu.step(&mut board);
        assert_eq!(cpu.registers.pc, pc);
        assert!(board.instruction.is_empty(), "each byte was fetched from the device");
    }
}

/// Common practice [C] (interrupt controllers give CALL): the further bytes come from the device too, and the program
/// counter stays, so that the routine can return.
#[test]
fn an_acknowledged_call_can_return() {
    let (mut cpu, mut board) = interruptible(&[0o315, 0x00, 0x03]);
    board.put(0x0300, &[0o311]);
    let pc = cpu.registers.pc;
    board.put(pc, &[0o076, 0o102]); // MVI A,102Q
    cpu.step(&mut board);
    assert_eq!(cpu.registers.pc, 0x0300);
    board.interrupt = false;
    cpu.step(&mut board);
    assert_eq!(cpu.registers.pc, pc);
    cpu.step(&mut board);
    assert_eq!(cpu.registers.pc, pc + 2, "the next instruction is the program's own");
    assert_eq!(cpu.registers.get(Register::A), 0o102);
}

/// Common practice [C]: a device that gives no instruction leaves the bus high, which is RST 7.
#[test]
fn an_undriven_bus_restarts_at_070() {
    struct Undriven;
    impl Bus for Undriven {
        fn read(&mut self, _address: u16) -> u8 {
            NOP
        }
        fn write(&mut self, _address: u16, _byte: u8) {}
        fn input(&mut self, _port: u8) -> u8 {
            0o377
        }
        fn output(&mut self, _port: u8, _byte: u8) {}
        fn interrupt(&mut self) -> bool {
            true
        }
    }
    let (mut cpu, _) = interruptible(&[]);
    cpu.step(&mut Undriven);
    assert_eq!(cpu.registers.pc, 0o070);
}

/// HLT takes 7 states: the fetch and the cycle that acknowledges the halt (Table 2-2). An interrupt ends the halt.
#[test]
fn an_interrupt_ends_a_halt() {
    let mut board = Board::with_program(&[EI, HLT]);
    let mut cpu = cpu();
    assert_eq!(cpu.run(&mut board, TStates(1000)), Pause::Halted);
    assert_eq!(cpu.clock, TStates(4 + 7));
    let cycles = board.record.len();
    cpu.step(&mut board);
    assert!(cpu.is_halted());
    assert_eq!((cpu.clock, board.record.len()), (TStates(12), cycles), "a halted processor only lets time pass");

    board.interrupt = true;
    board.instruction = vec![RST_3];
    assert_eq!(cpu.run(&mut board, TStates(13)), Pause::Deadline);
    assert!(!cpu.is_halted());
    assert_eq!(board.record[cycles].kind, CycleKind::InterruptAcknowledgeWhileHalted);
    assert_eq!(board.status()[cycles], "053");
    assert_eq!(board.memory[0x1FFE..0x2000], (START + 2).to_le_bytes(), "return goes behind the HLT");
}

/// Chapter 2: with interrupts disabled only RESET leaves the halt.
#[test]
fn after_di_only_reset_ends_a_halt() {
    let mut board = Board::with_program(&[DI, HLT]);
    board.interrupt = true;
    board.instruction = vec![RST_3];
    let mut cpu = cpu();
    assert_eq!(cpu.run(&mut board, TStates(1000)), Pause::Halted);
    cpu.step(&mut board);
    assert!(cpu.is_halted());
    cpu.reset();
    cpu.step(&mut board);
    assert_eq!(cpu.registers.pc, 1);
}

#[test]
fn a_run_completes_the_instruction_in_which_the_deadline_falls() {
    let mut board = Board::with_program(&[0o001, 0, 0, 0o001, 0, 0, HLT]);
    let mut cpu = cpu();
    assert_eq!(cpu.run(&mut board, TStates(11)), Pause::Deadline);
    assert_eq!(cpu.clock, TStates(20));
    assert_eq!(cpu.run(&mut board, TStates(20)), Pause::Deadline);
    assert_eq!(cpu.clock, TStates(20));
}

/// A processor with interrupts enabled, and a device that requests one with `instruction`.
fn interruptible(instruction: &[u8]) -> (Cpu, Board) {
    let mut board = Board::with_program(&[EI, NOP, NOP, NOP]);
    let mut cpu = cpu();
    cpu.step(&mut board);
    cpu.step(&mut board);
    assert!(cpu.interrupts_enabled());
    board.interrupt = true;
    board.instruction = instruction.to_vec();
    (cpu, board)
}

fn kinds(board: &Board) -> Vec<CycleKind> {
    board.record.iter().map(|cycle| cycle.kind).collect()
}
