//! A drive: a spindle that turns, a head that is loaded and stepped, a disk that comes and goes.
//!
//! Whatever it is asked is asked for a moment, and nothing has to be played up to it. What a program does to it in a way
//! that a drive cannot follow is kept as a [`Mishap`].

use super::diskette::Diskette;
use super::log::SectorLog;
use super::mishap::Mishap;
use super::spindle::Spindle;
use crate::disk::{Cell, Layout, Times};
use crate::isa::TStates;

/// What a drive is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct DriveSetup {
    /// The disks for which it is made.
    pub layout: Layout,
    /// How long it takes for what it does.
    pub times: Times,
    /// Whether selecting it loads the head. Source: Shugart SA800/801 manual, 4.1.1.2, as shipped.
    pub select_loads: bool,
    /// By how much it turns too fast, in thousandths of a per cent.
    pub off: i64,
    /// Where in a turn it stands at power-on, of 2 to the 32.
    pub start: u32,
    /// Over which track its head stands at power-on.
    pub track: usize,
}

/// A drive.
#[derive(Clone, Debug)]
pub struct Drive {
    pub(super) spindle: Spindle,
    times: InStates,
    select_loads: bool,
    last_track: usize,
    diskette: Option<Diskette>,
    put_in: TStates,
    /// From when on the disk in it has turned long enough.
    ready_from: Option<TStates>,
    opens: Option<TStates>,
    selected: bool,
    loaded: Option<TStates>,
    track: usize,
    /// When it was stepped last, and whether inward.
    stepped: Option<(TStates, bool)>,
    steps: u64,
    /// The sectors that were read.
    log: SectorLog,
    mishaps: Vec<(TStates, Mishap)>,
}

/// The times in T-states, and the pulses in parts of a turn.
#[derive(Clone, Copy, Debug)]
pub(super) struct InStates {
    step: TStates,
    reverse: TStates,
    settle: TStates,
    load: TStates,
    pub index: u128,
    pub hole: u128,
}

/// Index pulses after which a drive is ready. Source: MPI 40 Series manual, 3.5.2; SA800 manual, 4.1.1.
const PULSES_TO_READY: usize = 2;

impl Drive {
    /// A drive without a disk.
    pub fn new(setup: &DriveSetup, clock_hz: u64) -> Drive {
        let DriveSetup { layout, times, .. } = setup;
        let spindle = Spindle::new(layout, clock_hz, setup.off, setup.start);
        let states = |ms: f64| TStates((ms * clock_hz as f64 / 1000.0).ceil() as u64);
        let times = InStates {
            step: states(times.step_ms),
            reverse: states(times.reverse_ms),
            settle: states(times.settle_ms),
            load: states(times.load_ms),
            index: spindle.parts_of_us(times.index_us, layout),
            hole: spindle.parts_of_us(times.hole_us, layout),
        };
        Drive {
            spindle,
            times,
            select_loads: setup.select_loads,
            last_track: layout.tracks - 1,
            diskette: None,
            put_in: TStates(0),
            ready_from: None,
            opens: None,
            selected: false,
            loaded: None,
            track: setup.track.min(layout.tracks - 1),
            stepped: None,
            steps: 0,
            log: SectorLog::default(),
            mishaps: Vec::new(),
        }
    }

    /// Puts a disk in and closes the door.
    pub fn insert(&mut self, diskette: Diskette, at: TStates) {
        (self.diskette, self.put_in, self.opens) = (Some(diskette), at, None);
        self.ready_from = Some((0..PULSES_TO_READY).fold(at, |after, _| self.spindle.next_index(after)));
    }

    /// Lets the door be opened at a moment.
    pub fn open(&mut self, at: TStates) {
        self.opens = Some(at);
    }

    /// The disk that was put in last.
    pub fn diskette(&self) -> Option<&Diskette> {
        self.diskette.as_ref()
    }

    /// Selects it, or no longer. Every output of a drive that is not selected is inactive.
    pub fn select(&mut self, selected: bool, at: TStates) {
        if self.selected != selected {
            self.selected = selected;
            if self.select_loads {
                self.load_head(selected, at);
            }
        }
    }

    /// Loads the head, or unloads it.
    pub fn load_head(&mut self, loaded: bool, at: TStates) {
        if loaded != self.loaded.is_some() {
            self.loaded = loaded.then_some(at);
        }
    }

    /// A step, inward or out. One that comes too early is lost; out from track 0 there is none.
    pub fn step(&mut self, inward: bool, at: TStates) {
        if !self.selected {
            return self.mishap(at, Mishap::StepUnselected);
        }
        if let Some((before, went_inward)) = self.stepped {
            let since = at.0.saturating_sub(before.0);
            let reverses = went_inward != inward && since < self.times.reverse.0;
            if reverses {
                return self.mishap(at, Mishap::ReverseEarly(TStates(self.times.reverse.0 - since)));
            }
            if since < self.times.step.0 {
                return self.mishap(at, Mishap::StepEarly(TStates(self.times.step.0 - since)));
            }
        }
        (self.stepped, self.steps) = (Some((at, inward)), self.steps + 1);
        match (inward, self.track) {
            (true, track) if track == self.last_track => self.mishap(at, Mishap::StepPastLast),
            (true, _) => self.track += 1,
            (false, _) => self.track = self.track.saturating_sub(1),
        }
    }

    /// The track over which the head stands, or to which it is moving.
    pub fn track(&self) -> usize {
        self.track
    }

    /// Steps that the head has followed.
    pub fn steps(&self) -> u64 {
        self.steps
    }

    /// Whether no program has done anything to it.
    pub fn is_untouched(&self) -> bool {
        !self.selected && self.loaded.is_none() && self.stepped.is_none()
    }

    /// Turns since power-on.
    pub fn turns(&self, at: TStates) -> u64 {
        self.spindle.passing(at) / self.spindle.cells()
    }

    /// Whether it is selected.
    pub fn is_selected(&self) -> bool {
        self.selected
    }

    /// Whether a disk turns in it.
    pub fn has_disk(&self, at: TStates) -> bool {
        self.diskette.is_some() && at >= self.put_in && self.opens.is_none_or(|opens| at < opens)
    }

    /// When the door opens or closes next, after a moment.
    pub(super) fn next_door(&self, after: TStates) -> Option<TStates> {
        let moments = self.diskette.is_some().then_some(self.put_in).into_iter().chain(self.opens);
        moments.filter(|&at| at > after).min()
    }

    /// From when on it is ready, if the door stays closed.
    pub(super) fn ready_from(&self) -> Option<TStates> {
        self.ready_from
    }

    /// READY: it is selected, and a disk has turned in it for two index pulses.
    pub fn ready(&self, at: TStates) -> bool {
        self.selected && self.has_disk(at) && self.ready_from().is_some_and(|from| at >= from)
    }

    /// The head has come to track 0.
    pub fn track_zero(&self, at: TStates) -> bool {
        self.selected && self.track == 0 && self.may_step(at)
    }

    /// A step the way of the last one is followed.
    pub fn may_step(&self, at: TStates) -> bool {
        self.selected && at >= self.may_step_from()
    }

    pub(super) fn may_step_from(&self) -> TStates {
        self.stepped.map_or(TStates(0), |(at, _)| at + self.times.step)
    }

    /// The disk in it is protected from being written.
    pub fn protected(&self, at: TStates) -> bool {
        self.selected && self.has_disk(at) && self.diskette.as_ref().is_some_and(|diskette| diskette.protected)
    }

    /// The index hole lies over its sensor.
    pub fn index(&self, at: TStates) -> bool {
        self.selected && self.has_disk(at) && self.spindle.in_index(at, self.times.index)
    }

    /// When the index hole next begins to pass, if nothing opens the door.
    pub fn next_index(&self, after: TStates) -> Option<TStates> {
        let from = after.max(TStates(self.put_in.0.saturating_sub(1)));
        let next = self.diskette.is_some().then(|| self.spindle.next_index(from))?;
        (self.selected && self.has_disk(next)).then_some(next)
    }

    /// From when on the head rests on the track; never if it is not loaded.
    pub fn settles(&self) -> Option<TStates> {
        let stepped = self.stepped.map_or(TStates(0), |(at, _)| at + self.times.settle);
        self.loaded.map(|at| (at + self.times.load).max(stepped))
    }

    /// From when on the head, loaded, rests on the disk, whatever steps it makes; never if it is not loaded.
    pub fn engages(&self) -> Option<TStates> {
        self.loaded.map(|at| at + self.times.load)
    }

    /// Whether the head is loaded.
    pub fn is_loaded(&self) -> bool {
        self.loaded.is_some()
    }

    /// Whether the head rests on the disk and on its track.
    pub fn settled(&self, at: TStates) -> bool {
        self.selected && self.has_disk(at) && self.settles().is_some_and(|from| at >= from)
    }

    /// The byte cell that passes, counted on from turn to turn; none if nothing turns.
    pub fn passing(&self, at: TStates) -> Option<u64> {
        self.has_disk(at).then(|| self.spindle.passing(at))
    }

    /// When a byte cell begins to pass.
    pub fn begins(&self, cell: u64) -> TStates {
        self.spindle.begins(cell)
    }

    /// Byte cells from one hole to the next, or of a turn.
    pub fn stretch_cells(&self) -> u64 {
        self.spindle.stretch_cells()
    }

    /// Byte cells of a turn.
    pub fn cells(&self) -> u64 {
        self.spindle.cells()
    }

    /// What the head finds in a byte cell; nothing if it is not on a disk then. Before it rests it finds other bits than
    /// are there.
    pub fn read(&self, cell: u64) -> Option<Cell> {
        let at = self.begins(cell);
        let diskette = self.diskette.as_ref().filter(|_| self.selected && self.has_disk(at))?;
        let settles = self.settles()?;
        let found = diskette.cell(self.track, self.spindle.of_turn(cell));
        if at >= settles {
            return Some(found);
        }
        Some(Cell { byte: found.byte.rotate_left(3) ^ (cell as u8).wrapping_mul(0o155) ^ 0o132, mark: false })
    }

    /// Tells of a byte that a program takes at a moment, if the head is not on it as it should be.
    pub fn watch_read(&mut self, at: TStates) {
        self.note_sector(at);
        match self.settles() {
            None => self.mishap(at, Mishap::ReadUnloaded),
            Some(from) if at < from => self.mishap(at, Mishap::ReadUnsettled(TStates(from.0 - at.0))),
            Some(_) => {}
        }
    }

    /// A byte was taken at a moment: of which sector.
    fn note_sector(&mut self, at: TStates) {
        let stretch = self.spindle.stretch_at(at);
        if self.has_disk(at) {
            self.log.passes(stretch, (self.track, (stretch % self.spindle.stretches()) as usize));
        }
    }

    /// The data of the sector at a place of the track under the head begin to be read.
    pub fn note_place(&mut self, place: usize) {
        self.log.begins((self.track, place));
    }

    /// The sectors that were read of it.
    pub fn log(&self) -> &SectorLog {
        &self.log
    }

    /// Writes a byte cell while it passes. Cells lie where the layout has them, whatever the speed.
    pub fn write(&mut self, cell: u64, content: Cell) {
        let at = self.begins(cell);
        let refused = match self.settles() {
            _ if !self.has_disk(at) => Some(Mishap::WriteNowhere),
            None => Some(Mishap::WriteUnloaded),
            _ if !self.selected => Some(Mishap::WriteUnloaded),
            _ if self.protected(at) => Some(Mishap::WriteProtected),
            Some(from) if at < from => Some(Mishap::WriteUnsettled(TStates(from.0 - at.0))),
            Some(_) => None,
        };
        if let Some(mishap) = refused {
            self.mishap(at, mishap);
        }
        // The drive itself refuses to write all but a head that still moves: that writes beside its track.
        if matches!(refused, None | Some(Mishap::WriteUnsettled(_))) {
            let of_turn = self.spindle.of_turn(cell);
            if let Some(diskette) = &mut self.diskette {
                diskette.write(self.track, of_turn, content);
            }
        }
    }

    /// Tells of a byte that was to be written while nothing turned.
    pub fn write_nowhere(&mut self, at: TStates) {
        self.mishap(at, Mishap::WriteNowhere);
    }

    pub(super) fn has_mishaps(&self) -> bool {
        !self.mishaps.is_empty()
    }

    /// What it could not do since the last call, in order.
    pub fn take_mishaps(&mut self) -> Vec<(TStates, Mishap)> {
        std::mem::take(&mut self.mishaps)
    }

    pub(super) fn pulses(&self) -> (u128, u128) {
        (self.times.index, self.times.hole)
    }

    fn mishap(&mut self, at: TStates, mishap: Mishap) {
        self.mishaps.push((at, mishap));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::Signal;
    use crate::disk::{Form, bundled, write};

    const CLOCK: u64 = 2_000_000;

    fn ms(ms: u64) -> TStates {
        TStates(ms * CLOCK / 1000)
    }

    /// A drive with a disk whose head stands on track 2.
    fn drive() -> Drive {
        let layout = bundled("holes-32").unwrap();
        let diskette = Diskette::new(&layout, &write::formatted(&layout, Form::Whole), false).unwrap();
        let times = Times::default();
        let setup = DriveSetup { layout, times, select_loads: false, off: 0, start: 1 << 30, track: 2 };
        let mut drive = Drive::new(&setup, CLOCK);
        drive.insert(diskette, TStates(0));
        drive
    }

    fn mishaps(drive: &mut Drive) -> Vec<Mishap> {
        drive.take_mishaps().into_iter().map(|(_, mishap)| mishap).collect()
    }

    /// Source: MPI 40 Series manual, 3.5.2: ready after two index pulses; it stands a quarter behind the first.
    #[test]
    fn it_is_ready_after_two_index_pulses() {
        let mut drive = drive();
        assert!(!drive.ready(ms(1000)), "it is not selected");
        drive.select(true, TStates(0));
        let ready = 333_333 * 3 / 4 + 333_333;
        assert!(!drive.ready(TStates(ready)) && drive.ready(TStates(ready + 2)));
        drive.open(ms(900));
        assert!(drive.ready(ms(899)) && !drive.ready(ms(900)) && drive.passing(ms(900)).is_none());
    }

    #[test]
    fn steps_that_come_in_time_are_followed_up_to_the_ends() {
        let mut drive = drive();
        drive.step(false, ms(1));
        drive.select(true, ms(2));
        for at in 1..=4 {
            drive.step(false, ms(8 * at));
        }
        assert_eq!((mishaps(&mut drive), drive.track(), drive.steps()), (vec![Mishap::StepUnselected], 0, 4));
        assert!(!drive.track_zero(ms(39)) && drive.track_zero(ms(40)));
        for at in 0..78 {
            drive.step(true, ms(48 + 8 * at));
        }
        assert_eq!((mishaps(&mut drive), drive.track()), (vec![Mishap::StepPastLast, Mishap::StepPastLast], 76));
    }

    #[test]
    fn a_step_that_comes_too_early_is_lost() {
        let mut drive = drive();
        drive.select(true, TStates(0));
        drive.step(true, ms(10));
        drive.step(true, TStates(ms(18).0 - 5));
        assert_eq!((mishaps(&mut drive), drive.track()), (vec![Mishap::StepEarly(TStates(5))], 3));
        drive.step(false, ms(20));
        assert_eq!((mishaps(&mut drive), drive.track()), (vec![Mishap::ReverseEarly(ms(6))], 3));
        drive.step(false, ms(26));
        assert_eq!((mishaps(&mut drive), drive.track()), (vec![], 2));
    }

    #[test]
    fn a_head_rests_after_loading_and_after_a_step() {
        let mut drive = drive();
        drive.select(true, TStates(0));
        let cell = |drive: &Drive, at| drive.passing(at).unwrap();
        assert_eq!(drive.read(cell(&drive, ms(100))), None, "it is not loaded");
        drive.load_head(true, ms(100));
        assert!(!drive.settled(TStates(ms(135).0 - 1)) && drive.settled(ms(135)));
        drive.step(true, ms(130));
        assert_eq!(drive.settles(), Some(ms(148)));
        drive.watch_read(ms(147));
        drive.watch_read(ms(148));
        drive.load_head(false, ms(150));
        drive.watch_read(ms(151));
        assert_eq!(mishaps(&mut drive), [Mishap::ReadUnsettled(ms(1)), Mishap::ReadUnloaded]);
    }

    #[test]
    fn a_drive_may_load_its_head_when_it_is_selected() {
        let layout = bundled("marks-26").unwrap();
        let setup = DriveSetup { layout, times: Times::default(), select_loads: true, off: 0, start: 0, track: 0 };
        let mut drive = Drive::new(&setup, CLOCK);
        drive.select(true, ms(3));
        assert!(drive.is_loaded());
        drive.select(false, ms(4));
        assert!(!drive.is_loaded());
    }

    #[test]
    fn what_is_written_is_read_unless_it_may_not_be() {
        let mut drive = drive();
        let written = Cell { byte: 0o231, mark: false };
        let at = drive.passing(ms(500)).unwrap();
        drive.write(at, written);
        drive.select(true, TStates(0));
        drive.write(at, written);
        drive.load_head(true, ms(10));
        drive.write(at, written);
        assert_eq!(drive.read(at + drive.cells()), Some(written));
        let mut locked = drive.diskette().unwrap().clone();
        locked.protected = true;
        drive.insert(locked, TStates(0));
        drive.write(at, Cell::default());
        assert_eq!(drive.read(at), Some(written));
        drive.open(ms(400));
        drive.write(at, Cell::default());
        let unloaded = Mishap::WriteUnloaded;
        assert_eq!(mishaps(&mut drive), [unloaded, unloaded, Mishap::WriteProtected, Mishap::WriteNowhere]);
    }

    #[test]
    fn a_signal_changes_only_where_it_is_said_to() {
        let all = [Signal::Ready, Signal::Index, Signal::Hole, Signal::TrackZero, Signal::Settled, Signal::MayStep];
        let mut drive = drive();
        drive.select(true, ms(1));
        drive.load_head(true, ms(2));
        drive.step(false, ms(3));
        drive.step(false, ms(12));
        drive.open(ms(520));
        for signal in all {
            let mut level = drive.shows(signal, ms(12));
            let mut next = drive.next_change(signal, ms(12));
            for at in (ms(12).0 + 1..ms(540).0).map(TStates) {
                if Some(at) == next {
                    (level, next) = (drive.shows(signal, at), drive.next_change(signal, at));
                }
                assert_eq!(drive.shows(signal, at), level, "{signal:?} at {at:?}");
            }
        }
    }
}
