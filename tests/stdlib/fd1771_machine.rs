//! boot-fd1771.asm in a simulated machine, on a drive that turns, steps and rests as drives do.

use coldwright::disk::{Disk, Form, Times, bundled, write};
use coldwright::image::Image;
use coldwright::isa::TStates;
use coldwright::notation::{Address, Notation};
use coldwright::rehearsal::disk::{ControllerSetup, DiskSetup, Diskette, DriveSetup, Mishap, Trouble};
use coldwright::rehearsal::{Machine, Setup, Stop, What};
use coldwright::source::{Origin, Position, SourceMap};

use super::bench::image;
use super::fd1771::{KINDS, Kind, PLAIN};

/// Where the loader stands, in ROM, and the program that it is to load.
const ROM: u16 = 0xFF00;
const TARGET: u16 = 0x1000;
const LENGTH: usize = 33 * 128;

/// What differs from run to run.
#[derive(Clone)]
struct Scene {
    kind: Kind,
    rate: u8,
    /// Thousandths of a per cent by which the drive turns too fast.
    off: i64,
    start: u32,
    disk: Disk,
    opens: Option<u64>,
}

fn program() -> Vec<u8> {
    (0..LENGTH).map(|at| (at * 11 + at / 128) as u8).collect()
}

/// A disk with the program from the first sector of track 1 on.
fn disk() -> Disk {
    let layout = bundled("marks-26").unwrap();
    let mut sources = SourceMap::default();
    let made_by = Position { source: sources.add("program", "", Origin::Given), offset: 0 };
    let mut image = Image::default();
    image.insert(Address(0), &program(), made_by).unwrap();
    let mut disk = write::formatted(&layout, Form::Whole);
    let area = layout.area("program").unwrap();
    let program = write::Program { name: "program", image: &image, area };
    write::put(&layout, &mut disk, &program, Notation::Octal).unwrap();
    disk
}

impl Scene {
    fn new(kind: Kind) -> Scene {
        Scene { kind, rate: 2, off: 0, start: 0x6000_0000, disk: disk(), opens: None }
    }

    fn machine(&self) -> Machine {
        let layout = bundled("marks-26").unwrap();
        let constants = self.kind.constants().replace("FDSEC   EQU     24", "FDSEC   EQU     1");
        let constants = constants.replace("FDRATE  EQU     0", &format!("FDRATE  EQU     {}", self.rate));
        let source = format!("{constants}        ORG     {ROM}\n        INCLUDE 'boot-fd1771.asm'\n        END\n");
        let image = image(&source);
        let rom = image.extents().map(|extent| (extent.base, extent.bytes.to_vec())).collect();
        let drive = DriveSetup {
            layout: layout.clone(),
            times: Times::default(),
            select_loads: false,
            off: self.off,
            start: self.start,
            track: 7,
        };
        let disks = vec![DiskSetup { controller: ControllerSetup::Chip(self.kind.wires()), drive }];
        let (ram, outputs) = (vec![(Address(0), 0x4000)], vec![0o364]);
        let setup = Setup { seed: 5, clock_hz: 2_000_000, ram, rom, disks, outputs, ..Setup::default() };
        let mut machine = Machine::new(&setup).unwrap();
        machine.board.insert(0, Diskette::new(&layout, &self.disk, false).unwrap(), TStates(0));
        if let Some(opens) = self.opens {
            machine.board.open(0, TStates(opens));
        }
        machine.set_stop(Address(TARGET), true);
        machine.examine(Address(ROM));
        machine
    }

    /// Runs it; the machine, and how it stopped within 20 seconds.
    fn runs(&self) -> (Machine, Stop) {
        let mut machine = self.machine();
        let stop = machine.run(TStates(40_000_000), &mut ());
        (machine, stop)
    }

    fn loads(&self) -> Machine {
        let (machine, stop) = self.runs();
        let shown: Vec<_> = machine.board.outputs().iter().map(|output| output.byte).collect();
        assert_eq!(stop, Stop::Reached(Address(TARGET)), "{:?}: {shown:?} {:?}", self.kind, machine.board.incidents());
        assert_eq!(machine.board.memory.bytes(Address(TARGET), LENGTH), program());
        machine
    }

    /// What it shows when it stops, and what was noted of the drive.
    fn complains(&self) -> (Vec<u8>, Vec<Trouble>) {
        let (machine, stop) = self.runs();
        assert_eq!(stop, Stop::Halted, "{:?}", machine.board.incidents());
        let troubles = machine.board.incidents().iter().filter_map(|incident| match incident.what {
            What::Disk { trouble, .. } => Some(trouble),
            _ => None,
        });
        (machine.board.outputs().iter().map(|output| output.byte).collect(), troubles.collect())
    }
}

/// On boards of every kind, and on drives that are off as far as makers allow: 2 %.
#[test]
fn a_program_is_loaded_on_every_board_and_within_the_tolerance() {
    for kind in KINDS {
        for (off, start) in [(0, 7), (2000, 0x8000_0000), (-2000, 0xFFFF_0000)] {
            let machine = Scene { off, start, ..Scene::new(kind) }.loads();
            assert!(machine.board.incidents().is_empty(), "{kind:?}: {:?}", machine.board.incidents());
        }
    }
}

/// A rate of 6 ms is too quick for a drive that steps in 8: every second step is lost, and track 0 comes late or never.
#[test]
fn steps_that_are_too_quick_are_noted() {
    let (machine, _) = Scene { rate: 0, ..Scene::new(PLAIN) }.runs();
    let early = |what| matches!(what, What::Disk { trouble: Trouble::Drive(Mishap::StepEarly(_)), .. });
    assert!(machine.board.incidents().iter().any(|incident| early(incident.what)));
}

#[test]
fn a_drive_much_too_fast_loses_data_and_says_so() {
    let (shown, troubles) = Scene { off: 12_000, ..Scene::new(PLAIN) }.complains();
    assert_eq!(shown, [0o4]);
    assert!(troubles.iter().any(|trouble| matches!(trouble, Trouble::Lost { late, .. } if late.0 > 0)), "{troubles:?}");
}

#[test]
fn one_wrong_bit_is_not_loaded() {
    let mut scene = Scene::new(KINDS[4]);
    let layout = bundled("marks-26").unwrap();
    let mut bytes = scene.disk.clone().into_bytes();
    // A bit of the data of sector 3 of track 1.
    bytes[(26 + 2) * 155 + 60] ^= 0o10;
    scene.disk = Disk::from_bytes(&layout, bytes).unwrap();
    assert_eq!(scene.complains().0, [0o10]);
}

/// With the door open from the beginning it is not ready; opened while data come it is held, or waits for ever.
#[test]
fn a_door_that_opens_is_told() {
    for kind in [KINDS[0], KINDS[4]] {
        assert_eq!(Scene { opens: Some(0), ..Scene::new(kind) }.complains().0, [0o200]);
        let done = Scene::new(kind).loads().cpu.clock.0;
        let (machine, stop) = Scene { opens: Some(done - 20_000), ..Scene::new(kind) }.runs();
        match stop {
            Stop::Incident(incident) => assert!(matches!(incident.what, What::HeldForever { port: 0o35 })),
            Stop::Endless { port, .. } => assert_eq!(port, Some(0o35)),
            stop => panic!("{stop:?} {:?}", machine.board.incidents()),
        }
    }
}

/// Waiting loops are passed over, and nothing is another by it.
#[test]
fn nothing_is_another_if_every_turn_is_played() {
    for kind in [KINDS[0], KINDS[2]] {
        let scene = Scene::new(kind);
        let folded = scene.loads();
        let mut played = scene.machine();
        played.plays_every_turn = true;
        played.run(TStates(40_000_000), &mut ());
        assert_eq!((folded.cpu.clock, folded.board.counts()), (played.cpu.clock, played.board.counts()));
    }
}
