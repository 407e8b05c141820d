//! A loop that waits for a turning disk is passed over; no count may tell, whatever the program, the wiring and the angle.

use std::sync::LazyLock;

use coldwright::disk::{Act, Deed, Disk, Form, Layout, Shown, Signal, Times, Wire, Wires, bundled};
use coldwright::isa::TStates;
use coldwright::notation::Address;
use coldwright::rehearsal::disk::{ControllerSetup, DiskSetup, Diskette, DriveSetup};
use coldwright::rehearsal::{Machine, Setup, Stop, Turn, Witness};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

use super::folded::same;

const DATA: u8 = 0o210;
const STATUS: u8 = 0o211;
const NUMBER: u8 = 0o60;
const DEEDS: u8 = 0o156;

/// How long a run is: 0.3 s, nearly two turns.
const LONG: TStates = TStates(600_000);

static LAYOUT: LazyLock<Layout> = LazyLock::new(|| bundled("holes-32").unwrap());

/// A disk of which no two sectors are alike, and no byte is that of the sync.
static DISKETTE: LazyLock<Diskette> = LazyLock::new(|| {
    let length = Form::Whole.cell(&LAYOUT) * LAYOUT.tracks * LAYOUT.sectors();
    let bytes = (0..length).map(|at| (at * 7 + at / 137) as u8 | 1).collect();
    Diskette::new(&LAYOUT, &Disk::from_bytes(&LAYOUT, bytes).unwrap(), false).unwrap()
});

#[derive(Clone, Debug)]
struct Scene {
    wires: Wires,
    program: Vec<u8>,
    start: u32,
    off: i64,
    opens: Option<u64>,
}

/// Which bit of the status shows what: any order, any levels.
fn wires() -> impl Strategy<Value = Wires> {
    let order = Just((0..8u8).collect::<Vec<_>>()).prop_shuffle();
    let deeds = Just((0..8u8).collect::<Vec<_>>()).prop_shuffle();
    let levels = (any::<u8>(), any::<u8>(), any::<u8>());
    (order, deeds, levels, any::<bool>()).prop_map(|(order, bits, (lows, low_deeds, pulses), shares)| {
        let shown = [
            Shown::Waits,
            Shown::Signal(Signal::Hole),
            Shown::Signal(Signal::Ready),
            Shown::Signal(Signal::Settled),
            Shown::Signal(Signal::MayStep),
            Shown::Signal(Signal::TrackZero),
            Shown::Wanted,
            Shown::Signal(Signal::Index),
        ];
        let status = shown.into_iter().zip(order).map(|(shown, bit)| {
            // Holes may show at a port of their own.
            let port = if shares || shown == Shown::Waits { STATUS } else { NUMBER };
            (shown, Wire { port, bit, low: lows >> bit & 1 == 1 })
        });
        let number = (0..5).map(|bit| (Shown::Sector(bit), Wire { port: NUMBER, bit, low: false }));
        let acts = [Act::Select, Act::Load, Act::StepIn, Act::StepOut, Act::Write];
        let deeds = acts.into_iter().zip(bits).map(|(act, bit)| {
            let wire = Wire { port: DEEDS, bit, low: low_deeds >> bit & 1 == 1 };
            Deed { act, wire, pulse: pulses >> bit & 1 == 1 }
        });
        let shown = if shares { status.chain(number).collect() } else { status.collect() };
        Wires { data: DATA, deeds: deeds.collect(), shown }
    })
}

/// The byte that selects the drive and loads the head, and does one more thing.
fn deed(wires: &Wires, more: Act) -> u8 {
    let yes = |deed: &Deed| matches!(deed.act, Act::Select | Act::Load) || deed.act == more;
    wires.deeds.iter().fold(0, |byte, deed| deed.wire.put(byte, yes(deed)))
}

fn instruction(wires: Wires) -> impl Strategy<Value = Vec<u8>> {
    let jump = prop::sample::select(vec![0o303, 0o302, 0o312, 0o322, 0o332, 0o352, 0o362]);
    let bits: Vec<u8> = wires.shown.iter().map(|(_, wire)| 1 << wire.bit).collect();
    let acts = [Act::Select, Act::StepIn, Act::StepOut, Act::Write].map(|act| deed(&wires, act));
    prop_oneof![
        4 => prop::sample::select(vec![STATUS, DATA, NUMBER]).prop_map(|port| vec![0o333, port]),
        4 => (prop::sample::select(vec![STATUS, NUMBER]), prop::sample::select(bits))
            .prop_map(|(port, mask)| vec![0o333, port, 0o346, mask]),
        5 => (jump, 0..24u8).prop_map(|(opcode, place)| vec![opcode, place * 4, 0]),
        2 => prop::sample::select(acts.to_vec()).prop_map(|byte| vec![0o076, byte, 0o323, DEEDS]),
        1 => Just(vec![0o323, DATA]),
        2 => prop::sample::select(vec![0o000, 0o037, 0o004, 0o015, 0o107, 0o170, 0o247, 0o257, 0o057])
            .prop_map(|opcode| vec![opcode]),
        1 => (0..4u8).prop_map(|place| vec![0o062, 0o200 + place, 0]),
    ]
}

/// Where what follows the selection begins.
const FIRST: u8 = 4 * 2;

/// A loop as a loader has it: wait for a bit at a level, fetch, store, again.
fn loader(wires: Wires) -> impl Strategy<Value = Vec<Vec<u8>>> {
    let waits = wires.shown.iter().find(|(shown, _)| *shown == Shown::Waits).unwrap().1;
    let right = if waits.low { 0o302 } else { 0o312 };
    let jump = prop_oneof![5 => Just(right), 1 => Just(0o302), 1 => Just(0o312)];
    (jump, 0..6usize).prop_map(move |(jump, idle)| {
        let mut turn = vec![vec![0o333, STATUS, 0o346, 1 << waits.bit], vec![jump, FIRST, 0], vec![0o333, DATA]];
        turn.push(vec![0o062, 0o200, 0]);
        turn.extend(std::iter::repeat_n(vec![0o004], idle));
        turn.push(vec![0o303, FIRST, 0]);
        turn
    })
}

fn program(wires: &Wires) -> impl Strategy<Value = Vec<u8>> + use<> {
    let first = deed(wires, Act::Select);
    let wild = prop::collection::vec(instruction(wires.clone()), 20);
    prop_oneof![wild.boxed(), loader(wires.clone()).boxed()].prop_map(move |instructions| {
        let mut bytes = Vec::new();
        let begins = vec![vec![0o061, 0, 2], vec![0o076, first, 0o323, DEEDS]];
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
    wires().prop_flat_map(|wires| (Just(wires.clone()), program(&wires))).prop_flat_map(move |(wires, program)| {
        let made =
            move |(start, off, opens)| Scene { wires: wires.clone(), program: program.clone(), start, off, opens };
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
        times: Times::default(),
        select_loads: false,
        off: scene.off,
        start: scene.start,
        track: 3,
    };
    let disk = DiskSetup { controller: ControllerSetup::Wired(scene.wires.clone()), drive };
    let ram = vec![(Address(0), 0x400)];
    let setup = Setup { clock_hz: 2_000_000, ram, disks: vec![disk], ..Setup::default() };
    let mut machine = Machine::new(&setup).unwrap();
    machine.plays_every_turn = every_turn;
    for (at, &byte) in scene.program.iter().enumerate() {
        machine.deposit(Address(at as u16), byte);
    }
    machine.board.insert(0, DISKETTE.clone(), TStates(0));
    if let Some(opens) = scene.opens {
        machine.board.open(0, TStates(opens));
    }
    let mut turns = Turns::default();
    let stop = machine.run(LONG, &mut turns);
    (machine, stop, turns)
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

    #[test]
    fn passing_over_what_turns_changes_no_count(scene in scene()) {
        let (played, stop, _) = run(&scene, true);
        let (passed, other_stop, _) = run(&scene, false);
        prop_assert_eq!(played.board.drive(0).track(), passed.board.drive(0).track());
        prop_assert_eq!(played.board.drive(0).steps(), passed.board.drive(0).steps());
        same((&played, stop), (&passed, other_stop))?;
    }
}

/// The property above would prove little if few of its programs waited for the disk, and read it.
#[test]
fn many_of_those_programs_wait_and_fetch() {
    let mut runner = TestRunner::deterministic();
    let (mut waited, mut fetched) = (0, 0);
    for _ in 0..200 {
        let scene = scene().new_tree(&mut runner).unwrap().current();
        let (machine, stop, turns) = run(&scene, false);
        waited += u32::from(turns.0 > 0 && stop == Stop::Deadline);
        fetched += u32::from(
            machine.board.memory.byte(Address(0o200)) & 1 == 1 && machine.board.memory.is_known(Address(0o200)),
        );
    }
    assert!(waited >= 50 && fetched >= 25, "{waited} {fetched}");
}
