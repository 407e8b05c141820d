//! boot-wired.asm and drill-wired.asm: on drives wired either way, across tracks, and each of the loader's complaints.

use coldwright::disk::write::{Program, formatted, put};
use coldwright::disk::{Act, Area, Deed, Disk, Form, Layout, Numbering, Shown, Signal, Times, Wire, Wires, load};
use coldwright::image::Image;
use coldwright::isa::TStates;
use coldwright::notation::{Address, Notation};
use coldwright::record::Spot;
use coldwright::rehearsal::disk::{ControllerSetup, DiskSetup, Diskette, DriveSetup};
use coldwright::rehearsal::{Machine, Setup, Stop};
use coldwright::source::{Diagnostics, Origin, Position, SourceMap};

use super::bench::{DATA, KNOBS, LAMPS, SENSE, STATUS, assert_stated, image};

/// Where the program belongs, and how long it is: 40 sectors, from one track to the next.
const TARGET: u16 = 0x1000;
const BYTES: usize = 40 * 128 - 5;

/// A way to wire the controller: which levels mean yes, and where the number of the sector begins.
#[derive(Clone, Copy, Debug)]
struct Way {
    low: bool,
    hole_low: bool,
    shift: u8,
}

const PLAIN: Way = Way { low: false, hole_low: false, shift: 0 };

impl Way {
    fn all() -> impl Iterator<Item = Way> {
        (0..8).map(|at| Way { low: at & 1 != 0, hole_low: at & 2 != 0, shift: if at & 4 != 0 { 3 } else { 0 } })
    }

    fn hole(self) -> u8 {
        if self.shift == 0 { 6 } else { 1 }
    }

    fn wires(self) -> Wires {
        let status = |bit| Wire { port: STATUS, bit, low: self.low };
        let signal = |signal, bit| (Shown::Signal(signal), status(bit));
        let mut shown = vec![
            signal(Signal::Ready, 0),
            signal(Signal::MayStep, 1),
            signal(Signal::TrackZero, 2),
            signal(Signal::Settled, 3),
            (Shown::Waits, status(4)),
            (Shown::Signal(Signal::Hole), Wire { port: KNOBS, bit: self.hole(), low: self.hole_low }),
        ];
        shown.extend((0..5).map(|bit| (Shown::Sector(bit), Wire { port: KNOBS, bit: bit + self.shift, low: false })));
        let deed = |act, bit, pulse| Deed { act, wire: Wire { port: SENSE, bit, low: false }, pulse };
        let deeds = vec![
            deed(Act::Select, 0, false),
            deed(Act::Load, 1, false),
            deed(Act::StepIn, 2, true),
            deed(Act::StepOut, 3, false),
        ];
        Wires { data: DATA, deeds, shown }
    }

    fn source(self, more: &str) -> String {
        let low = if self.low { 31 } else { 0 };
        let (hole, hole_low) = (1 << self.hole(), if self.hole_low { 1 << self.hole() } else { 0 });
        format!(
            "BWDATA  EQU     210Q\nBWSTAT  EQU     211Q\nBWNUM   EQU     60Q\nBWCMD   EQU     304Q\nBWLMP   EQU     156Q\n\
             BWRDY   EQU     1\nBWMAY   EQU     2\nBWZERO  EQU     4\nBWREST  EQU     10Q\nBWBYTE  EQU     20Q\n\
             BWLOW   EQU     {low}\nBWMASK  EQU     {}\nBWSFT   EQU     {}\nBWHOLE  EQU     {hole}\nBWNLOW  EQU     {hole_low}\n\
             BWSEL   EQU     3\nBWIN    EQU     7\nBWOUT   EQU     13Q\nBWTRK   EQU     2\nBWSEC   EQU     5\n\
             BWENT   EQU     {TARGET}\nBWTRY   EQU     3\nBWBUF   EQU     700H\nBWSTK   EQU     800H\n{more}\
             \x20       ORG     0\n        INCLUDE 'boot-wired.asm'\nBEHIND  EQU     $\n        INCLUDE 'drill-wired.asm'\n\
             PAST    EQU     $\n        END     BWBOOT\n",
            31 << self.shift,
            self.shift,
        )
    }
}

/// The layout of the lighthouse, its area longer and on another track.
fn layout() -> Layout {
    let mut sources = SourceMap::default();
    let text = include_str!("../../examples/headland/lamp.toml");
    let id = sources.add("lamp.toml", text, Origin::Given);
    let layout = load(&sources, id, Notation::default(), &mut Diagnostics::default()).unwrap();
    let area = Area {
        name: "far".into(),
        first: Spot { track: 2, sector: 5 },
        sectors: 64,
        order: Numbering::every(11, 0, 32),
        load: None,
    };
    Layout { areas: vec![area], ..layout }
}

fn payload() -> Image {
    let mut sources = SourceMap::default();
    let source = sources.add("payload", "", Origin::Given);
    let bytes: Vec<u8> = (0..BYTES).map(|at| (at * 5 + at / 128 * 17) as u8).collect();
    let mut image = Image::default();
    image.insert(Address(TARGET), &bytes, Position { source, offset: 0 }).unwrap();
    image
}

fn disk(layout: &Layout) -> Disk {
    let (mut disk, image) = (formatted(layout, Form::Whole), payload());
    let program = Program { name: "payload", image: &image, area: &layout.areas[0] };
    put(layout, &mut disk, &program, Notation::default()).unwrap();
    disk
}

/// A machine with the loader in it, its head on track 9.
fn machine(way: Way, more: &str, disk: Option<&Disk>, start: u32) -> Machine {
    let layout = layout();
    let diskette = disk.map(|disk| Diskette::new(&layout, disk, false).unwrap());
    let drive = DriveSetup { layout, times: Times::default(), select_loads: false, off: 0, start, track: 9 };
    let disks = vec![DiskSetup { controller: ControllerSetup::Wired(way.wires()), drive }];
    let ram = vec![(Address(0), 0x4000)];
    let setup = Setup { clock_hz: 2_000_000, ram, disks, outputs: vec![LAMPS], ..Setup::default() };
    let mut machine = Machine::new(&setup).unwrap();
    let most = if more.contains("BWMOST") { String::new() } else { "BWMOST  EQU     80\n".to_owned() };
    for extent in image(&way.source(&format!("{more}{most}"))).extents() {
        for (at, &byte) in extent.bytes.iter().enumerate() {
            machine.deposit(extent.base.wrapping_add(at as u16), byte);
        }
    }
    if let Some(diskette) = diskette {
        machine.board.insert(0, diskette, TStates(0));
    }
    machine.set_stop(Address(TARGET), true);
    machine
}

fn complaint(more: &str, disk: Option<&Disk>, start: u32) -> u8 {
    let mut machine = machine(PLAIN, more, disk, start);
    assert_eq!(machine.run(TStates(20_000_000), &mut ()), Stop::Halted);
    machine.board.outputs().last().unwrap().byte
}

#[test]
fn it_loads_across_tracks_however_it_is_wired() {
    let disk = disk(&layout());
    for (number, way) in Way::all().enumerate() {
        let mut machine = machine(way, "", Some(&disk), 0x1357_9BDF_u32.wrapping_mul(number as u32 + 1));
        assert_eq!(machine.run(TStates(20_000_000), &mut ()), Stop::Reached(Address(TARGET)), "{way:?}");
        let incidents = machine.board.incidents();
        assert!(incidents.is_empty(), "{way:?}: {incidents:?}");
        let image = payload();
        let (extent, loaded) = (image.extents().next().unwrap(), machine.board.memory.bytes(Address(TARGET), BYTES));
        assert_eq!(loaded, extent.bytes, "{way:?}");
        assert_eq!(machine.board.drive(0).log().again(), 0, "{way:?}");
    }
}

#[test]
fn it_has_room_in_256_bytes_however_it_is_wired() {
    let size = |way: Way, from: &str, to: &str| {
        let image = image(&way.source("BWMOST  EQU     80\n"));
        let label = |name: &str| image.symbols.iter().find(|symbol| symbol.name == name).unwrap().value;
        label(to) - label(from)
    };
    assert!(Way::all().all(|way| size(way, "BWBOOT", "BEHIND") <= 256));
    assert_stated("boot-wired", "BWBOOT", size(Way { low: true, hole_low: true, shift: 0 }, "BWBOOT", "BEHIND"), 113);
    assert_stated("drill-wired", "DRILL", size(PLAIN, "BEHIND", "PAST"), 135);
}

#[test]
fn it_complains_by_numbers() {
    let layout = layout();
    let good = disk(&layout);
    assert_eq!(complaint("", None, 0), 1, "no disk");
    assert_eq!(complaint("BWMOST  EQU     4\n", Some(&good), 0), 2, "track 0 is further off");
    let cell = Form::Whole.cell(&layout);
    let first = layout.index(Spot { track: 2, sector: 5 }).unwrap() * cell;
    let mut damaged = good.clone().into_bytes();
    damaged[first + 40] ^= 4;
    let damaged = Disk::from_bytes(&layout, damaged).unwrap();
    assert_eq!(complaint("", Some(&damaged), 0), 3, "a wrong bit");
    let mut other = good.into_bytes();
    let next = layout.index(Spot { track: 2, sector: 8 }).unwrap() * cell;
    other.copy_within(next..next + cell, first);
    let other = Disk::from_bytes(&layout, other).unwrap();
    assert_eq!(complaint("", Some(&other), 0), 4, "another sector");
}

/// Every single bit of a sector: none is taken for good.
#[test]
fn no_wrong_bit_is_taken() {
    let layout = layout();
    let good = disk(&layout).into_bytes();
    let cell = Form::Whole.cell(&layout);
    let first = layout.index(Spot { track: 2, sector: 5 }).unwrap() * cell;
    for bit in (0..cell * 8).step_by(13) {
        let mut bytes = good.clone();
        bytes[first + bit / 8] ^= 1 << (bit % 8);
        let disk = Disk::from_bytes(&layout, bytes).unwrap();
        let found = complaint("", Some(&disk), 0);
        assert!(matches!(found, 3 | 4), "bit {bit}: {found}");
    }
}

#[test]
fn the_drill_goes_round_as_stated() {
    let mut machine = machine(PLAIN, "", Some(&disk(&layout())), 0);
    let source = PLAIN.source("BWMOST  EQU     80\n");
    let begins = image(&source).symbols.iter().find(|symbol| symbol.name == "DRILL").unwrap().value;
    machine.examine(Address(begins));
    let round = |machine: &mut Machine| {
        let from = machine.cpu.clock.0;
        loop {
            machine.step(&mut ());
            if machine.cpu.registers.pc == begins {
                return machine.cpu.clock.0 - from;
            }
        }
    };
    assert_eq!((round(&mut machine), round(&mut machine)), (135, 135));
    assert!(machine.board.drive(0).is_selected() && machine.board.drive(0).is_loaded());
}
