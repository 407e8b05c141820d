//! The instruction table against Intel 8080 Microcomputer Systems User's Manual, September 1975 (98-153B): chapter 4
//! and its summary of processor instructions, and Table 2-2 for machine cycles. The rows marked `no` under
//! `documented` are in no Intel table: they are from memory and agree with measurement.

use coldwright::isa::{Cycle, CycleKind, Flags, Instruction, Operands, decode};

const TABLE: &str = include_str!("data/isa-8080.tsv");

#[test]
fn all_256_opcodes_equal_the_published_table() {
    let mut seen = 0;
    for row in TABLE.lines().skip(1) {
        let [opcode, _, mnemonic, operands, bytes, states, cycles, flags, documented, states_each, ..] =
            row.split('\t').collect::<Vec<_>>()[..]
        else {
            panic!("short row: {row}");
        };
        let found = decode(u8::from_str_radix(opcode, 16).unwrap());
        assert_eq!(found.mnemonic.name(), mnemonic, "{row}");
        assert_eq!(written(found.operands), operands, "{row}");
        assert_eq!(found.length.to_string(), bytes, "{row}");
        assert_eq!(t_states(found), states, "{row}");
        assert_eq!(branches(found, |cycle| kind(cycle).to_owned(), " "), cycles, "{row}");
        assert_eq!(branches(found, |cycle| cycle.states.to_string(), ","), states_each, "{row}");
        assert_eq!(flag_letters(found.flags), flags, "{row}");
        assert_eq!(if found.documented { "yes" } else { "no" }, documented, "{row}");
        seen += 1;
    }
    assert_eq!(seen, 256);
}

fn written(operands: Operands) -> String {
    match operands {
        Operands::None => "-".into(),
        Operands::Registers(to, from) => format!("{},{}", to.name(), from.name()),
        Operands::Register(register) => register.name().into(),
        Operands::RegisterByte(register) => format!("{},d8", register.name()),
        Operands::Pair(pair) => pair.name().into(),
        Operands::PairWord(pair) => format!("{},d16", pair.name()),
        Operands::Byte => "d8".into(),
        Operands::Port => "p8".into(),
        Operands::Address => "a16".into(),
        Operands::Vector(vector) => vector.to_string(),
    }
}

fn t_states(found: &Instruction) -> String {
    match found.states_not_taken() {
        Some(fewer) => format!("{}/{fewer}", found.states()),
        None => found.states().to_string(),
    }
}

fn branches(found: &Instruction, show: impl Fn(&Cycle) -> String, between: &str) -> String {
    let join = |cycles: &[Cycle]| cycles.iter().map(&show).collect::<Vec<_>>().join(between);
    match found.cycles_not_taken {
        Some(fewer) => format!("{}|{}", join(found.cycles), join(fewer)),
        None => join(found.cycles),
    }
}

fn kind(cycle: &Cycle) -> &'static str {
    match cycle.kind {
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

fn flag_letters(flags: Flags) -> String {
    let all = [(Flags::S, "S"), (Flags::Z, "Z"), (Flags::A, "A"), (Flags::P, "P"), (Flags::C, "C")];
    let set: Vec<_> = all.iter().filter(|(flag, _)| flags.contains(*flag)).map(|(_, letter)| *letter).collect();
    if set.is_empty() { "-".into() } else { set.join(" ") }
}
