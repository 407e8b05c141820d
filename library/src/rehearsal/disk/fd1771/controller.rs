//! The chip on its board, with a drive, as a controller of the machine.

use super::board::{Board, Role};
use super::chip::{Register, Trouble as Told};
use super::pins::Pins;
use crate::disk::{Cell, ChipWires, Signal, Wire};
use crate::isa::TStates;
use crate::record::Spot;
use crate::rehearsal::disk::controller::{Controller, Trouble};
use crate::rehearsal::disk::drive::Drive;

/// The chip with its drive.
#[derive(Clone, Debug)]
pub struct Fd1771Controller {
    board: Board<Attached>,
    select: Option<Wire>,
    /// Up to when the drive has been looked at.
    looked: TStates,
    /// When a byte was lost, and which, for as long as nobody knows by how much it was too late.
    lost: Option<(TStates, usize)>,
    trouble: Vec<(TStates, Trouble)>,
    changes: u64,
}

/// A drive at the pins of the chip. HLD reaches it only while it is selected.
#[derive(Clone, Debug)]
struct Attached {
    drive: Drive,
    load: bool,
}

impl Pins for Attached {
    fn ready(&self, at: TStates) -> bool {
        self.drive.ready(at)
    }

    fn track_zero(&self, at: TStates) -> bool {
        self.drive.track_zero(at)
    }

    fn protected(&self, at: TStates) -> bool {
        self.drive.protected(at)
    }

    /// No drive that is simulated has such a line.
    fn write_fault(&self, _: TStates) -> bool {
        false
    }

    fn index(&self, at: TStates) -> bool {
        self.drive.index(at)
    }

    fn next_index(&self, after: TStates) -> Option<TStates> {
        self.drive.next_index(after)
    }

    /// HLT comes from a one-shot that HLD starts, set to the time of the drive (common practice): it knows no steps.
    fn settles(&self) -> Option<TStates> {
        self.drive.engages()
    }

    fn load_head(&mut self, loaded: bool, at: TStates) {
        self.load = loaded;
        if self.drive.is_selected() {
            self.drive.load_head(loaded, at);
        }
    }

    /// The steps of the restore behind a reset reach no drive before one is selected.
    fn step(&mut self, inward: bool, at: TStates) {
        if self.drive.is_selected() {
            self.drive.step(inward, at);
        }
    }

    fn passing(&self, at: TStates) -> Option<u64> {
        self.drive.passing(at).filter(|_| self.drive.is_selected())
    }

    fn begins(&self, cell: u64) -> TStates {
        self.drive.begins(cell)
    }

    fn cells(&self) -> u64 {
        self.drive.cells()
    }

    fn read(&self, cell: u64) -> Option<Cell> {
        self.drive.read(cell)
    }

    /// Looks at the disk before it looks at the clock.
    fn next_mark(&self, mut cells: std::ops::RangeInclusive<u64>) -> Option<u64> {
        let (diskette, track) = (self.drive.diskette()?, self.drive.track());
        let is_mark = |cell| diskette.cell(track, self.drive.spindle.of_turn(cell)).mark;
        cells.find(|&cell| is_mark(cell) && self.read(cell).is_some_and(|content| content.mark))
    }

    fn begins_sector(&mut self, sector: u8) {
        let spot = Spot { track: self.drive.track() as u8, sector };
        if let Some(place) = self.drive.diskette().and_then(|diskette| diskette.layout().place_of(spot)) {
            self.drive.note_place(place);
        }
    }

    fn write(&mut self, cell: u64, content: Cell) {
        self.drive.write(cell, content);
    }
}

impl Attached {
    /// When the drive next does something by itself of which the chip takes notice.
    fn next_change(&self, after: TStates) -> Option<TStates> {
        self.drive.next_change(Signal::Ready, after)
    }

    fn select(&mut self, selected: bool, at: TStates) {
        self.drive.select(selected, at);
        self.drive.load_head(selected && self.load, at);
    }
}

impl Fd1771Controller {
    /// The number of the port of requests among those that are read; 0 to 3 are the registers of the chip.
    pub const REQUESTS: usize = 4;

    /// The number of the port of selection among those that are written; 0 to 3 are the registers of the chip.
    pub const SELECT: usize = 4;

    /// The board with a drive, at power-on.
    pub fn new(wires: &ChipWires, clock_hz: u64, mut drive: Drive) -> Fd1771Controller {
        if wires.select.is_none() {
            drive.select(true, TStates(0));
        }
        let attached = Attached { drive, load: false };
        let board = Board::new(*wires, clock_hz, attached);
        Fd1771Controller {
            board,
            select: wires.select,
            looked: TStates(0),
            lost: None,
            trouble: Vec::new(),
            changes: 0,
        }
    }

    /// A port of the chip.
    fn role(number: usize) -> Option<Role> {
        match number {
            0..=3 => Some(Role::Register(Register::from_bits(number as u8))),
            Self::REQUESTS => Some(Role::Requests),
            _ => None,
        }
    }

    /// Takes over what the chip has run into.
    fn hear(&mut self) {
        for (at, told) in self.board.chip.take_trouble() {
            match told {
                Told::Lost { byte } => self.lost = Some((at, byte)),
                told => {
                    self.tell_lost(None);
                    self.trouble.push((at, Trouble::Chip(told)));
                }
            }
        }
        if !self.board.chip.is_busy() {
            self.tell_lost(None);
        }
    }

    /// Tells of a byte that was lost, when the register is served at last or never.
    fn tell_lost(&mut self, served: Option<TStates>) {
        if let Some((at, byte)) = self.lost.take() {
            // A byte is there up to the moment at which the next one is.
            let late = served.map_or(TStates(0), |served| TStates(served.0 + 1 - at.0));
            self.trouble.push((at, Trouble::Lost { byte, late }));
        }
    }
}

impl Controller for Fd1771Controller {
    fn drive(&self) -> &Drive {
        &self.board.pins.drive
    }

    fn drive_mut(&mut self) -> &mut Drive {
        self.changes += 1;
        &mut self.board.pins.drive
    }

    fn peek(&self, role: usize, at: TStates) -> u8 {
        Self::role(role).map_or(0xFF, |role| self.board.peek(role, at))
    }

    fn input(&mut self, role: usize, at: TStates) -> u8 {
        let Some(known) = Self::role(role) else { return 0xFF };
        if known == Role::Register(Register::Data) {
            self.tell_lost(Some(at));
        }
        let before = (self.board.chip.drq(), self.board.chip.intrq());
        let byte = self.board.input(known, at);
        self.changes += u64::from(before != (self.board.chip.drq(), self.board.chip.intrq()));
        byte
    }

    fn gives_data(&self, role: usize) -> bool {
        Self::role(role) == Some(Role::Register(Register::Data))
    }

    fn output(&mut self, role: usize, byte: u8, at: TStates) {
        self.changes += 1;
        if role == Self::SELECT {
            if let Some(wire) = self.select {
                self.board.pins.select(wire.says(byte), at);
            }
        } else if let Some(known) = Self::role(role) {
            if known == Role::Register(Register::Data) {
                self.tell_lost(Some(at));
            }
            self.board.output(known, byte, at);
        }
        self.board.settle(at);
        self.hear();
    }

    fn held_until(&mut self, role: usize, at: TStates) -> Option<TStates> {
        let known = Self::role(role)?;
        self.changes += 1;
        let held = self.board.held_until(known, at, Attached::next_change);
        self.looked = held.unwrap_or(at);
        self.hear();
        held
    }

    fn changes(&self) -> u64 {
        self.changes
    }

    fn next_change(&self, role: usize, after: TStates) -> Option<TStates> {
        let drive = &self.board.pins.drive;
        let shows: &[Signal] = match Self::role(role) {
            Some(Role::Register(Register::Command)) => {
                &[Signal::Ready, Signal::Index, Signal::TrackZero, Signal::Settled, Signal::Protected]
            }
            _ => &[],
        };
        let engages = drive.engages().filter(|&at| at > after && !shows.is_empty());
        let shown = shows.iter().filter_map(|&signal| drive.next_change(signal, after));
        shown.chain(engages).chain(self.next_event()).min()
    }

    fn next_event(&self) -> Option<TStates> {
        self.board.next_event().into_iter().chain(self.board.pins.next_change(self.looked)).min()
    }

    fn settle(&mut self, now: TStates) {
        self.changes += 1;
        while let Some(change) = self.board.pins.next_change(self.looked).filter(|&change| change <= now) {
            self.board.settle(change);
            self.looked = change;
        }
        self.board.settle(now);
        self.looked = self.looked.max(now);
        self.hear();
    }

    fn take_trouble(&mut self) -> Vec<(TStates, Trouble)> {
        let mishaps = self.board.pins.drive.take_mishaps();
        let mut trouble = std::mem::take(&mut self.trouble);
        trouble.extend(mishaps.into_iter().map(|(at, mishap)| (at, Trouble::Drive(mishap))));
        trouble.sort_by_key(|(at, _)| *at);
        trouble
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::{Form, Line, Requests, Times, bundled, write};
    use crate::rehearsal::disk::{Diskette, DriveSetup, Mishap};

    const MS: u64 = 2000;
    const COMMAND: usize = 0;
    const DATA: usize = 3;

    /// A board of 2 MHz with a formatted disk in its drive, ready, its head on a track.
    struct Bench {
        controller: Fd1771Controller,
        now: u64,
    }

    impl Bench {
        fn new(track: usize) -> Bench {
            let layout = bundled("marks-26").unwrap();
            let times = Times::default();
            let setup = DriveSetup { layout, times, select_loads: false, off: 0, start: 0x4321_0000, track };
            let mut drive = Drive::new(&setup, 1000 * MS);
            let disk = write::formatted(&setup.layout, Form::Whole);
            drive.insert(Diskette::new(&setup.layout, &disk, false).unwrap(), TStates(0));
            let line = |bit, low| Line { bit, low };
            let requests = Requests { port: 4, data: line(0, false), interrupt: line(1, true), holds: true };
            let wires = ChipWires {
                registers: [0, 1, 2, 3],
                inverted: false,
                is_slow: false,
                requests: Some(requests),
                select: Some(Wire { port: 5, bit: 2, low: false }),
            };
            let controller = Fd1771Controller::new(&wires, 1000 * MS, drive);
            let mut bench = Bench { controller, now: 0 };
            bench.wait(500 * MS);
            bench.output(COMMAND, 0o320);
            bench.output(Fd1771Controller::SELECT, 0b100);
            bench.told();
            bench
        }

        fn wait(&mut self, states: u64) {
            self.now += states;
            self.controller.settle(TStates(self.now));
            let next = self.controller.next_event();
            assert!(next.is_none_or(|at| at.0 > self.now), "{next:?} is not ahead of {}", self.now);
        }

        fn output(&mut self, role: usize, byte: u8) {
            self.controller.output(role, byte, TStates(self.now));
        }

        fn input(&mut self, role: usize) -> u8 {
            self.controller.input(role, TStates(self.now))
        }

        /// Reads the port that holds; whether data are asked for, and whether it is the end.
        fn held(&mut self) -> (bool, bool) {
            let requests = Fd1771Controller::REQUESTS;
            self.now = self.controller.held_until(requests, TStates(self.now)).expect("not for ever").0;
            let byte = self.input(requests);
            (byte & 1 != 0, byte & 2 == 0)
        }

        /// A command to its end, its bytes read; the status.
        fn command(&mut self, byte: u8, bytes: &mut Vec<u8>) -> u8 {
            self.output(COMMAND, byte);
            while let (true, _) = self.held() {
                bytes.push(self.input(DATA));
            }
            self.input(COMMAND)
        }

        fn told(&mut self) -> Vec<Trouble> {
            self.controller.take_trouble().into_iter().map(|(_, trouble)| trouble).collect()
        }

        /// Over track 0, with the head loaded and at rest.
        fn restored() -> Bench {
            let mut bench = Bench::new(5);
            assert_eq!(bench.command(0o016, &mut Vec::new()) & !0o042, 0o004);
            assert_eq!((bench.told(), bench.controller.drive().track()), (vec![], 0));
            bench
        }
    }

    #[test]
    fn a_sector_is_read_on_a_drive() {
        let mut bench = Bench::restored();
        bench.output(2, 1);
        let mut bytes = Vec::new();
        assert_eq!((bench.command(0o210, &mut bytes), bytes, bench.told()), (0, vec![0xE5; 128], vec![]));
    }

    #[test]
    fn steps_quicker_than_the_drive_are_not_followed() {
        let mut bench = Bench::new(5);
        bench.output(COMMAND, 0o010);
        bench.wait(31 * MS);
        assert!(bench.told().contains(&Trouble::Drive(Mishap::StepEarly(TStates(2 * MS)))));
    }

    #[test]
    fn a_byte_that_is_fetched_too_late_is_told_with_by_how_much() {
        let mut bench = Bench::restored();
        bench.output(2, 1);
        bench.output(COMMAND, 0o210);
        bench.held();
        bench.input(DATA);
        bench.held();
        bench.wait(64 + 9);
        bench.input(DATA);
        assert_eq!(bench.told(), [Trouble::Lost { byte: 1, late: TStates(10) }]);
        assert_eq!(bench.input(COMMAND) & 0o004, 0o004);
    }

    #[test]
    fn a_door_that_opens_ends_all_bytes() {
        let mut bench = Bench::restored();
        bench.output(2, 1);
        bench.output(COMMAND, 0o210);
        bench.held();
        let opens = TStates(bench.now + 100);
        bench.controller.drive_mut().open(opens);
        bench.input(DATA);
        bench.held();
        bench.input(DATA);
        assert!(bench.controller.held_until(Fd1771Controller::REQUESTS, TStates(bench.now)).is_none());
        bench.wait(1000);
        assert_eq!(bench.input(COMMAND) & 0o201, 0o201, "not ready, and busy for ever");
        bench.output(COMMAND, 0o330);
        assert_eq!(bench.command(0o210, &mut Vec::new()), 0o200);
        assert_eq!(bench.told(), [Trouble::Chip(Told::NotReady)]);
    }

    #[test]
    fn a_drive_that_is_not_selected_is_not_ready() {
        let mut bench = Bench::restored();
        bench.output(Fd1771Controller::SELECT, 0);
        assert_eq!(bench.command(0o210, &mut Vec::new()), 0o200);
        bench.output(Fd1771Controller::SELECT, 0o377);
        // The head is loaded anew.
        let from = bench.now;
        bench.output(2, 1);
        let mut bytes = Vec::new();
        assert_eq!((bench.command(0o214, &mut bytes), bytes.len()), (0, 128));
        assert!(bench.now - from > 35 * MS);
    }

    /// What a port reads does not change before it says that it may.
    #[test]
    fn what_a_port_reads_stays_until_it_is_said_to_change() {
        let mut bench = Bench::new(5);
        for command in [0o016, 0o214, 0o304, 0o364, 0o020] {
            bench.output(COMMAND, command);
            for role in 0..5 {
                for _ in 0..300 {
                    let at = TStates(bench.now);
                    let read = bench.controller.peek(role, at);
                    let next = bench.controller.next_change(role, at).map_or(bench.now + 50 * MS, |at| at.0);
                    assert!(next > bench.now);
                    bench.wait(next - 1 - bench.now);
                    assert_eq!(bench.controller.peek(role, TStates(bench.now)), read, "{command:o}, {role}");
                    bench.wait(1);
                }
            }
            bench.output(COMMAND, 0o320);
        }
    }
}
