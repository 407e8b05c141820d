//! Type II: sectors are read and written.
//!
//! Source: Western Digital FD1771-01 data sheet, type II commands (by a retyped digest); the bytes between an ID field and
//! what is written, FD179X-02 data sheet, May 1980.

use super::check::Check;
use super::command::Sectors;
use super::pins::Pins;
use super::registers::Registers;
use super::search::{IdField, Search, data_mark};
use super::task::{Approach, Flow, Reached, Task, Times};
use crate::disk::Cell;
use crate::isa::TStates;

/// Behind so many bytes the first byte to be written is asked for.
const TO_REQUEST: u64 = 2;

/// Behind so many bytes it must be there.
const TO_WRITE: u64 = 11;

/// Zeros before the data mark.
const ZEROS: u64 = 6;

/// Bytes of check behind the data.
const CHECK_BYTES: u64 = 2;

/// Looks for the sector of the sector register; says whether it has come, or that it will not.
fn find(approach: &mut Approach, at: TStates, chip: &mut Registers, pins: &dyn Pins) -> Result<Option<IdField>, Flow> {
    match approach.advance(at, pins) {
        Reached::Rest => Ok(None),
        Reached::Nothing => {
            chip.faults.missing = true;
            Err(Flow::Ends)
        }
        Reached::Id(id) if (id.track(), id.sector()) != (chip.track, chip.sector) => Ok(None),
        Reached::Id(id) => {
            chip.faults.crc = !id.sound;
            Ok(id.sound.then_some(id))
        }
    }
}

/// A sector has been done: the next one is looked for, if more than one is to be.
fn go_on(sectors: Sectors, approach: &mut Approach, at: TStates, chip: &mut Registers, pins: &dyn Pins) -> Flow {
    if !sectors.multiple {
        return Flow::Ends;
    }
    chip.sector = chip.sector.wrapping_add(1);
    *approach = Approach::Searching(Search::new(at, pins));
    Flow::On
}

/// Sectors on their way to the processor.
#[derive(Clone, Debug)]
pub(super) struct ReadSector {
    sectors: Sectors,
    approach: Approach,
    stage: Reading,
}

#[derive(Clone, Copy, Debug)]
enum Reading {
    /// The ID field is looked for.
    Seeking,
    /// The data mark in a cell passes; so many bytes follow it.
    Mark { cell: u64, mark: u8, bytes: u64 },
    /// A byte in a cell passes: of so many data, and then of the check.
    Byte { cell: u64, left: u64, check: Check },
    /// The disk stopped.
    Stopped,
}

impl ReadSector {
    pub fn new(sectors: Sectors, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Self {
        let approach = Approach::new(sectors.load, at, times, chip, pins);
        ReadSector { sectors, approach, stage: Reading::Seeking }
    }

    fn seek(&mut self, at: TStates, chip: &mut Registers, pins: &dyn Pins) -> Flow {
        match find(&mut self.approach, at, chip, pins) {
            Ok(Some(id)) => {
                // Without a data mark near it, the ID field is passed over.
                if let Some((cell, mark)) = data_mark(&id, pins) {
                    let bytes = self.sectors.bytes(id.length()) as u64;
                    self.stage = Reading::Mark { cell, mark, bytes };
                }
                Flow::On
            }
            Ok(None) => Flow::On,
            Err(flow) => flow,
        }
    }

    fn byte(&mut self, at: TStates, chip: &mut Registers, pins: &dyn Pins) -> Flow {
        let Reading::Byte { cell, left, check } = self.stage else { return Flow::On };
        let byte = pins.read(cell).map_or(0, |content| content.byte);
        let check = check.with(byte);
        if left > CHECK_BYTES {
            chip.offer(byte);
        }
        self.stage = Reading::Byte { cell: cell + 1, left: left - 1, check };
        if left > 1 {
            return Flow::On;
        }
        self.stage = Reading::Seeking;
        chip.faults.crc = !check.agrees();
        if chip.faults.crc { Flow::Ends } else { go_on(self.sectors, &mut self.approach, at, chip, pins) }
    }
}

impl Task for ReadSector {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        match self.stage {
            Reading::Seeking => self.approach.next(pins),
            Reading::Mark { cell, .. } | Reading::Byte { cell, .. } => Some(pins.begins(cell + 1)),
            Reading::Stopped => None,
        }
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        match self.stage {
            Reading::Seeking => self.seek(at, chip, pins),
            Reading::Mark { cell, mark, bytes } => {
                chip.mark = mark;
                pins.begins_sector(chip.sector);
                let left = bytes + CHECK_BYTES;
                self.stage = Reading::Byte { cell: cell + 1, left, check: Check::behind(mark) };
                Flow::On
            }
            Reading::Byte { .. } => self.byte(at, chip, pins),
            Reading::Stopped => Flow::On,
        }
    }

    fn stop(&mut self) {
        self.approach.stop();
        if !matches!(self.stage, Reading::Seeking) {
            self.stage = Reading::Stopped;
        }
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        self.approach.go(at, pins);
    }
}

/// Sectors on their way to the disk.
#[derive(Clone, Debug)]
pub(super) struct WriteSector {
    sectors: Sectors,
    mark: u8,
    approach: Approach,
    stage: Writing,
}

#[derive(Clone, Copy, Debug)]
enum Writing {
    /// The ID field is looked for.
    Seeking,
    /// The first byte is asked for when a cell begins; so many are to be written.
    Request { cell: u64, bytes: u64 },
    /// The first byte must be there when a cell begins, and zeros begin to be written.
    Begin { cell: u64, bytes: u64 },
    /// A byte of data is written to a cell, with so many left.
    Byte { cell: u64, left: u64, check: Check },
    /// The check has been written; the cell behind all passes.
    Tail { cell: u64 },
    /// The disk stopped.
    Stopped,
}

impl WriteSector {
    pub fn new(
        sectors: Sectors,
        mark: u8,
        at: TStates,
        times: Times,
        chip: &mut Registers,
        pins: &mut dyn Pins,
    ) -> Self {
        let approach = Approach::new(sectors.load, at, times, chip, pins);
        WriteSector { sectors, mark, approach, stage: Writing::Seeking }
    }

    /// Zeros and the mark pass without anything for the processor to see.
    fn begin(&mut self, cell: u64, bytes: u64, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        if chip.drq {
            chip.lose(0);
            return Flow::Ends;
        }
        for zero in 0..ZEROS {
            pins.write(cell + zero, Cell::default());
        }
        pins.write(cell + ZEROS, Cell { byte: self.mark, mark: true });
        self.stage = Writing::Byte { cell: cell + ZEROS + 1, left: bytes, check: Check::behind(self.mark) };
        Flow::On
    }

    fn byte(&mut self, cell: u64, left: u64, check: Check, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        // The last byte asks for none behind it.
        let byte = chip.demand().unwrap_or(0);
        chip.drq &= left > 1;
        let check = check.with(byte);
        pins.write(cell, Cell { byte, mark: false });
        self.stage = Writing::Byte { cell: cell + 1, left: left - 1, check };
        if left > 1 {
            return Flow::On;
        }
        let [high, low] = check.bytes();
        for (behind, byte) in [high, low, 0xFF].into_iter().enumerate() {
            pins.write(cell + 1 + behind as u64, Cell { byte, mark: false });
        }
        self.stage = Writing::Tail { cell: cell + 1 + CHECK_BYTES + 1 };
        Flow::On
    }
}

impl Task for WriteSector {
    fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        match self.stage {
            Writing::Seeking => self.approach.next(pins),
            Writing::Request { cell, .. }
            | Writing::Begin { cell, .. }
            | Writing::Byte { cell, .. }
            | Writing::Tail { cell } => Some(pins.begins(cell)),
            Writing::Stopped => None,
        }
    }

    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow {
        if pins.write_fault(at) {
            chip.faults.write = true;
            return Flow::Ends;
        }
        match self.stage {
            Writing::Seeking => match find(&mut self.approach, at, chip, pins) {
                Ok(Some(id)) => {
                    let bytes = self.sectors.bytes(id.length()) as u64;
                    self.stage = Writing::Request { cell: id.behind() + TO_REQUEST, bytes };
                    Flow::On
                }
                Ok(None) => Flow::On,
                Err(flow) => flow,
            },
            Writing::Request { cell, bytes } => {
                chip.drq = true;
                self.stage = Writing::Begin { cell: cell + TO_WRITE - TO_REQUEST, bytes };
                Flow::On
            }
            Writing::Begin { cell, bytes } => self.begin(cell, bytes, chip, pins),
            Writing::Byte { cell, left, check } => self.byte(cell, left, check, chip, pins),
            Writing::Tail { .. } => {
                self.stage = Writing::Seeking;
                go_on(self.sectors, &mut self.approach, at, chip, pins)
            }
            Writing::Stopped => Flow::On,
        }
    }

    fn stop(&mut self) {
        self.approach.stop();
        if !matches!(self.stage, Writing::Seeking) {
            self.stage = Writing::Stopped;
        }
    }

    fn go(&mut self, at: TStates, pins: &dyn Pins) {
        self.approach.go(at, pins);
    }
}
