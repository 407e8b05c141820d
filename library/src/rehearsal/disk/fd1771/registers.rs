//! The registers of the FD1771 and what its status says.
//!
//! Source: Western Digital FD1771-01 data sheet, status register summary (by a retyped digest).

use super::pins::Pins;
use crate::isa::TStates;

/// Which command the status tells of: its bits mean something else for each.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Tells {
    /// Type I, or nothing yet.
    #[default]
    Position,
    /// Read address.
    ReadAddress,
    /// Read sector.
    ReadSector,
    /// Write sector.
    WriteSector,
    /// Read track.
    ReadTrack,
    /// Write track.
    WriteTrack,
}

/// What the processor reads and writes, and the lines of request.
#[derive(Clone, Copy, Debug, Default)]
pub struct Registers {
    /// The track register.
    pub track: u8,
    /// The sector register.
    pub sector: u8,
    /// The data register.
    pub data: u8,
    /// DRQ: the data register waits to be read or written.
    pub drq: bool,
    /// INTRQ: a command has come to its end.
    pub intrq: bool,
    /// A command is being done.
    pub busy: bool,
    /// The direction of the last step.
    pub inward: bool,
    /// HLD: the head is loaded.
    pub loaded: bool,
    /// Which command the status tells of.
    pub tells: Tells,
    /// What went wrong.
    pub faults: Faults,
    /// The data mark of the last sector that was read.
    pub mark: u8,
    /// How many bytes of the command have passed the data register.
    pub passed: usize,
    /// Which of them was the first to be lost.
    pub first_lost: usize,
}

/// What went wrong with a command.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Faults {
    /// A check did not agree.
    pub crc: bool,
    /// The data register was not served in time.
    pub lost: bool,
    /// The track, or the ID field, was not found.
    pub missing: bool,
    /// It was to write, and the disk is protected.
    pub protected: bool,
    /// It was to write, and the drive could not.
    pub write: bool,
}

impl Registers {
    /// The status register at a moment.
    pub fn status(&self, pins: &dyn Pins, at: TStates) -> u8 {
        let Faults { crc, lost, missing, protected, write } = self.faults;
        let mark = self.mark_bits();
        let [six, five, four, three, two, one] = match self.tells {
            Tells::Position => {
                let engaged = self.loaded && pins.settles().is_some_and(|settles| settles <= at);
                [pins.protected(at), engaged, missing, crc, pins.track_zero(at), pins.index(at)]
            }
            Tells::ReadAddress => [false, false, missing, crc, lost, self.drq],
            Tells::ReadSector => [mark & 0b10 != 0, mark & 0b01 != 0, missing, crc, lost, self.drq],
            Tells::ReadTrack => [false, false, false, false, lost, self.drq],
            Tells::WriteSector => [protected, write, missing, crc, lost, self.drq],
            Tells::WriteTrack => [protected, write, false, false, lost, self.drq],
        };
        let bits = [!pins.ready(at), six, five, four, three, two, one, self.busy];
        bits.into_iter().fold(0, |status, bit| status << 1 | u8::from(bit))
    }

    /// Bits 6 and 5 behind a read sector: the data mark.
    ///
    /// The sheet contradicts itself: its table has bit 6 for FA and bit 5 for F9, its text the two bits of the code, the
    /// upper one in bit 6. Only FB and F8 read the same by both. This is the table; a program should tell only FB from F8.
    fn mark_bits(&self) -> u8 {
        match self.mark {
            0xF8 => 0b11,
            0xF9 => 0b01,
            0xFA => 0b10,
            _ => 0b00,
        }
    }

    /// A byte for the processor is in the data register. One that had not been read is lost by it.
    pub fn offer(&mut self, byte: u8) {
        if self.drq {
            self.lose(self.passed.saturating_sub(1));
        }
        (self.data, self.drq) = (byte, true);
        self.passed += 1;
    }

    /// The byte that is written next, and the request for the one behind it. Nothing if the processor has not loaded it:
    /// zeros are written then, and that is lost.
    pub fn demand(&mut self) -> Option<u8> {
        let late = std::mem::replace(&mut self.drq, true);
        if late {
            self.lose(self.passed);
        }
        self.passed += 1;
        (!late).then_some(self.data)
    }

    /// A byte is lost, of those that have passed or are about to.
    pub fn lose(&mut self, byte: usize) {
        if !std::mem::replace(&mut self.faults.lost, true) {
            self.first_lost = byte;
        }
    }
}
