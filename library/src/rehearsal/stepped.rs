//! What input ports show that lead to a disk, while a program is stepped by hand: the drive turns on between two presses.
//!
//! Every machine cycle takes the hand a second. In one that reads a port of a disk controller the port is watched for five,
//! as the lights show it; then the program goes on with what each bit was most of the time.

use std::collections::{BTreeMap, VecDeque};

use super::cast;
use super::disk::{DiskStation, Diskette};
use super::drives;
use super::request::Request;
use super::setup::Setup;
use crate::cpu::{Bus, Cpu};
use crate::disk::write::formatted;
use crate::disk::{Disk, Form, Layout, Sectoring};
use crate::image::{Image, MEMORY};
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;
use crate::panel::{LiveByte, Reach};
use crate::project::{DiskDrive, Id, Machine};

/// A program to be stepped.
#[derive(Clone, Debug)]
pub struct Stepping<'a> {
    /// Its bytes.
    pub image: &'a Image,
    /// Where it starts.
    pub start: Address,
    /// The most machine cycles.
    pub cycles: u64,
    /// Values that input ports give, one after the other; the last one stays.
    pub inputs: BTreeMap<u8, VecDeque<u8>>,
    /// What other ports are taken to read; zero if they do not stand here.
    pub idle: BTreeMap<u8, u8>,
}

/// Seconds that the hand takes for a press.
const PRESS: u64 = 1;

/// Seconds for which a port is watched: whole turns of every usual drive.
const WATCHED: u64 = 5;

/// The most reads of one port that are told apart.
const MOST_READS: usize = 64;

/// What the ports of a machine's disk controllers show while a program is stepped, read after read; the last way stays. In each
/// drive lies the disk that `disk_in` names, or a formatted one.
pub fn live_ports(
    machine: &Machine,
    disk_in: impl Fn(Id<DiskDrive>) -> Option<(Layout, Disk)>,
    stepping: &Stepping,
) -> BTreeMap<u8, Vec<LiveByte>> {
    // A panel that stops once in an instruction shows no byte of a port.
    if machine.drives.is_empty() || machine.panel.step == Reach::Instruction {
        return BTreeMap::new();
    }
    let chosen: Vec<_> = machine.drives.numbered().map(|(drive, _)| disk_in(drive)).collect();
    let layout = |drive: Id<DiskDrive>| chosen[drive.place()].as_ref().map(|(layout, _)| layout.clone());
    let disks = drives::setups(machine, layout, &Request::default());
    let clock_hz = machine.clock_hz.unwrap_or(cast::USUAL_CLOCK);
    let of = |somewhere: bool| {
        let mut disks = disks.clone();
        let mut diskettes = Vec::new();
        for (setup, chosen) in disks.iter_mut().zip(&chosen) {
            let drive = &mut setup.drive;
            (drive.track, drive.start) = if somewhere { (drive.layout.tracks / 2, 1 << 31) } else { (0, 0) };
            let disk = chosen.as_ref().map(|(_, disk)| disk.clone());
            diskettes.push(Diskette::new(
                &drive.layout,
                &disk.unwrap_or_else(|| any_disk(&drive.layout, somewhere)),
                false,
            ));
        }
        live(&Setup { clock_hz, disks, ..Setup::default() }, &diskettes, stepping)
    };
    // Where the head stands and what an unknown disk holds is known to nobody: what both runs show is.
    let (mut one, other) = (of(false), of(true));
    for (port, reads) in &mut one {
        let others = other.get(port).map_or(&[][..], Vec::as_slice);
        for (at, read) in reads.iter_mut().enumerate() {
            if let Some(other) = others.get(at).or(others.last()) {
                *read = read.in_both(*other);
            }
        }
    }
    one
}

/// What is taken for granted of what those ports show, by number of the port: in a drive in which `disk_in` names no disk lies
/// one of which nothing is known.
pub fn taken_for_granted(
    machine: &Machine,
    disk_in: impl Fn(Id<DiskDrive>) -> Option<(Layout, Disk)>,
) -> BTreeMap<u8, String> {
    let mut taken = BTreeMap::new();
    for (number, drive) in machine.drives.numbered().filter(|&(number, _)| disk_in(number).is_none()) {
        let setups = drives::setups(machine, |_| None, &Request::default());
        let Some(setup) = setups.get(number.place()) else { continue };
        let what = match setup.drive.layout.sectoring {
            Sectoring::Holes(_) => "a disk",
            Sectoring::Marks { .. } => "a formatted disk",
        };
        let (name, layout) = (&drive.name, &setup.drive.layout.name);
        let note = format!("In the drive `{name}` {what} of the layout `{layout}` is taken to lie, its door closed.");
        taken.extend(setup.controller.inputs().into_iter().map(|port| (port, note.clone())));
    }
    taken
}

/// A disk of which nothing is known but its layout; one by holes in either of two ways.
fn any_disk(layout: &Layout, other: bool) -> Disk {
    let formatted = formatted(layout, Form::Whole);
    match layout.sectoring {
        Sectoring::Holes(_) if other => {
            let bytes = formatted.clone().into_bytes().iter().map(|byte| !byte).collect();
            Disk::from_bytes(layout, bytes).unwrap_or(formatted)
        }
        _ => formatted,
    }
}

/// The same of a machine that is set up; `diskettes` lie in the drives in their order.
fn live(setup: &Setup, diskettes: &[Option<Diskette>], stepping: &Stepping) -> BTreeMap<u8, Vec<LiveByte>> {
    if setup.disks.is_empty() {
        return BTreeMap::new();
    }
    let mut bench = Bench::new(setup, diskettes, stepping);
    let mut cpu = Cpu::default();
    cpu.registers.pc = stepping.start.0;
    while bench.cycles < stepping.cycles && !cpu.is_halted() {
        cpu.step(&mut bench);
    }
    for reads in bench.live.values_mut() {
        // What stays so need not be said again.
        let last = reads.last().copied();
        let keep = reads.iter().rposition(|read| Some(*read) != last).map_or(1, |at| at + 2);
        reads.truncate(keep);
    }
    bench.live
}

/// The processor's surroundings while it is stepped.
struct Bench<'a> {
    memory: Vec<u8>,
    stations: Vec<DiskStation>,
    /// Which station a port leads to, and by which of its own ports.
    sources: BTreeMap<u8, (usize, usize)>,
    sinks: BTreeMap<u8, (usize, usize)>,
    stepping: &'a Stepping<'a>,
    used: BTreeMap<u8, usize>,
    second: u64,
    now: TStates,
    cycles: u64,
    live: BTreeMap<u8, Vec<LiveByte>>,
}

impl<'a> Bench<'a> {
    fn new(setup: &Setup, diskettes: &[Option<Diskette>], stepping: &'a Stepping<'a>) -> Bench<'a> {
        let mut memory = vec![0; MEMORY];
        for extent in stepping.image.extents() {
            memory[extent.base.index()..][..extent.bytes.len()].copy_from_slice(extent.bytes);
        }
        let mut stations: Vec<_> =
            setup.disks.iter().map(|disk| DiskStation::new(disk, setup.clock_hz, setup.slower)).collect();
        for (station, diskette) in stations.iter_mut().zip(diskettes) {
            if let Some(diskette) = diskette {
                station.drive_mut().insert(diskette.clone(), TStates(0));
            }
        }
        let (mut sources, mut sinks) = (BTreeMap::new(), BTreeMap::new());
        for (number, disk) in setup.disks.iter().enumerate() {
            let roles = |ports: Vec<u8>| ports.into_iter().enumerate().map(move |(role, port)| (port, (number, role)));
            sources.extend(roles(disk.controller.inputs()));
            sinks.extend(roles(disk.controller.outputs()));
        }
        let (used, live, second) = (BTreeMap::new(), BTreeMap::new(), setup.clock_hz);
        // The machine has been on for a while when somebody begins to step.
        let now = TStates(WATCHED * second);
        Bench { memory, stations, sources, sinks, stepping, used, second, now, cycles: 0, live }
    }

    fn given(&mut self, port: u8) -> Option<u8> {
        let values = self.stepping.inputs.get(&port).filter(|values| !values.is_empty())?;
        let used = self.used.entry(port).or_default();
        let value = values[(*used).min(values.len() - 1)];
        *used += 1;
        Some(value)
    }

    /// Watches a port of a station, and then reads it.
    fn watch(&mut self, port: u8, station: usize, role: usize) -> u8 {
        let station = &mut self.stations[station];
        let until = TStates(self.now.0 + WATCHED * self.second);
        let byte = station.watch(role, self.now, until, self.second);
        self.now = until;
        station.input(role, until);
        let reads = self.live.entry(port).or_default();
        if reads.len() < MOST_READS {
            reads.push(byte);
        }
        byte.mostly()
    }
}

impl Bus for Bench<'_> {
    fn begin(&mut self, kind: CycleKind, _address: Option<u16>, _at: TStates) -> TStates {
        // Cycles within the processor are no presses.
        if kind != CycleKind::Internal {
            self.now += TStates(PRESS * self.second);
            self.cycles += 1;
        }
        TStates(0)
    }

    fn read(&mut self, address: u16) -> u8 {
        self.memory[usize::from(address)]
    }

    fn write(&mut self, address: u16, byte: u8) {
        self.memory[usize::from(address)] = byte;
    }

    fn input(&mut self, port: u8) -> u8 {
        if let Some(given) = self.given(port) {
            return given;
        }
        match self.sources.get(&port).copied() {
            Some((station, role)) => self.watch(port, station, role),
            None => self.stepping.idle.get(&port).copied().unwrap_or(0),
        }
    }

    fn output(&mut self, port: u8, byte: u8) {
        if let Some((station, role)) = self.sinks.get(&port).copied() {
            let station = &mut self.stations[station];
            station.settle(self.now);
            station.output(role, byte, self.now);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::{Act, Deed, Form, Shown, Signal, Times, Wire, Wires, bundled, write};
    use crate::rehearsal::disk::{ControllerSetup, DiskSetup, DriveSetup};
    use crate::source::{Origin, Position, SourceMap};

    const COMMANDS: u8 = 0o156;
    const STATUS: u8 = 0o60;

    fn live_of(program: &[u8]) -> BTreeMap<u8, Vec<LiveByte>> {
        let layout = bundled("holes-32").unwrap();
        let wire = |port, bit| Wire { port, bit, low: false };
        let mut shown: Vec<_> = (0..5).map(|bit| (Shown::Sector(bit), wire(STATUS, bit))).collect();
        shown.push((Shown::Signal(Signal::Index), wire(STATUS, 5)));
        shown.push((Shown::Signal(Signal::Hole), wire(STATUS, 6)));
        shown.push((Shown::Signal(Signal::Ready), wire(STATUS, 7)));
        let deeds = vec![Deed { act: Act::Select, wire: wire(COMMANDS, 0), pulse: false }];
        let controller = ControllerSetup::Wired(Wires { data: 0o210, deeds, shown });
        let times = Times::default();
        let drive = DriveSetup { layout: layout.clone(), times, select_loads: false, off: 0, start: 77, track: 0 };
        let setup = Setup { clock_hz: 2_000_000, disks: vec![DiskSetup { controller, drive }], ..Setup::default() };
        let disk = write::formatted(&layout, Form::Whole);
        let mut sources = SourceMap::default();
        let made_by = Position { source: sources.add("stepped", "", Origin::Given), offset: 0 };
        let mut image = Image::default();
        image.insert(Address(0), program, made_by).unwrap();
        let (inputs, idle) = (BTreeMap::new(), BTreeMap::new());
        let stepping = Stepping { image: &image, start: Address(0), cycles: 40, inputs, idle };
        live(&setup, &[Diskette::new(&layout, &disk, false)], &stepping)
    }

    /// The drive's arithmetic: 6 turns a second; a number of five bits counted through in each; holes of 0.4 ms every 5.2, the
    /// index of 1.7 ms every 166.7.
    #[test]
    fn a_selected_drive_shows_what_its_arithmetic_says() {
        // MVI A,1; OUT commands; IN status; JMP there.
        let live = live_of(&[0o076, 1, 0o323, COMMANDS, 0o333, STATUS, 0o303, 4, 0]);
        let [byte] = live[&STATUS][..] else { panic!("{live:?}") };
        let lit = byte.0.map(|lamp| lamp.lit);
        assert_eq!(lit, [500, 500, 500, 500, 500, 10, 77, 1000]);
        let goes_on = byte.0.map(|lamp| lamp.goes_on);
        assert_eq!(goes_on, [960, 480, 240, 120, 60, 60, 1920, 0]);
        assert_eq!(byte.moving(), 0o177);
    }

    #[test]
    fn a_drive_that_is_not_selected_shows_nothing() {
        let live = live_of(&[0o333, STATUS, 0o076, 1, 0o323, COMMANDS, 0o333, STATUS, 0o166]);
        let [before, after] = live[&STATUS][..] else { panic!("{live:?}") };
        assert_eq!((before, after.moving()), (LiveByte::fixed(0), 0o177));
    }
}
