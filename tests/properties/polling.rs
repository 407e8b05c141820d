//! A loop that waits is passed over; no count may tell.

use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::{
    ChipSetup, Feed, HeardCharacter, Machine, SerialSetup, Setup, StatusBit, StatusLayout, StatusWires, Stop, Turn,
    Witness,
};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::folded::same;

const STATUS: u8 = 0o211;
const DATA: u8 = 0o210;
const BELL: u8 = 0o156;
const SENSE: u8 = 0o304;

/// How long a run is: 30 ms.
const LONG: TStates = TStates(60_000);

/// A machine, its line, and what comes down that.
#[derive(Clone, Debug)]
struct Scene {
    program: Vec<u8>,
    chip: ChipSetup,
    line: &'static str,
    clock: u8,
    feed: Feed,
    at: TStates,
}

/// Instructions that poll, branch, count and touch memory; jumps stay within the program.
fn instruction() -> impl Strategy<Value = Vec<u8>> {
    let jump = prop::sample::select(vec![0o303, 0o302, 0o312, 0o322, 0o332, 0o352, 0o362, 0o315]);
    prop_oneof![
        4 => prop::sample::select(vec![STATUS, DATA, SENSE, 0o60]).prop_map(|port| vec![0o333, port]),
        2 => prop::sample::select(vec![1, 2, 0o200]).prop_map(|mask| vec![0o333, STATUS, 0o346, mask]),
        5 => (jump, 0..24u8).prop_map(|(opcode, place)| vec![opcode, place * 4, 0]),
        2 => prop::sample::select(vec![BELL, DATA, STATUS]).prop_map(|port| vec![0o323, port]),
        3 => prop::sample::select(vec![
            0o000, 0o037, 0o017, 0o004, 0o005, 0o014, 0o015, 0o107, 0o117, 0o170, 0o171, 0o247, 0o257, 0o057, 0o311, 0o365,
            0o361,
        ]).prop_map(|opcode| vec![opcode]),
        1 => any::<u8>().prop_map(|byte| vec![0o346, byte]),
        1 => (0..4u8).prop_map(|place| vec![0o062, 0o200 + place, 0]),
        1 => (0..4u8).prop_map(|place| vec![0o072, 0o200 + place, 0]),
    ]
}

/// A loop of the kind that loaders have: wait for a status bit, take the data, store or send them.
fn loader(chip: ChipSetup) -> impl Strategy<Value = Vec<Vec<u8>>> {
    // `JZ` waits for a one, `JNZ` for a zero.
    let (right, waits) = match chip {
        ChipSetup::Mc6850 | ChipSetup::Absent => (1, 0o312),
        ChipSetup::I8251 => (2, 0o312),
        ChipSetup::HardWired(layout) => {
            let bit = layout.data_available;
            (1 << bit.bit, if bit.inverted { 0o302 } else { 0o312 })
        }
    };
    let jump = prop_oneof![3 => Just(waits), 1 => Just(0o302), 1 => Just(0o312)];
    let mask = prop_oneof![3 => Just(right), 1 => prop::sample::select(vec![1, 2, 0o200])];
    let what = prop::sample::select(vec![vec![0o062, 0o200, 0], vec![0o323, BELL], vec![0o323, DATA]]);
    (mask, jump, what, 0..3usize).prop_map(|(mask, jump, what, idle)| {
        let mut turn = vec![vec![0o333, STATUS], vec![0o346, mask], vec![jump, FIRST, 0], vec![0o333, DATA], what];
        turn.extend(std::iter::repeat_n(vec![0o004], idle));
        turn.push(vec![0o303, FIRST, 0]);
        turn
    })
}

/// The address behind what sets the chip up.
const FIRST: u8 = 4 * 9;

/// Bytes that set an MC6850 or an Intel 8251 up, with a divisor of 16 or 64.
const SETUPS: [[u8; 4]; 4] =
    [[3, 0o021, 0o021, 0o021], [3, 0o026, 0o026, 0o026], [0o316, 0o067, 0o067, 0o067], [0o117, 0o047, 0o067, 0o067]];

/// A program behind one that loads the stack pointer and sets the chip up; every fourth byte starts an instruction.
fn program(chip: ChipSetup) -> impl Strategy<Value = Vec<u8>> {
    let wild = prop::collection::vec(instruction(), 15);
    let own = match chip {
        ChipSetup::I8251 => SETUPS[2..].to_vec(),
        ChipSetup::Mc6850 | ChipSetup::HardWired(_) | ChipSetup::Absent => SETUPS[..2].to_vec(),
    };
    let setup = prop_oneof![4 => prop::sample::select(own), 1 => prop::sample::select(SETUPS.to_vec())];
    (setup, prop_oneof![wild.boxed(), loader(chip).boxed()]).prop_map(|(setup, instructions)| {
        let sets = setup.iter().flat_map(|&byte| [vec![0o076, byte], vec![0o323, STATUS]]);
        let mut bytes = Vec::new();
        for mut instruction in [vec![0o061, 0o000, 0o002]].into_iter().chain(sets).chain(instructions) {
            instruction.resize(4, 0);
            bytes.extend(instruction);
        }
        bytes.extend([0o303, FIRST, 0]);
        bytes
    })
}

/// Characters with pauses, or as a recording has them: early, late, longer and shorter. Some have passed already.
fn feed() -> impl Strategy<Value = Feed> {
    let bytes = || prop::collection::vec(any::<u8>(), 0..6);
    let paced = prop::collection::vec((0..120u32, bytes()), 1..4)
        .prop_map(|runs| runs.iter().fold(Feed::default(), |feed, (pause, bytes)| feed.then(*pause, bytes)));
    let unsteady = prop::collection::vec((any::<u8>(), 0.9..1.1f64, 0.9..1.4f64), 0..12).prop_map(|characters| {
        let mut from = 0.0;
        Feed::heard(characters.into_iter().map(|(byte, bit, next)| {
            let heard = HeardCharacter { from, bit: bit / 9600.0, byte };
            from += next * 11.0 / 9600.0;
            heard
        }))
    });
    (prop_oneof![paced, unsteady], prop_oneof![2 => Just(0.0), 1 => 0.0..0.01f64])
        .prop_map(|(feed, passed)| feed.passed(passed))
}

fn chip() -> impl Strategy<Value = ChipSetup> {
    let pin = || prop::option::of((0..8u8, any::<bool>()).prop_map(|(bit, inverted)| StatusBit { bit, inverted }));
    let layout = ((0..2u8, any::<bool>()), pin(), pin(), pin(), pin()).prop_map(
        |((bit, inverted), buffer_empty, overrun, framing_error, parity_error)| {
            let data_available = StatusBit { bit, inverted };
            ChipSetup::HardWired(StatusLayout { data_available, buffer_empty, overrun, framing_error, parity_error })
        },
    );
    prop_oneof![Just(ChipSetup::Mc6850), Just(ChipSetup::I8251), layout]
}

fn scene() -> impl Strategy<Value = Scene> {
    let line = prop::sample::select(vec!["9600 8N2", "9600 8N1", "4800 7E1", "19200 8O1", "1200 5N1.5"]);
    let clock = prop::sample::select(vec![16, 16, 64]);
    let programmed = chip().prop_flat_map(|chip| (Just(chip), program(chip)));
    (programmed, line, clock, feed(), 0..4000u64).prop_map(|((chip, program), line, clock, feed, at)| Scene {
        program,
        chip,
        line,
        clock,
        feed,
        at: TStates(at),
    })
}

/// Counts the turns that were passed over.
#[derive(Default)]
struct Turns(u64);

impl Witness for Turns {
    fn passed_over(&mut self, turns: u64, _turn: Turn) {
        self.0 += turns;
    }
}

fn run(scene: &Scene, every_turn: bool) -> (Machine, Stop, Turns) {
    let serial = SerialSetup {
        chip: scene.chip,
        status: STATUS,
        control: Some(STATUS),
        data_in: DATA,
        data_out: DATA,
        line: scene.line.parse().unwrap(),
        clock: scene.clock,
        sender: None,
        wires: StatusWires::default(),
    };
    let setup = Setup {
        clock_hz: 2_000_000,
        ram: vec![(Address(0), 0x400)],
        serial: vec![serial],
        sense: Some((SENSE, 0o125)),
        outputs: vec![BELL],
        ..Setup::default()
    };
    let mut machine = Machine::new(&setup).unwrap();
    machine.plays_every_turn = every_turn;
    for (at, &byte) in scene.program.iter().enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine.board.play(0, &scene.feed, scene.at);
    let mut turns = Turns::default();
    let stop = machine.run(LONG, &mut turns);
    (machine, stop, turns)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(400) })]

    #[test]
    fn passing_over_changes_no_count(scene in scene()) {
        let (played, stop, _) = run(&scene, true);
        let (passed, other_stop, _) = run(&scene, false);
        prop_assert_eq!(played.board.outputs(), passed.board.outputs());
        prop_assert_eq!(played.board.sent(0), passed.board.sent(0));
        prop_assert_eq!(played.board.margin(0), passed.board.margin(0));
        prop_assert_eq!(played.board.line_use(0), passed.board.line_use(0));
        prop_assert_eq!(played.board.deepest_stack(), passed.board.deepest_stack());
        same((&played, stop), (&passed, other_stop))?;
    }
}

/// The property above would prove little if few of its programs waited and read, whichever the chip.
#[test]
fn many_of_those_programs_wait_and_read() {
    let mut runner = TestRunner::deterministic();
    let mut both = [0; 3];
    for _ in 0..600 {
        let scene = scene().new_tree(&mut runner).unwrap().current();
        let (machine, _, turns) = run(&scene, false);
        let chip = match scene.chip {
            ChipSetup::Mc6850 => 0,
            ChipSetup::I8251 => 1,
            ChipSetup::HardWired(_) => 2,
            ChipSetup::Absent => unreachable!("every scene has a chip"),
        };
        both[chip] += u32::from(turns.0 > 0 && machine.board.line_use(0).read > 0);
    }
    assert!(both.iter().all(|&both| both >= 40), "{both:?}");
}
