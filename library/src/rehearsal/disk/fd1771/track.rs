//! Type III: an ID field, or all of a track.
//!
//! Source: Western Digital FD1771-01 data sheet, type III commands and control bytes for initialization (by a retyped
//! digest).

use super::check::Check;
use super::pins::Pins;
use super::registers::Registers;
use super::search::{ID_BYTES, ID_MARK, IdField, is_data_mark};
use super::task::{Approach, Flow, Reached, Task, Times};
use crate::disk::Cell;
use crate::isa::TStates;

/// The byte that is written as two bytes of check.
const WRITES_CHECK: u8 = 0xF7;

/// The mark behind the index hole.
const INDEX_MARK: u8 = 0xFC;

/// Within so many bytes of the head's coming to rest the first byte of a track must be there; it is asked for at once.
const TO_FIRST_BYTE: u64 = 3;

/// The next ID field on its way to the processor.
#[derive(Clone, Debug)]
pub(super) struct ReadAddress {
    approach: Approach,
    stage: Address,
}

#[derive(Clone, Copy, Debug)]
enum Address {
    /// An ID field is looked for.
    Seeking,
    /// It passes, and the byte of this number is next.
    Passing(IdField, u64),
    /// The disk stopped.
    Stopped,
}

impl ReadAddress {
    pub fn new(load: bool, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Self {
        ReadAddress { approach: Approach::new(load, at, times, chip, pins), stage: Address::Seeking }
    }
}

impl Task for ReadAddress {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        match self.stage {
            Address::Seeking => self.approach.next(pins),
            Address::Passing(id, number) => Some(pins.begins(id.mark + 2 + number)),
            Address::Stopped => None,
        }
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        match self.stage {
            Address::Seeking => match self.approach.advance(at, pins) {
                Reached::Rest => self.approach = self.approach.at_marks(),
                Reached::Id(id) => self.stage = Address::Passing(id, 0),
                Reached::Nothing => {
                    chip.faults.missing = true;
                    return Flow::Ends;
                }
            },
            Address::Passing(id, number) => {
                chip.offer(id.bytes[number as usize]);
                if number + 1 == ID_BYTES {
                    // The sheet of the FD179X writes the number of the track there; this is that of the sector.
                    chip.sector = id.sector();
                    chip.faults.crc = !id.sound;
                    return Flow::Ends;
                }
                self.stage = Address::Passing(id, number + 1);
            }
            Address::Stopped => {}
        }
        Flow::On
    }

    fn stop(&mut self) {
        self.approach.stop();
        if !matches!(self.stage, Address::Seeking) {
            self.stage = Address::Stopped;
        }
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        self.approach.go(at, pins);
    }
}

/// All of a track on its way to the processor. Marks bring the chip into step with the bytes, if the command asks for it;
/// here bytes are never out of step.
#[derive(Clone, Debug)]
pub(super) struct ReadTrack(Course);

/// All of a track on its way to the disk.
#[derive(Clone, Debug)]
pub(super) struct WriteTrack {
    course: Course,
    /// What is written without the processor: the second byte of a check.
    second: Option<u8>,
    check: Option<Check>,
}

/// The way of the head to a track and around it.
#[derive(Clone, Debug)]
struct Course {
    approach: Approach,
    stage: Whole,
}

impl Course {
    /// When something happens next; a byte counts when it begins to pass, or so many cells later.
    fn next(&self, pins: &dyn Pins, later: u64) -> Option<TStates> {
        match self.stage {
            Whole::Approaching => self.approach.next(pins),
            Whole::First(at) | Whole::Index(at) => Some(at),
            Whole::Byte { cell, .. } => Some(pins.begins(cell + later)),
            Whole::Stopped => None,
        }
    }

    fn stop(&mut self) {
        self.approach.stop();
        if !matches!(self.stage, Whole::Approaching) {
            self.stage = Whole::Stopped;
        }
    }
}

#[derive(Clone, Copy, Debug)]
enum Whole {
    /// The head is loaded and comes to rest.
    Approaching,
    /// The first byte must be there.
    First(TStates),
    /// The index pulse of a moment begins the track.
    Index(TStates),
    /// A byte passes in a cell; the track ends with another.
    Byte { cell: u64, end: u64 },
    /// The disk stopped.
    Stopped,
}

impl Whole {
    /// From the index pulse at a moment to the next one.
    fn from_index(at: TStates, pins: &dyn Pins) -> Whole {
        match pins.passing(at) {
            Some(cell) => Whole::Byte { cell, end: cell + pins.cells() },
            None => Whole::Stopped,
        }
    }

    /// The wait for the index pulse behind a moment.
    fn to_index(after: TStates, pins: &dyn Pins) -> Whole {
        pins.next_index(after).map_or(Whole::Stopped, Whole::Index)
    }
}

impl ReadTrack {
    pub fn new(load: bool, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Self {
        ReadTrack(Course { approach: Approach::new(load, at, times, chip, pins), stage: Whole::Approaching })
    }
}

impl Task for ReadTrack {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        self.0.next(pins, 1)
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        match self.0.stage {
            Whole::Approaching | Whole::First(_) => self.0.stage = Whole::to_index(at, pins),
            Whole::Index(at) => self.0.stage = Whole::from_index(at, pins),
            Whole::Byte { cell, end } => {
                chip.offer(pins.read(cell).map_or(0, |content| content.byte));
                self.0.stage = Whole::Byte { cell: cell + 1, end };
                if cell + 1 == end {
                    return Flow::Ends;
                }
            }
            Whole::Stopped => {}
        }
        Flow::On
    }

    fn stop(&mut self) {
        self.0.stop();
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        self.0.approach.go(at, pins);
    }
}

impl WriteTrack {
    pub fn new(load: bool, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Self {
        let approach = Approach::new(load, at, times, chip, pins);
        chip.drq = true;
        WriteTrack { course: Course { approach, stage: Whole::Approaching }, second: None, check: None }
    }

    /// What is written to the next cell.
    fn content(&mut self, chip: &mut Registers) -> Cell {
        if let Some(byte) = self.second.take() {
            return Cell { byte, mark: false };
        }
        let byte = chip.demand();
        if byte == Some(WRITES_CHECK) {
            // Without a mark before it the register holds its preset.
            let [high, low] = self.check.take().map_or([0xFF; 2], Check::bytes);
            self.second = Some(low);
            return Cell { byte: high, mark: false };
        }
        let byte = byte.unwrap_or(0);
        let begins_check = byte == ID_MARK || is_data_mark(byte);
        self.check = if begins_check { Some(Check::behind(byte)) } else { self.check.map(|check| check.with(byte)) };
        Cell { byte, mark: begins_check || byte == INDEX_MARK }
    }
}

impl Task for WriteTrack {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        self.course.next(pins, 0)
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        if pins.write_fault(at) {
            chip.faults.write = true;
            return Flow::Ends;
        }
        match self.course.stage {
            Whole::Approaching => {
                let bytes = pins.passing(at).map(|cell| pins.begins(cell + TO_FIRST_BYTE).0 - pins.begins(cell).0);
                self.course.stage = bytes.map_or(Whole::Stopped, |bytes| Whole::First(TStates(at.0 + bytes)));
            }
            // The sheet asks for the first byte before the index pulse, that of the FD179X within three bytes: a program
            // that keeps to the shorter time is right by both.
            Whole::First(_) if chip.drq => {
                chip.lose(0);
                return Flow::Ends;
            }
            Whole::First(at) => self.course.stage = Whole::to_index(at, pins),
            Whole::Index(index) => {
                self.course.stage = Whole::from_index(index, pins);
                return self.advance(at, chip, pins);
            }
            Whole::Byte { cell, end } if cell == end => {
                // What was asked for and not written is no longer wanted.
                chip.drq = false;
                return Flow::Ends;
            }
            Whole::Byte { cell, end } => {
                let content = self.content(chip);
                pins.write(cell, content);
                self.course.stage = Whole::Byte { cell: cell + 1, end };
            }
            Whole::Stopped => {}
        }
        Flow::On
    }

    fn stop(&mut self) {
        self.course.stop();
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        self.course.approach.go(at, pins);
    }
}
