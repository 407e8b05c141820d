//! A loop that waits for the FD1771 is passed over; no count may tell, whatever the program, the wiring and the angle. No
//! sequence of accesses panics or hangs.

use std::sync::LazyLock;

use coldwright::disk::{ChipWires, Form, Layout, Line, Requests, Times, Wire, bundled, write};
use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::disk::{ControllerSetup, DiskSetup, Diskette, DriveSetup};
use coldwright::rehearsal::{Machine, Setup, Stop, Turn, Witness};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::folded::same;

/// The ports of the chip and the two behind them, as those of the tests of a hard-wired controller.
const CHIP: [u8; 4] = [0o210, 0o211, 0o212, 0o213];
const LINES: u8 = 0o60;
const CHOICE: u8 = 0o156;

/// How long a run is: 0.4 s, more than two turns.
const LONG: TStates = TStates(800_000);

static LAYOUT: LazyLock<Layout> = LazyLock::new(|| bundled("marks-26").unwrap());

static DISKETTE: LazyLock<Diskette> =
    LazyLock::new(|| Diskette::new(&LAYOUT, &write::formatted(&LAYOUT, Form::Whole), false).unwrap());

#[derive(Clone, Debug)]
struct Scene {
    wires: ChipWires,
    program: Vec<u8>,
    start: u32,
    off: i64,
    opens: Option<u64>,
}

fn wires() -> impl Strategy<Value = ChipWires> {
    let bits = Just((0..8u8).collect::<Vec<_>>()).prop_shuffle();
    (bits, any::<[bool; 2]>(), any::<bool>(), prop::bool::weighted(0.3)).prop_map(|(bits, lows, inverted, holds)| {
        let line = |at: usize| Line { bit: bits[at], low: lows[at] };
        let requests = Requests { port: LINES, data: line(0), interrupt: line(1), holds };
        let select = Some(Wire { port: CHOICE, bit: bits[2], low: false });
        ChipWires { registers: CHIP, inverted, is_slow: false, requests: Some(requests), select }
    })
}

fn command() -> impl Strategy<Value = u8> {
    let known = vec![0o012, 0o016, 0o022, 0o026, 0o132, 0o210, 0o214, 0o254, 0o304, 0o344, 0o364, 0o320, 0o324, 0o330];
    prop_oneof![4 => prop::sample::select(known), 1 => any::<u8>()]
}

fn instruction(wires: ChipWires) -> impl Strategy<Value = Vec<u8>> {
    let jump = prop::sample::select(vec![0o303, 0o302, 0o312, 0o322, 0o332, 0o352, 0o362]);
    let requests = wires.requests.unwrap();
    let mask = prop::sample::select(vec![1 << requests.data.bit, 1 << requests.interrupt.bit, 1, 2, 0o200]);
    let turned = if wires.inverted { 0xFF } else { 0 };
    prop_oneof![
        3 => (0..4usize).prop_map(|register| vec![0o333, CHIP[register]]),
        3 => mask.clone().prop_map(|mask| vec![0o333, LINES, 0o346, mask]),
        2 => mask.prop_map(|mask| vec![0o333, CHIP[0], 0o346, mask]),
        5 => (jump, 0..24u8).prop_map(|(opcode, place)| vec![opcode, place * 4, 0]),
        4 => command().prop_map(move |byte| vec![0o076, byte ^ turned, 0o323, CHIP[0]]),
        2 => (1..4usize, 0..30u8).prop_map(move |(register, byte)| vec![0o076, byte ^ turned, 0o323, CHIP[register]]),
        1 => any::<u8>().prop_map(|byte| vec![0o076, byte, 0o323, CHOICE]),
        2 => prop::sample::select(vec![0o000, 0o004, 0o015, 0o107, 0o170, 0o247, 0o257, 0o057]).prop_map(|it| vec![it]),
        1 => (0..4u8).prop_map(|place| vec![0o062, 0o200 + place, 0]),
    ]
}

/// Where what follows the selection begins.
const FIRST: u8 = 4 * 2;

/// What a program does that reads sectors or writes them: a command, and then each byte when it is asked for.
fn transfer(wires: ChipWires) -> impl Strategy<Value = Vec<Vec<u8>>> {
    let turned = if wires.inverted { 0xFF } else { 0 };
    let Line { bit, low } = wires.requests.unwrap().data;
    let waits = if low { 0o302 } else { 0o312 };
    (command(), 0..27u8, any::<bool>(), 0..4usize).prop_map(move |(command, sector, reads, idle)| {
        let mut program =
            vec![vec![0o076, 0o320 ^ turned, 0o323, CHIP[0]], vec![0o076, sector ^ turned, 0o323, CHIP[2]]];
        program.push(vec![0o076, command ^ turned, 0o323, CHIP[0]]);
        let turn = FIRST + 4 * program.len() as u8;
        program.extend([vec![0o333, LINES, 0o346, 1 << bit], vec![waits, turn, 0]]);
        program.push(if reads { vec![0o333, CHIP[3], 0o062, 0o200] } else { vec![0o323, CHIP[3], 0, 0] });
        program.extend(std::iter::repeat_n(vec![0o000], idle + 1));
        program.push(vec![0o303, turn, 0]);
        program
    })
}

/// What a program does that counts how often a bit of the status comes and goes.
fn counter(wires: ChipWires) -> impl Strategy<Value = Vec<Vec<u8>>> {
    let turned = if wires.inverted { 0xFF } else { 0 };
    let masks = prop::sample::select(vec![0o002, 0o004, 0o040, 0o200, 0o001]);
    let commands = prop::sample::select(vec![0o012, 0o016, 0o132, 0o172, 0o320, 0o324]);
    (commands, masks).prop_map(move |(command, mask)| {
        let turn = FIRST + 4;
        vec![
            vec![0o076, command ^ turned, 0o323, CHIP[0]],
            vec![0o333, CHIP[0], 0o346, mask],
            vec![0o312, turn, 0],
            vec![0o333, CHIP[0], 0o346, mask],
            vec![0o302, turn + 8, 0],
            vec![0o014, 0o171, 0, 0],
            vec![0o062, 0o200, 0],
            vec![0o303, turn, 0],
        ]
    })
}

fn program(wires: ChipWires) -> impl Strategy<Value = Vec<u8>> {
    let selects = 1 << wires.select.unwrap().bit;
    let wild = prop::collection::vec(instruction(wires), 20);
    prop_oneof![wild.boxed(), transfer(wires).boxed(), counter(wires).boxed()].prop_map(move |instructions| {
        let mut bytes = Vec::new();
        let begins = vec![vec![0o061, 0, 2], vec![0o076, selects, 0o323, CHOICE]];
        for mut instruction in begins.into_iter().chain(instructions) {
            instruction.resize(4, 0);
            bytes.extend(instruction);
        }
        bytes.extend([0o303, FIRST, 0]);
        bytes.resize(24 * 4, 0);
        bytes.extend([0o303, FIRST, 0]);
        bytes
    })
}

fn scene() -> impl Strategy<Value = Scene> {
    let turning = (any::<u32>(), -5000..5000i64, prop::option::weighted(0.2, 0..LONG.0));
    wires().prop_flat_map(|wires| (Just(wires), program(wires))).prop_flat_map(move |(wires, program)| {
        let made = move |(start, off, opens)| Scene { wires, program: program.clone(), start, off, opens };
        turning.clone().prop_map(made)
    })
}

#[derive(Default)]
struct Turns(u64);

impl Witness for Turns {
    fn passed_over(&mut self, turns: u64, _turn: Turn) {
        self.0 += turns;
    }
}

fn run(scene: &Scene, every_turn: bool) -> (Machine, Stop, Turns) {
    let drive = DriveSetup {
        layout: LAYOUT.clone(),
        times: Times { load_ms: 12.0, ..Times::default() },
        select_loads: false,
        off: scene.off,
        start: scene.start,
        track: 2,
    };
    let disk = DiskSetup { controller: ControllerSetup::Chip(scene.wires), drive };
    let setup = Setup { clock_hz: 2_000_000, ram: vec![(Address(0), 0x400)], disks: vec![disk], ..Setup::default() };
    let mut machine = Machine::new(&setup).unwrap();
    machine.plays_every_turn = every_turn;
    for (at, &byte) in scene.program.iter().enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine.board.insert(0, DISKETTE.clone(), TStates(0));
    // Ready when the program begins.
    machine.wait(TStates(700_000));
    if let Some(opens) = scene.opens {
        machine.board.open(0, TStates(700_000 + opens));
    }
    let mut turns = Turns::default();
    let stop = machine.run(TStates(700_000 + LONG.0), &mut turns);
    (machine, stop, turns)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(60) })]

    #[test]
    fn passing_over_what_the_chip_waits_for_changes_no_count(scene in scene()) {
        let (played, stop, _) = run(&scene, true);
        let (passed, other_stop, _) = run(&scene, false);
        prop_assert_eq!(played.board.drive(0).track(), passed.board.drive(0).track());
        prop_assert!(played.board.drive(0).diskette().unwrap().disk() == passed.board.drive(0).diskette().unwrap().disk());
        same((&played, stop), (&passed, other_stop))?;
    }
}

/// The property above would say little if few of its programs waited for the chip, and read what it finds.
#[test]
fn many_of_those_programs_wait_for_the_chip_and_fetch() {
    let mut runner = TestRunner::deterministic();
    let (mut waited, mut fetched) = (0, 0);
    for _ in 0..120 {
        let scene = scene().new_tree(&mut runner).unwrap().current();
        let (machine, stop, turns) = run(&scene, false);
        waited += u32::from(turns.0 > 0 && stop == Stop::Deadline);
        fetched += u32::from(machine.board.memory.is_known(Address(0o200)));
    }
    assert!(waited >= 18 && fetched >= 10, "{waited} {fetched}");
}
