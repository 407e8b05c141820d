//! The lights sheet against Intel 8080 Microcomputer Systems User's Manual, September 1975: Table 2-1 for the status
//! byte of each type of machine cycle, Table 2-2 for the cycles of each instruction (as in `data/isa-8080.tsv`; the rows
//! of undocumented opcodes are measured).

use std::collections::BTreeSet;

use coldwright::drawing::Item;
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::lights::{End, Lights, Passage, Request};
use coldwright::panel::{Panel, Paper, Port, Ports, Program, StatusLamps};
use coldwright::source::{Origin, Position, SourceMap};

const TABLE: &str = include_str!("data/isa-8080.tsv");

/// The status byte by type of machine cycle: Table 2-1, columns 1 to 7 and 9. `BI` issues none (Table 2-2, note 8).
const STATUS: [(&str, Option<u8>); 9] = [
    ("M1", Some(0o242)),
    ("MR", Some(0o202)),
    ("MW", Some(0o000)),
    ("SR", Some(0o206)),
    ("SW", Some(0o004)),
    ("IN", Some(0o102)),
    ("OUT", Some(0o020)),
    ("HALT", Some(0o212)),
    ("BI", None),
];

/// The letters of the text output, bit 7 first.
const LETTERS: &str = "RIMOHSWA";

/// The names of the bits of the status word, bit 7 first: Table 2-1. WAIT is a pin of its own.
#[test]
fn a_stopped_panel_shows_a_fetch() {
    let names = ["MEMR", "INP", "M1", "OUT", "HLTA", "STACK", "WO", "INTA"];
    assert_eq!(StatusLamps::ALL.names().collect::<Vec<_>>(), [&names[..], &["WAIT"]].concat());
    let fetch = status("M1").unwrap();
    let lit = (0..8).filter(|bit| fetch >> (7 - bit) & 1 == 1).map(|bit| names[bit]).chain(["WAIT"]);
    assert!(Panel::default().examined.names().eq(lit));
}

#[test]
fn the_rows_of_every_opcode_equal_the_published_cycles_and_status_bytes() {
    let mut seen = 0;
    for row in TABLE.lines().skip(1) {
        let columns: Vec<&str> = row.split('\t').collect();
        let opcode = u8::from_str_radix(columns[0], 16).unwrap();
        let published: BTreeSet<Vec<Option<u8>>> =
            columns[6].split('|').map(|cycles| cycles.split(' ').map(status).collect()).collect();
        // All flags clear and all flags set: every condition is met in one of the two and not in the other.
        let shown: BTreeSet<Vec<Option<u8>>> = [0o000, 0o377].into_iter().map(|flags| rows(opcode, flags)).collect();
        assert_eq!(shown, published, "{row}");
        seen += 1;
    }
    assert_eq!(seen, 256);
}

fn status(kind: &str) -> Option<u8> {
    STATUS.iter().find(|(name, _)| *name == kind).unwrap_or_else(|| panic!("no cycle {kind}")).1
}

/// The status lights of an instruction as they are printed, read back from the text.
fn rows(opcode: u8, flags: u8) -> Vec<Option<u8>> {
    // LXI SP,100Q; POP PSW; the instruction; flags and A at 100Q.
    let program = program(&[(0, &[0o061, 0o100, 0, 0o361, opcode, 0o123, 0]), (0o100, &[flags, 0])]);
    let lights = Lights::run(&program, &Request { cycles: 30, ..Request::default() });
    let text = lights.text(&program, &Ports::default());
    let instruction = text.split("000004  ").nth(1).expect("the instruction has a heading");
    // The status lights stand in their columns; below the bus action nothing does. An empty line parts instructions.
    let rows = instruction.lines().skip(1).take_while(|line| !line.is_empty());
    rows.filter_map(|line| status_column(line.get(44..52)?)).collect()
}

fn status_column(lights: &str) -> Option<Option<u8>> {
    if lights == "--------" {
        return Some(None);
    }
    let mut byte = 0;
    for (light, letter) in lights.chars().zip(LETTERS.chars()) {
        byte = byte << 1 | u8::from(light == letter);
        if light != letter && light != '.' {
            return None;
        }
    }
    Some(Some(byte))
}

#[test]
fn a_byte_goes_out_and_a_port_is_read() {
    // MVI A,20Q; OUT 156Q; IN 60Q; HLT
    let program = program(&[(0, &[0o076, 0o020, 0o323, 0o156, 0o333, 0o060, 0o166])]);
    let mut ports = Ports::default();
    ports.outputs.insert(0o156, Port { name: "lamps".into(), ..Port::default() });
    let lights = Lights::run(&program, &Request { cycles: 100, ..Request::default() });
    assert_eq!(lights.end, End::Halted);
    let text = lights.text(&program, &ports);
    let rows: Vec<&str> = text.lines().filter(|line| line.starts_with("[ ]")).collect();
    // Address lights, data lights, status lights in the order MEMR INP M1 OUT HLTA STACK WO INTA, bus.
    let expected = [
        "[ ]    1 . ... ... ... ... ...  .. *** **.  R.M...W.  reads 076 from 000000",
        "[ ]    2 . ... ... ... ... ..*  .. .*. ...  R.....W.  reads 020 from 000001",
        "[ ]    3 . ... ... ... ... .*.  ** .*. .**  R.M...W.  reads 323 from 000002",
        "[ ]    4 . ... ... ... ... .**  .* *.* **.  R.....W.  reads 156 from 000003",
        "[ ]    5 . **. *** ..* *.* **.  .. .*. ...  ...O....  writes 020 to port 156",
        "[ ]    6 . ... ... ... ... *..  ** .** .**  R.M...W.  reads 333 from 000004",
        "[ ]    7 . ... ... ... ... *.*  .. **. ...  R.....W.  reads 060 from 000005",
        "[ ]    8 . .** ... ... **. ...  ?? ??? ???  .I....W.  reads port 060: open",
        "[ ]    9 . ... ... ... ... **.  .* **. **.  R.M...W.  reads 166 from 000006",
        "[ ]   10 . ... ... ... ... ***  -- --- ---  R...H.W.  halts",
    ];
    assert_eq!(rows, expected);
    assert!(text.contains("\"lamps\""));
}

#[test]
fn loops_fold_and_waiting_for_ever_ends_the_sheet() {
    // MVI B,5; DCR B; JNZ 2; IN 60Q; RRC; JNC 6
    let program = program(&[(0, &[0o006, 5, 0o005, 0o302, 2, 0, 0o333, 0o060, 0o017, 0o322, 6, 0])]);
    let lights = Lights::run(&program, &Request { cycles: 1000, ..Request::default() });
    assert_eq!(lights.end, End::Endless);
    let [_, Passage::Loop(count), Passage::Loop(_)] = &lights.passages[..] else { panic!("{:?}", lights.passages) };
    // Four machine cycles a pass: DCR one, JNZ three.
    assert_eq!((count.count, count.steps), (5, 20));
    let fixed = Request {
        cycles: 1000,
        inputs: [(0o60, [0, 0, 1].into())].into(),
        until: Some(Address(0o14)),
        ..Request::default()
    };
    let lights = Lights::run(&program, &fixed);
    assert_eq!(lights.end, End::Reached(Address(0o14)));
    let Some(Passage::Loop(polling)) = lights.passages.last() else { panic!("{:?}", lights.passages) };
    assert_eq!(polling.count, 3);
}

fn program(parts: &[(u16, &[u8])]) -> Program {
    let mut sources = SourceMap::default();
    let source = sources.add("test", "", Origin::Given);
    let mut image = Image::default();
    for (base, bytes) in parts {
        assert_eq!(image.insert(Address(*base), bytes, Position { source, offset: 0 }), Ok(()));
    }
    Program::from_bytes("test", image, Notation::Octal)
}

/// A light that the panel does not have is drawn nowhere, and stands in no legend.
#[test]
fn lamps_that_a_panel_lacks_are_not_drawn() {
    // MVI A,20Q; OUT 156Q; HLT
    let program = program(&[(0, &[0o076, 0o020, 0o323, 0o156, 0o166])]);
    let lamps = [3, 4, 8].map(|at| StatusLamps::NAMES[at].1);
    for has in [StatusLamps::ALL, StatusLamps::NONE, lamps[0].with(lamps[1]), lamps[2]] {
        let panel = Panel { lamps: has, ..Panel::default() };
        let lights = Lights::run(&program, &Request { cycles: 9, panel, ..Request::default() });
        let text = lights.text(&program, &Ports::default());
        let drawing = lights.draw(&program, &Ports::default(), Paper::A4);
        let items = drawing.pages.iter().flat_map(|page| &page.items);
        let drawn: Vec<&str> =
            items.filter_map(|item| if let Item::Text(text) = item { Some(&*text.text) } else { None }).collect();
        for (name, lamp) in &StatusLamps::NAMES[..8] {
            let legend =
                text.lines().any(|line| line.starts_with("Status: ") && line.split(' ').any(|word| word == *name));
            assert_eq!(legend, has.contains(*lamp), "{name}: {text}");
            assert_eq!(drawn.contains(name), has.contains(*lamp), "{name}");
        }
        let waits = [&text.replace('\n', " "), &drawn.join(" ")].map(|said| said.contains("WAIT is lit"));
        assert_eq!(waits, [has.contains(lamps[2]); 2], "{text}");
        // The status lights of the rows are as many as the legend has.
        let row = text.lines().find(|line| line.starts_with("[ ]    3 ")).unwrap();
        let status = row[44..52].trim_end();
        assert_eq!(status.len(), has.names().filter(|name| *name != "WAIT").count(), "{row}");
    }
}
