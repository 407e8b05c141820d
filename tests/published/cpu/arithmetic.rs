//! Results and flags.

use coldwright::cpu::Cpu;
use coldwright::isa::{Flags, Pair, Register};

use super::board::{Board, START, cpu};

/// The execution examples printed with the instructions in the Intel 8080 Assembly Language Programming Manual and in
/// the 8080/8085 Assembly Language Programming Manual, `[M]` and `[D]`: accumulator and carry before, operand, what is
/// published after. Flags that the manuals do not print are not looked at. DAA: the 1977 manual, p. 3-19 `[V]`.
#[test]
fn accumulator_examples() {
    let (s, z, a, p, c) = (Flags::S.0, Flags::Z.0, Flags::A.0, Flags::P.0, Flags::C.0);
    let all = s | z | a | p | c;
    // Instruction, operand in D, A and flags before, A after, flags looked at and those of them set.
    let examples = [
        ("ADD D", 0x82, 0x2E, (0x6C, 0), 0x9A, (all, s | p | a)),
        ("ADC D, carry 0", 0x8A, 0x3D, (0x42, 0), 0x7F, (all, 0)),
        ("ADC D, carry 1", 0x8A, 0x3D, (0x42, c), 0x80, (all, s | a)),
        ("SBB D", 0x9A, 0x02, (0x04, c), 0x01, (all, a)),
        ("ANA D", 0xA2, 0x0F, (0xFC, 0), 0x0C, (c, 0)),
        ("ORA D", 0xB2, 0x0F, (0x33, 0), 0x3F, (c, 0)),
        ("RLC", 0x07, 0, (0xF2, 0), 0xE5, (c, c)),
        ("RRC", 0x0F, 0, (0xF2, 0), 0x79, (c, 0)),
        ("RAL", 0x17, 0, (0xB5, 0), 0x6A, (c, c)),
        ("RAR", 0x1F, 0, (0x6A, c), 0xB5, (c, 0)),
        ("CMA", 0x2F, 0, (0x51, 0), 0xAE, (0, 0)),
        ("DAA", 0x27, 0, (0x9B, 0), 0x01, (c | a, c | a)),
        // Flag notes of chapter 4: no bit is set but those named.
        ("XRA D clears both carries", 0xAA, 0x0F, (0xFF, c | a), 0xF0, (all, s | p)),
        ("SUB D, 0 - 0", 0x92, 0, (0, c), 0, (all, z | p | a)),
        ("STC", 0x37, 0, (0, s), 0, (all, s | c)),
        ("CMC", 0x3F, 0, (0, c), 0, (all, 0)),
    ];
    for (name, opcode, operand, (before, flags), after, (looked_at, set)) in examples {
        let mut cpu = cpu();
        cpu.registers.set(Register::A, before);
        cpu.registers.set(Register::D, operand);
        cpu.registers.set_flags(Flags(flags));
        let cpu = stepped(cpu, &[opcode]).0;
        assert_eq!(cpu.registers.get(Register::A), after, "{name}");
        assert_eq!(cpu.registers.flags().0 & looked_at, set, "{name}");
    }
}

/// The 1977 manual, p. 6-11 `[V]`: 32AF8AH and 84BA90H are B76A1AH, added from the low byte on; the carries of the first
/// two bytes are 1.
#[test]
fn addition_of_three_bytes() {
    let mut cpu = cpu();
    let mut carries = Vec::new();
    let sum: Vec<u8> = [(0x8A, 0x90), (0xAF, 0xBA), (0x32, 0x84)]
        .into_iter()
        .map(|(one, other)| {
            cpu.registers.set(Register::A, one);
            cpu.registers.set(Register::D, other);
            execute(&mut cpu, 0x8A);
            carries.push(cpu.registers.flags().0 & Flags::C.0 != 0);
            cpu.registers.get(Register::A)
        })
        .collect();
    assert_eq!((sum, carries), (vec![0x1A, 0x6A, 0xB7], vec![true, true, false]));
}

/// The 1977 manual, p. 6-13 `[V]`: 2985 and 4936 are 7921 in decimal. 85H and 36H give BBH without either carry, which DAA
/// makes 21H and a carry; 29H, 49H and that carry give 73H, which DAA makes 79H `[D]`.
#[test]
fn decimal_addition() {
    let mut cpu = cpu();
    let carries = Flags::A.0 | Flags::C.0;
    let add = |cpu: &mut Cpu, one, other| {
        cpu.registers.set(Register::A, one);
        cpu.registers.set(Register::D, other);
        execute(cpu, 0x8A);
        let sum = (cpu.registers.get(Register::A), cpu.registers.flags().0 & carries);
        execute(cpu, 0x27);
        (sum, (cpu.registers.get(Register::A), cpu.registers.flags().0 & Flags::C.0))
    };
    assert_eq!(add(&mut cpu, 0x85, 0x36), ((0xBB, 0), (0x21, Flags::C.0)));
    assert_eq!(add(&mut cpu, 0x29, 0x49), ((0x73, Flags::A.0), (0x79, 0)));
}

/// The 1977 manual, p. 6-8 `[V]`: 3CH times 2AH by adding and shifting right; the product in two registers after steps 3 to 8.
/// The scan drops the last digit of 09D8H `[D]`.
#[test]
fn multiplication_by_shifts() {
    let mut cpu = cpu();
    for (register, value) in [(Register::B, 0), (Register::C, 0x3C), (Register::D, 0x2A)] {
        cpu.registers.set(register, value);
    }
    let mut products = Vec::new();
    for step in 1..=8 {
        // MOV A,C; RAR; MOV C,A; MOV A,B: the multiplier's lowest bit is in the carry.
        [0x79, 0x1F, 0x4F, 0x78].into_iter().for_each(|opcode| execute(&mut cpu, opcode));
        if cpu.registers.flags().0 & Flags::C.0 != 0 {
            execute(&mut cpu, 0x82); // ADD D
        }
        [0x1F, 0x47].into_iter().for_each(|opcode| execute(&mut cpu, opcode)); // RAR; MOV B,A
        // The low half of the product grows from above into the multiplier's register.
        let carry = u16::from(cpu.registers.flags().0 & Flags::C.0);
        let high = cpu.registers.get(Register::B);
        let grown = (u16::from(cpu.registers.get(Register::C)) & (0xFF << (9 - step)) & 0xFF) >> 1 | carry << 7;
        products.push((high, grown as u8));
    }
    assert_eq!(products[2..], [(0x15, 0x00), (0x1F, 0x80), (0x24, 0xC0), (0x27, 0x60), (0x13, 0xB0), (0x09, 0xD8)]);
}

/// The same manuals: DAD B, INX D, XTHL `[M]` and `[D]`.
#[test]
fn pair_examples() {
    let mut start = cpu();
    start.registers.set_pair(Pair::B, 0x339F);
    start.registers.set_pair(Pair::H, 0xA17B);
    let after = stepped(start, &[0x09]).0.registers;
    assert_eq!((after.pair(Pair::H), after.flags()), (0xD51A, Flags::NONE), "DAD B");

    let mut start = cpu();
    start.registers.set_pair(Pair::D, 0x38FF);
    assert_eq!(stepped(start, &[0x13]).0.registers.pair(Pair::D), 0x3900, "INX D");

    let mut start = cpu();
    start.registers.sp = 0x10AD;
    start.registers.set_pair(Pair::H, 0x0B3C);
    let mut board = Board::with_program(&[0xE3]);
    board.put(0x10AD, &[0xF0, 0x0D]);
    start.step(&mut board);
    assert_eq!(start.registers.pair(Pair::H), 0x0DF0, "XTHL");
    assert_eq!(board.memory[0x10AD..0x10AF], [0x3C, 0x0B], "XTHL");
    assert_eq!(start.registers.sp, 0x10AD, "XTHL");
}

/// The Programming Manual, page 1-12: AND sets the auxiliary carry to the OR of bit 3 of both operands. (The User's
/// Manual of 1975 has ANI clear it; the later statement is taken, and two libraries agree.)
#[test]
fn auxiliary_carry_after_and() {
    for (a, byte, auxiliary) in [(0x08, 0x00, true), (0x00, 0x08, true), (0xFF, 0xFF, true), (0xF7, 0xF7, false)] {
        let mut start = cpu();
        start.registers.set(Register::A, a);
        start.registers.set(Register::B, byte);
        start.registers.set_flags(Flags::ALL);
        for program in [&[0xA0][..], &[0xE6, byte]] {
            let flags = stepped(start.clone(), program).0.registers.flags();
            assert_eq!(flags.contains(Flags::A), auxiliary, "{a:02X} AND {byte:02X}");
            assert!(!flags.contains(Flags::C), "{a:02X} AND {byte:02X}");
        }
    }
}

/// The User's Manual, chapter 4 `[M]`: INR and DCR leave the carry, INX and DCX all flags, DAD all but the carry.
#[test]
fn flags_left_alone() {
    for carry in [Flags::NONE, Flags::C] {
        for (opcode, before, flags) in
            [(0x3C, 0xFF, Flags::Z.0 | Flags::P.0 | Flags::A.0), (0x3D, 0x00, Flags::S.0 | Flags::P.0)]
        {
            let mut start = cpu();
            start.registers.set(Register::A, before);
            start.registers.set_flags(carry);
            assert_eq!(stepped(start, &[opcode]).0.registers.flags().0, flags | carry.0, "{opcode:02X}");
        }
    }
    for flags in [Flags::NONE, Flags::ALL] {
        let mut start = cpu();
        start.registers.set_pair(Pair::H, 0xFFFF);
        start.registers.set_flags(flags);
        assert_eq!(stepped(start.clone(), &[0x23]).0.registers.flags(), flags, "INX H");
        assert_eq!(stepped(start.clone(), &[0x2B]).0.registers.flags(), flags, "DCX H");
        assert_eq!(stepped(start, &[0x29]).0.registers.flags().0, flags.0 | Flags::C.0, "DAD H");
    }
}

/// The User's Manual, PUSH PSW `[M]`: the accumulator is the high byte; of the low byte bit 1 reads one, bits 3 and 5
/// read zero, whatever was popped into them. With all flags clear the low byte is 02 `[D]`.
#[test]
fn form_of_psw() {
    for (popped, pushed) in [(0x00, 0x02), (0xFF, 0xD7), (0x28, 0x02), (0x40, 0x42)] {
        let mut board = Board::with_program(&[0xF1, 0xF5]);
        board.put(0x2000, &[popped, 0x5A]);
        let mut cpu = cpu();
        cpu.step(&mut board);
        cpu.step(&mut board);
        assert_eq!(board.memory[0x2000..0x2002], [pushed, 0x5A], "{popped:02X}");
    }
}

/// The opcodes that no Intel table lists, `[D]`: they act as NOP, JMP, RET and CALL.
#[test]
fn undocumented_opcodes() {
    for opcode in [0x08, 0x10, 0x18, 0x20, 0x28, 0x30, 0x38] {
        let mut expected = cpu();
        expected.registers.pc += 1;
        assert_eq!(stepped(cpu(), &[opcode]).0.registers, expected.registers, "{opcode:02X}");
    }
    for (alias, documented) in [(0xCB, 0xC3), (0xD9, 0xC9), (0xDD, 0xCD), (0xED, 0xCD), (0xFD, 0xCD)] {
        let (left, right) = (stepped(cpu(), &[alias, 0x34, 0x12]), stepped(cpu(), &[documented, 0x34, 0x12]));
        assert_eq!(left.0, right.0, "{alias:02X}");
        assert_eq!(left.1.memory[0x1FF0..], right.1.memory[0x1FF0..], "{alias:02X}");
        assert_ne!(left.0.registers.pc, START + 1, "{alias:02X}");
    }
}

/// Runs one instruction of one byte.
fn execute(cpu: &mut Cpu, opcode: u8) {
    cpu.registers.pc = START;
    cpu.step(&mut Board::with_program(&[opcode]));
}

/// Runs the first instruction of `program`.
fn stepped(mut cpu: Cpu, program: &[u8]) -> (Cpu, Board) {
    let mut board = Board::with_program(program);
    cpu.step(&mut board);
    (cpu, board)
}
