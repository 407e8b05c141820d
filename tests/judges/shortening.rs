//! Programs before and after each suggestion of `shorten`, run on the independent processor `iz80` from random states: what
//! they put out and leave in memory must be the same.

use std::collections::BTreeMap;

use coldwright::assembler::{Assembly, Options, StdlibOnly, Worth, assemble};
use coldwright::shortening::{Depth, Outside, Reason, Search, Suggestion, Unseen, Way, shorten};
use coldwright::source::{Origin, SourceId, SourceMap};
use iz80::{Cpu, Machine, Reg8};

use super::iz80_board::Numbers as Random;

/// Programs that are drawn; more with `COLDWRIGHT_SHORTEN=5000`.
const PROGRAMS: u64 = 12;

/// Runs of each program before and after each suggestion; more with `COLDWRIGHT_SHORTEN_RUNS=400`.
const RUNS: u64 = 40;

/// Among so many programs every kind of suggestion must be there.
const MANY: u64 = 100;

/// A count that the environment may give.
fn wished(name: &str, usual: u64) -> u64 {
    std::env::var(name).ok().and_then(|count| count.parse().ok()).unwrap_or(usual)
}

/// Instructions of a run, the most: programs that are drawn end before.
const STEPS: usize = 20_000;

/// Memory of the programs' data: 16 bytes from here on.
const DATA: u16 = 0x4000;

struct Bench {
    memory: Vec<u8>,
    sent: Vec<(u8, u8)>,
}

impl Machine for Bench {
    fn peek(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }
    fn poke(&mut self, address: u16, value: u8) {
        self.memory[usize::from(address)] = value;
    }
    fn port_in(&mut self, address: u16) -> u8 {
        (address as u8).wrapping_mul(0o35).rotate_left(3)
    }
    fn port_out(&mut self, address: u16, value: u8) {
        self.sent.push((address as u8, value));
    }
}

/// What a run shows: what was put out, the data, and whether it ended.
fn shown(assembly: &Assembly, seed: u64) -> (Vec<(u8, u8)>, Vec<u8>, bool) {
    let mut random = Random(seed);
    let mut bench = Bench { memory: vec![0; 0x1_0000], sent: Vec::new() };
    for extent in assembly.image.extents() {
        bench.memory[extent.base.index()..][..extent.bytes.len()].copy_from_slice(extent.bytes);
    }
    for at in 0..16 {
        bench.memory[usize::from(DATA) + at] = random.next() as u8;
    }
    let mut cpu = Cpu::new_8080();
    for register in [Reg8::A, Reg8::B, Reg8::C, Reg8::D, Reg8::E, Reg8::H, Reg8::L] {
        cpu.registers().set8(register, random.next() as u8);
    }
    // Bits 1, 3 and 5 of the flags are no flags.
    cpu.registers().set8(Reg8::F, random.next() as u8 & 0xD7 | 2);
    cpu.registers().set_pc(assembly.image.entry.unwrap().0);
    let mut steps = 0;
    while !cpu.is_halted() && steps < STEPS {
        cpu.execute_instruction(&mut bench);
        steps += 1;
    }
    let data = bench.memory[usize::from(DATA)..][..16].to_vec();
    (bench.sent, data, cpu.is_halted())
}

fn assembled(text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
    let mut sources = SourceMap::default();
    let own = sources.add("drawn.asm", text, Origin::Given);
    let options = Options { definitions: Vec::new(), warn_unused: false, keep_lines: false };
    let assembly = assemble(&mut sources, own, &options, &mut StdlibOnly);
    (!assembly.diagnostics.has_errors()).then_some((sources, own, assembly))
}

/// Names of ports, numbered as they stand here.
const PORTS: [&str; 4] = ["NORTH", "EAST", "SOUTH", "WEST"];

const REGISTERS: [&str; 7] = ["A", "B", "C", "D", "E", "H", "L"];

/// An instruction that runs straight on, of all kinds; constants are few, so that registers often hold what is needed.
fn straight(random: &mut Random) -> String {
    let mut pick = |count: u64| (random.next() % count) as usize;
    let (one, other) = (REGISTERS[pick(7)], REGISTERS[pick(7)]);
    let byte = [0, 1, 255, 3, 0x80, 7][pick(6)];
    let data = format!("DATA+{}", pick(16));
    let operation = ["ADD", "ADC", "SUB", "SBB", "ANA", "XRA", "ORA", "CMP"][pick(8)];
    let immediate = ["ADI", "ACI", "SUI", "SBI", "ANI", "XRI", "ORI", "CPI"][pick(8)];
    match pick(20) {
        0..=2 => format!("MVI {one},{byte}"),
        3..=4 => format!("MOV {one},{other}"),
        5..=6 => format!("{operation} {one}"),
        7..=8 => format!("{immediate} {byte}"),
        9 => format!("INR {one}"),
        10 => format!("DCR {one}"),
        11 => ["RLC", "RRC", "RAL", "RAR", "CMA", "STC", "CMC", "DAA", "XCHG"][pick(9)].to_owned(),
        12 => format!("LDA {data}"),
        13 => format!("STA {data}"),
        14 => format!("LXI {},{byte}", ["B", "D", "H"][pick(3)]),
        15 => format!("LXI H,{data}\n MOV {one},M\n INX H"),
        16 => format!("LXI H,{data}\n MOV M,{one}"),
        17 => format!("{} {}", ["INX", "DCX", "DAD"][pick(3)], ["B", "D", "H"][pick(3)]),
        18 => format!("LHLD DATA+{}", pick(15)),
        _ => format!("OUT {}", PORTS[pick(4)]),
    }
}

/// A part of a program: straight runs, jumps forward, calls, and an end.
fn part(random: &mut Random, name: &str, calls: &[String], end: &str) -> String {
    let blocks = 2 + random.next() % 4;
    let mut text = format!("{name}:\n");
    for block in 0..blocks {
        text += &format!("{name}{block}:\n");
        for _ in 0..1 + random.next() % 6 {
            text += &format!(" {}\n", straight(random));
        }
        let condition = ["JMP", "JZ", "JNZ", "JC", "JNC", "JM", "JP", "JPE", "JPO"][(random.next() % 9) as usize];
        let on = block + 1 + random.next() % (blocks - block);
        match random.next() % 6 {
            0 | 1 => text += &format!(" {condition} {name}{on}\n"),
            2 => {
                text += &format!(
                    " {} {name}{}\n JMP {name}{on}\n",
                    if condition == "JMP" { "JZ" } else { condition },
                    block + 1
                )
            }
            3 if !calls.is_empty() => {
                let callee = &calls[(random.next() % calls.len() as u64) as usize];
                text += &format!(" CALL {callee}\n");
            }
            4 => text += " PUSH PSW\n PUSH H\n POP H\n POP PSW\n",
            _ => {}
        }
    }
    let delay = if random.next().is_multiple_of(3) { delay(random, name) } else { String::new() };
    text + &format!("{name}{blocks}:\n OUT NORTH\n{delay}{end}")
}

/// A loop that only passes time, filled with one of many things. Its lines are marked.
fn delay(random: &mut Random, name: &str) -> String {
    let fill = [
        "PUSH H;TIME\n POP H",
        "XTHL;TIME\n XTHL",
        "CALL PAUSE",
        "PUSH PSW;TIME\n LDA DATA;TIME\n MVI A,0;TIME\n POP PSW",
        "PUSH PSW;TIME\n IN EAST;TIME\n CPI 0;TIME\n POP PSW",
        "PUSH D;TIME\n MVI D,0;TIME\n MVI E,0;TIME\n POP D",
        "OUT SOUTH;TIME\n MOV L,L",
    ];
    let fill = fill[(random.next() % fill.len() as u64) as usize];
    format!(" MVI C,3\n{name}W: {fill};TIME\n DCR C;TIME\n JNZ {name}W;TIME\n")
}

fn program(seed: u64) -> String {
    let mut random = Random(seed);
    let mut calls = Vec::new();
    // One that lies where a restart goes.
    let vector = if seed.is_multiple_of(3) && seed % 4 != 2 {
        calls.push("VECTOR".to_owned());
        " ORG 10H\nVECTOR: ADD C\n XRA E\n MOV D,A\n RET\n"
    } else {
        ""
    };
    let mut parts = Vec::new();
    for name in ["DEEP", "NEAR", "LAST"] {
        let end = match random.next() % 3 {
            0 if !calls.is_empty() => format!(" CALL {}\n RET\n", calls[0]),
            1 => " JMP BACK\n".to_owned(),
            _ => " RET\n".to_owned(),
        };
        parts.push(part(&mut random, name, &calls, &end));
        calls.push(name.to_owned());
    }
    let show = " OUT NORTH\n MOV A,B\n OUT EAST\n MOV A,H\n OUT WEST\n HLT\n";
    let ports: String = PORTS.iter().zip(0..).map(|(name, number)| format!("{name} EQU {number}\n")).collect();
    let pause = "PAUSE: MOV A,A;TIME\n NOP;TIME\n RET;TIME\n";
    let (says, words) = words(&mut random);
    let main = part(&mut random, "MAIN", &calls, show);
    let loads = ["MVI B,1\n OUT EAST\n MVI C,3", "MVI D,0\n STA DATA\n INR A\n MVI E,7"][(seed % 2) as usize];
    let often = [" CALL NEAR\n CALL NEAR\n", ""][(seed % 4 != 2) as usize];
    let text = format!(
        "{ports}DATA EQU {DATA}\n{vector} ORG 100H\nSTART: LXI SP,8000H\n{says}{often} {loads}\n{main}{}{pause}BACK: RET\n{words} END START\n",
        parts.concat()
    );
    if seed % 4 == 2 { filled(&text) } else { text }
}

/// A program with bytes that are filled where restarts go, and no small number that a pointer may begin with.
fn filled(text: &str) -> String {
    let small = |line: &str| {
        let word = line.trim_start().strip_prefix("LXI ").filter(|it| !it.starts_with("SP"));
        word.and_then(|it| it.split_once(',')).is_some_and(|(_, number)| number.parse::<u16>().is_ok())
    };
    let lines: Vec<_> = text.lines().map(|line| if small(line) { " LXI D,DATA" } else { line }).collect();
    lines.join("\n").replace(" ORG 100H\n", " ORG 0\n JMP START\n STUFFTO 100Q,0\n ORG 100H\n") + "\n"
}

/// Texts of few letters, so that one often lies in another, and what is done with them: put out up to a nought, or so many
/// bytes of them, be it more than there are; read by their labels; and written, by some.
fn words(random: &mut Random) -> (String, String) {
    let mut pick = |count: u64| random.next() % count;
    let (mut says, mut words) = (String::new(), String::new());
    for number in 0..3 + pick(2) {
        let letters: String = (0..1 + pick(5)).map(|_| ['P', 'Q'][pick(2) as usize]).collect();
        let ends = pick(3) > 0;
        words += &format!("TEXT{number}: DB '{letters}'{}\n", if ends { ",0" } else { "" });
        let far = if pick(8) == 0 { letters.len() as u64 + 2 } else { letters.len() as u64 };
        says += &match pick(6) {
            0 | 1 if ends => format!(" LXI H,TEXT{number}\n CALL SAY\n"),
            0..=3 => format!(
                " LXI H,TEXT{number}\n MVI C,{far}\nMORE{number}: MOV A,M\n OUT WEST\n INX H\n DCR C\n JNZ MORE{number}\n"
            ),
            4 => format!(" LDA TEXT{number}\n OUT WEST\n"),
            _ if pick(3) == 0 => format!(" LXI H,TEXT{number}\n INR M\n MOV A,M\n OUT WEST\n"),
            _ => format!(" LXI D,TEXT{number}\n LDAX D\n PUSH D\n OUT WEST\n POP H\n MOV A,M\n OUT EAST\n"),
        };
    }
    // No address of its own is left in a register: it would be shown, and what is moved is not where it was.
    says += " LXI H,DATA\n LXI D,DATA\n";
    (says, format!("SAY: MOV A,M\n ORA A\n RZ\n OUT WEST\n INX H\n JMP SAY\n{words}"))
}

/// What a suggestion is of, for the count.
fn kind(it: &Suggestion) -> &'static str {
    let first = it.places.first().and_then(|place| place.before.first()).map_or("", String::as_str);
    match it.reason {
        Reason::Form { .. } if it.places.len() > 1 => "apart",
        Reason::Form { .. } if first.contains("LXI") && first.contains("TEXT") => "counted on",
        Reason::Form { .. } => "form",
        Reason::Slot { .. } => "slot",
        Reason::Way(Way::ToNext) => "to next",
        Reason::Way(Way::ToReturn) => "to return",
        Reason::Way(Way::CallAndReturn) => "call and return",
        Reason::Way(Way::OverJump) => "over jump",
        Reason::Way(Way::Restart) => "restart",
        Reason::Way(Way::SharedTail) => "shared tail",
        Reason::Way(Way::SameData) => "same data",
    }
}

/// All of them but loads that are counted on, which are forms as well.
const KINDS: [&str; 10] = [
    "form",
    "apart",
    "to next",
    "to return",
    "call and return",
    "over jump",
    "restart",
    "shared tail",
    "same data",
    "slot",
];

fn address(assembly: &Assembly, label: &str) -> u16 {
    let id = assembly.names.all().find(|&id| assembly.names.text(id) == label).unwrap();
    match assembly.symbols.get(id).unwrap().worth {
        Worth::Known(value) => value,
        Worth::Pending => panic!("{label} has no value"),
    }
}

#[test]
fn no_suggestion_changes_what_a_program_does() {
    let (programs, runs) = (wished("COLDWRIGHT_SHORTEN", PROGRAMS), wished("COLDWRIGHT_SHORTEN_RUNS", RUNS));
    let (mut suggestions, mut saved) = (0, 0);
    let mut compared: BTreeMap<&str, u64> = BTreeMap::new();
    for seed in 0..programs {
        let text = program(seed);
        let (sources, own, assembly) = assembled(&text).unwrap_or_else(|| panic!("{text}"));
        let before: Vec<_> = (0..runs).map(|run| shown(&assembly, seed << 32 | run)).collect();
        assert!(before.iter().all(|(_, _, ended)| *ended), "a program that does not end\n{text}");
        // Of some, others know where a routine lies; in a few it is looked further.
        let near = address(&assembly, "NEAR");
        let known = seed % 4 == 1;
        let outside = Outside { named: known.then_some(near).into_iter().collect(), ..Outside::default() };
        let depth = if seed % 128 == 127 { Depth::Deep } else { Depth::Two };
        let found = match shorten(&sources, own, &assembly, &outside, &Search::new(depth), &assembled) {
            // What it reads or writes may be its own instructions.
            Err(Unseen::WalksItself { .. }) => continue,
            found => found.unwrap(),
        };
        for suggestion in found {
            let timed = suggestion.places.iter().flat_map(|it| &it.before).any(|line| line.contains("TIME"));
            assert!(!timed, "program {seed}: {suggestion:#?}\n{text}");
            let (_, _, after) = assembled(&suggestion.text).unwrap();
            assert!(!known || address(&after, "NEAR") == near, "program {seed}: {suggestion:#?}\n{text}");
            for (run, before) in before.iter().enumerate() {
                let after = shown(&after, seed << 32 | run as u64);
                assert!(after == *before, "program {seed}, run {run}: {:#?}\n{text}", suggestion);
            }
            suggestions += 1;
            saved += suggestion.saves;
            *compared.entry(kind(&suggestion)).or_default() += runs;
        }
    }
    let total: u64 = compared.values().sum();
    println!("{suggestions} suggestions in {programs} programs, {saved} bytes; {total} states compared: {compared:?}");
    assert!(suggestions > 5 * programs as usize, "{suggestions} suggestions");
    let none: Vec<_> = KINDS.into_iter().filter(|kind| !compared.contains_key(kind)).collect();
    assert!(programs < MANY || none.is_empty(), "kinds that were not attacked: {none:?}");
}
