//! The FD1771 as the processor and the drive know it.

use super::command::{Command, Conditions};
use super::pins::Pins;
use super::positioning::Positioning;
use super::registers::{Faults, Registers, Tells};
use super::sector::{ReadSector, WriteSector};
use super::task::{Flow, Task, Times};
use super::track::{ReadAddress, ReadTrack, WriteTrack};
use crate::isa::TStates;

/// Index pulses after which the head of an idle chip is unloaded.
const TURNS_TO_UNLOAD: usize = 3;

/// What master reset puts into the command register: a restore at the slowest rate.
const RESET: u8 = 0x03;

/// A register by its number: A1 and A0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Register {
    /// 0: status when it is read, command when it is written.
    Command,
    /// 1: the track.
    Track,
    /// 2: the sector.
    Sector,
    /// 3: the data.
    Data,
}

impl Register {
    /// The register that two address lines choose.
    pub fn from_bits(bits: u8) -> Register {
        [Register::Command, Register::Track, Register::Sector, Register::Data][usize::from(bits & 0b11)]
    }
}

/// Something that a command ran into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trouble {
    /// A command came while another was being done; it is not taken.
    Busy,
    /// No disk turns in the drive that is selected.
    NotReady,
    /// It was to write, and the disk is protected.
    Protected,
    /// The drive could not write.
    WriteFault,
    /// The data register was not served in time.
    Lost {
        /// Which byte of the command was the first to be lost.
        byte: usize,
    },
    /// A check does not agree.
    Check,
    /// The track does not say that it is the one that was to be reached, or track 0 did not come.
    WrongTrack,
    /// No ID field of the track and the sector in the registers came within two turns.
    NotFound,
}

/// The chip. What it answers is for a moment to which it has been settled.
#[derive(Clone, Debug)]
pub struct Fd1771 {
    registers: Registers,
    times: Times,
    task: Option<Box<dyn Task>>,
    conditions: Conditions,
    /// Whether the drive was ready when it was last looked at.
    was_ready: bool,
    /// Since when nothing is done.
    idle_since: TStates,
    /// Up to when index pulses have been taken notice of.
    watched: TStates,
    trouble: Vec<(TStates, Trouble)>,
}

impl Fd1771 {
    /// The chip just let go from master reset, with a clock of 2 MHz or 1 MHz, in a machine of so many T-states a second.
    pub fn new(clock_hz: u64, is_slow: bool, pins: &mut dyn Pins) -> Fd1771 {
        let mut chip = Fd1771 {
            registers: Registers::default(),
            times: Times::new(clock_hz, is_slow),
            task: None,
            conditions: Conditions::default(),
            was_ready: pins.ready(TStates(0)),
            idle_since: TStates(0),
            watched: TStates(0),
            trouble: Vec::new(),
        };
        chip.command(RESET, TStates(0), pins);
        chip
    }

    /// DRQ: the data register waits to be read or written.
    pub fn drq(&self) -> bool {
        self.registers.drq
    }

    /// INTRQ: a command has come to its end, or a condition interrupts.
    pub fn intrq(&self) -> bool {
        self.registers.intrq
    }

    /// Whether a command is being done.
    pub fn is_busy(&self) -> bool {
        self.registers.busy
    }

    /// Whether a request may come by itself: something is being done, or a condition is awaited.
    pub fn may_request(&self) -> bool {
        self.registers.busy || self.conditions != Conditions::default()
    }

    /// What commands ran into since the last call, in order.
    pub fn take_trouble(&mut self) -> Vec<(TStates, Trouble)> {
        std::mem::take(&mut self.trouble)
    }

    /// A register as it stands, without what reading it does.
    pub fn peek(&self, register: Register, at: TStates, pins: &dyn Pins) -> u8 {
        match register {
            Register::Command => self.registers.status(pins, at),
            Register::Track => self.registers.track,
            Register::Sector => self.registers.sector,
            Register::Data => self.registers.data,
        }
    }

    /// The processor reads a register.
    pub fn read(&mut self, register: Register, at: TStates, pins: &dyn Pins) -> u8 {
        let byte = self.peek(register, at, pins);
        match register {
            Register::Command => self.registers.intrq = false,
            Register::Data => self.registers.drq = false,
            Register::Track | Register::Sector => {}
        }
        byte
    }

    /// The processor writes a register.
    pub fn write(&mut self, register: Register, byte: u8, at: TStates, pins: &mut dyn Pins) {
        match register {
            Register::Command => self.command(byte, at, pins),
            Register::Track => self.registers.track = byte,
            Register::Sector => self.registers.sector = byte,
            Register::Data => (self.registers.data, self.registers.drq) = (byte, false),
        }
    }

    /// When the chip will next change by itself; never while nothing is due.
    pub fn next_event(&self, pins: &dyn Pins) -> Option<TStates> {
        let task = self.task.as_ref().and_then(|task| task.next(pins));
        let index = self.conditions.index.then(|| pins.next_index(self.watched)).flatten();
        task.into_iter().chain(index).chain(self.unloads(pins)).min()
    }

    /// Lets happen what is due up to and including `now`. Whenever the drive changes it is to be called.
    pub fn settle(&mut self, now: TStates, pins: &mut dyn Pins) {
        while let Some(at) = self.next_event(pins).filter(|&at| at <= now) {
            self.happen(at, pins);
        }
        self.watched = now;
        self.look_at_drive(now, pins);
    }

    fn happen(&mut self, at: TStates, pins: &mut dyn Pins) {
        if self.task.as_ref().and_then(|task| task.next(pins)) == Some(at) {
            return self.advance(at, pins);
        }
        if self.unloads(pins) == Some(at) {
            self.registers.loaded = false;
            pins.load_head(false, at);
        } else {
            self.registers.intrq = true;
        }
        self.watched = at;
    }

    /// When the head of the idle chip is unloaded.
    fn unloads(&self, pins: &dyn Pins) -> Option<TStates> {
        if self.registers.busy || !self.registers.loaded {
            return None;
        }
        (0..TURNS_TO_UNLOAD).try_fold(self.idle_since, |after, _| pins.next_index(after))
    }

    fn look_at_drive(&mut self, now: TStates, pins: &dyn Pins) {
        let ready = pins.ready(now);
        let was_ready = std::mem::replace(&mut self.was_ready, ready);
        if was_ready != ready && if ready { self.conditions.ready } else { self.conditions.not_ready } {
            self.registers.intrq = true;
        }
        match &mut self.task {
            Some(task) if pins.passing(now).is_none() => task.stop(),
            Some(task) => task.go(now, pins),
            None => {}
        }
    }

    fn advance(&mut self, at: TStates, pins: &mut dyn Pins) {
        let Some(task) = &mut self.task else { return };
        let before = self.registers.faults;
        let flow = task.advance(at, &mut self.registers, pins);
        self.tell(before, at);
        if flow == Flow::Ends {
            self.end(at);
        }
    }

    fn tell(&mut self, before: Faults, at: TStates) {
        let Faults { crc, lost, missing, protected, write } = self.registers.faults;
        let missed = if self.registers.tells == Tells::Position { Trouble::WrongTrack } else { Trouble::NotFound };
        let found = [
            (crc && !before.crc, Trouble::Check),
            (lost && !before.lost, Trouble::Lost { byte: self.registers.first_lost }),
            (missing && !before.missing, missed),
            (protected && !before.protected, Trouble::Protected),
            (write && !before.write, Trouble::WriteFault),
        ];
        self.trouble.extend(found.into_iter().filter(|(is, _)| *is).map(|(_, trouble)| (at, trouble)));
    }

    /// A command has come to its end.
    fn end(&mut self, at: TStates) {
        self.task = None;
        self.idle_since = at;
        (self.registers.busy, self.registers.intrq) = (false, true);
    }

    fn command(&mut self, byte: u8, at: TStates, pins: &mut dyn Pins) {
        let command = Command::decode(byte);
        if let Command::ForceInterrupt(conditions) = command {
            return self.force(conditions, at);
        }
        if self.registers.busy {
            return self.trouble.push((at, Trouble::Busy));
        }
        let chip = &mut self.registers;
        (chip.faults, chip.mark, chip.passed) = (Faults::default(), 0, 0);
        (chip.drq, chip.intrq, chip.busy) = (false, false, true);
        (self.conditions, self.watched) = (Conditions::default(), at);
        chip.tells = tells(command);
        self.task = self.begin(command, at, pins);
        if self.task.is_none() {
            self.end(at);
        }
    }

    /// The command on its way; nothing if it comes to its end at once.
    fn begin(&mut self, command: Command, at: TStates, pins: &mut dyn Pins) -> Option<Box<dyn Task>> {
        if let Command::Position(position) = command {
            return Some(Box::new(Positioning::new(position, at, self.times, &mut self.registers, pins)));
        }
        if !pins.ready(at) {
            self.trouble.push((at, Trouble::NotReady));
            return None;
        }
        if matches!(command, Command::WriteSector(..) | Command::WriteTrack { .. }) && pins.protected(at) {
            self.registers.faults.protected = true;
            self.trouble.push((at, Trouble::Protected));
            return None;
        }
        let (times, chip) = (self.times, &mut self.registers);
        Some(match command {
            Command::ReadSector(sectors) => Box::new(ReadSector::new(sectors, at, times, chip, pins)),
            Command::WriteSector(sectors, mark) => Box::new(WriteSector::new(sectors, mark, at, times, chip, pins)),
            Command::ReadAddress { load } => Box::new(ReadAddress::new(load, at, times, chip, pins)),
            Command::ReadTrack { load } => Box::new(ReadTrack::new(load, at, times, chip, pins)),
            Command::WriteTrack { load } => Box::new(WriteTrack::new(load, at, times, chip, pins)),
            Command::Position(_) | Command::ForceInterrupt(_) => return None,
        })
    }

    /// Ends what is being done; the other bits of the status stay. Of an idle chip the status becomes that of type I.
    fn force(&mut self, conditions: Conditions, at: TStates) {
        if self.task.take().is_some() {
            self.idle_since = at;
        } else {
            (self.registers.tells, self.registers.faults) = (Tells::Position, Faults::default());
        }
        self.registers.busy = false;
        self.registers.intrq = conditions.now;
        (self.conditions, self.watched) = (conditions, at);
    }
}

/// Which command the status tells of.
fn tells(command: Command) -> Tells {
    match command {
        Command::Position(_) | Command::ForceInterrupt(_) => Tells::Position,
        Command::ReadSector(_) => Tells::ReadSector,
        Command::WriteSector(..) => Tells::WriteSector,
        Command::ReadAddress { .. } => Tells::ReadAddress,
        Command::ReadTrack { .. } => Tells::ReadTrack,
        Command::WriteTrack { .. } => Tells::WriteTrack,
    }
}
