//! A loop that waits is passed over; no count may tell.

use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::{ChipSetup, Feed, Machine, SerialSetup, Setup, StatusBit, StatusLayout, Stop};
use proptest::prelude::*;

const STATUS: u8 = 0o60;
const DATA: u8 = 0o61;
const BELL: u8 = 0o40;
const SENSE: u8 = 0o76;

/// Instructions that poll, branch, count and touch memory; jumps stay within the first 64 bytes.
fn instruction() -> impl Strategy<Value = Vec<u8>> {
    let jump = prop::sample::select(vec![0o303, 0o302, 0o312, 0o322, 0o332, 0o352, 0o362, 0o315]);
    prop_oneof![
        4 => prop::sample::select(vec![STATUS, DATA, SENSE, 0o77]).prop_map(|port| vec![0o333, port]),
        2 => Just(vec![0o333, STATUS, 0o346, 1]),
        5 => (jump, 0..16u8).prop_map(|(opcode, place)| vec![opcode, place * 4, 0]),
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

/// A program of at most 64 bytes behind one that loads the stack pointer; every fourth byte starts an instruction.
fn program() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(instruction(), 15).prop_map(|instructions| {
        let mut bytes = vec![0o061, 0o000, 0o002, 0o000];
        for mut instruction in instructions {
            instruction.resize(4, 0);
            bytes.extend(instruction);
        }
        bytes.extend([0o303, 4, 0]);
        bytes
    })
}

fn run(program: &[u8], feed: &[u8], chip: ChipSetup, every_turn: bool) -> (Machine, Stop) {
    let serial = SerialSetup {
        chip,
        status: STATUS,
        control: Some(STATUS),
        data_in: DATA,
        data_out: DATA,
        line: "9600 8N2".parse().unwrap(),
        clock: 16,
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
    for (at, &byte) in program.iter().enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine.board.play(0, &Feed::new(feed).then(37, feed), TStates(777));
    let stop = machine.run(TStates(60_000), &mut ());
    (machine, stop)
}

fn chip() -> impl Strategy<Value = ChipSetup> {
    let data_available = StatusBit { bit: 0, inverted: true };
    let buffer_empty = Some(StatusBit { bit: 7, inverted: false });
    let (overrun, framing_error, parity_error) = (None, None, None);
    let layout = StatusLayout { data_available, buffer_empty, overrun, framing_error, parity_error };
    prop::sample::select(vec![ChipSetup::Mc6850, ChipSetup::I8251, ChipSetup::HardWired(layout)])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(300) })]

    #[test]
    fn passing_over_changes_no_count(
        program in program(),
        feed in prop::collection::vec(any::<u8>(), 0..8),
        chip in chip(),
    ) {
        let (played, stop) = run(&program, &feed, chip, true);
        let (passed, other_stop) = run(&program, &feed, chip, false);
        prop_assert_eq!(played.board.outputs(), passed.board.outputs());
        prop_assert_eq!(played.board.incidents(), passed.board.incidents());
        prop_assert_eq!(played.board.sent(0), passed.board.sent(0));
        prop_assert_eq!(played.board.margin(0), passed.board.margin(0));
        prop_assert_eq!(played.board.deepest_stack(), passed.board.deepest_stack());
        prop_assert_eq!(played.board.memory.bytes(Address(0), 0x400), passed.board.memory.bytes(Address(0), 0x400));
        match (stop, other_stop) {
            // When it was noticed that nothing will ever happen may differ; what happened before may not.
            (Stop::Endless { .. }, Stop::Endless { .. }) => {}
            _ => {
                prop_assert_eq!(stop, other_stop);
                prop_assert_eq!(&played.cpu, &passed.cpu);
                prop_assert_eq!(played.board.counts(), passed.board.counts());
            }
        }
    }
}

/// The random programs above would prove little if none of them polled.
#[test]
fn a_polling_loop_is_passed_over() {
    struct Turns(u64);
    impl coldwright::rehearsal::Witness for Turns {
        fn passed_over(&mut self, turns: u64, _turn: coldwright::rehearsal::Turn) {
            self.0 += turns;
        }
    }
    let poll = [0o333, STATUS, 0o346, 1, 0o302, 0, 0, 0o333, DATA, 0o303, 0, 0];
    let data_available = StatusBit { bit: 0, inverted: true };
    let layout =
        StatusLayout { data_available, buffer_empty: None, overrun: None, framing_error: None, parity_error: None };
    let (played, _) = run(&poll, &[1, 2, 3], ChipSetup::HardWired(layout), true);
    let (mut passed, _) = run(&poll, &[], ChipSetup::HardWired(layout), true);
    assert_eq!(played.board.line_use(0).read, 6);
    passed.plays_every_turn = false;
    let mut turns = Turns(0);
    passed.board.play(0, &Feed::new(&[1, 2, 3]), passed.cpu.clock);
    passed.run(TStates(1_000_000), &mut turns);
    assert!(turns.0 > 150, "{}", turns.0);
}
