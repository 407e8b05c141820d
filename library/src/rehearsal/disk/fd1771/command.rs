//! The commands of the FD1771, bit by bit.
//!
//! Source: Western Digital FD1771-01 data sheet, command summary and flag summary (by a retyped digest).

/// A byte in the command register.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Command {
    /// Type I: the head goes from track to track.
    Position(Position),
    /// Type II: the data of sectors are read.
    ReadSector(Sectors),
    /// Type II: the data of sectors are written behind a data mark.
    WriteSector(Sectors, u8),
    /// Type III: the next ID field is read.
    ReadAddress {
        /// The head is loaded first, and time is given to it.
        load: bool,
    },
    /// Type III: all that stands between two index pulses is read.
    ReadTrack {
        /// The head is loaded first, and time is given to it.
        load: bool,
    },
    /// Type III: all that stands between two index pulses is written.
    WriteTrack {
        /// The head is loaded first, and time is given to it.
        load: bool,
    },
    /// Type IV: what is being done ends, and these conditions interrupt.
    ForceInterrupt(Conditions),
}

/// How the head is moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Position {
    /// Where to.
    pub motion: Motion,
    /// The head is loaded at the beginning (h); if not, it is unloaded.
    pub load: bool,
    /// The number of the track is looked for on the disk at the end (V).
    pub verify: bool,
    /// Two bits that choose the time of a step (r1, r0).
    pub rate: u8,
}

/// Where the head is moved to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Motion {
    /// To track 0.
    Restore,
    /// From the track in the track register to that in the data register.
    Seek,
    /// One track, in the direction of the last step; or a direction that is given.
    Step {
        /// Inward, outward, or as before.
        inward: Option<bool>,
        /// The track register is counted on (u).
        update: bool,
    },
}

/// Which sectors are read or written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sectors {
    /// One behind the other, until there is none of the next number (m).
    pub multiple: bool,
    /// The length code of the ID field counts in powers of two from 128 bytes (b); if not, in steps of 16 bytes.
    pub powers: bool,
    /// The head is loaded first, and time is given to it (E).
    pub load: bool,
}

/// What interrupts from now on (i3 to i0).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Conditions {
    /// The drive becomes ready (i0).
    pub ready: bool,
    /// The drive is no longer ready (i1).
    pub not_ready: bool,
    /// Each index pulse (i2).
    pub index: bool,
    /// At once (i3).
    pub now: bool,
}

impl Command {
    /// The command that a byte is. The upper bits choose it; where the sheet has fixed bits below them, any are taken.
    pub fn decode(byte: u8) -> Command {
        let bit = |number: u8| byte >> number & 1 == 1;
        let position = |motion| Command::Position(Position { motion, load: bit(3), verify: bit(2), rate: byte & 0b11 });
        let step = |inward| position(Motion::Step { inward, update: bit(4) });
        let sectors = Sectors { multiple: bit(4), powers: bit(3), load: bit(2) };
        match byte >> 4 {
            0b0000 => position(Motion::Restore),
            0b0001 => position(Motion::Seek),
            0b0010 | 0b0011 => step(None),
            0b0100 | 0b0101 => step(Some(true)),
            0b0110 | 0b0111 => step(Some(false)),
            0b1000 | 0b1001 => Command::ReadSector(sectors),
            0b1010 | 0b1011 => Command::WriteSector(sectors, 0xFB - (byte & 0b11)),
            0b1100 => Command::ReadAddress { load: bit(2) },
            0b1101 => {
                Command::ForceInterrupt(Conditions { ready: bit(0), not_ready: bit(1), index: bit(2), now: bit(3) })
            }
            0b1110 => Command::ReadTrack { load: bit(2) },
            _ => Command::WriteTrack { load: bit(2) },
        }
    }
}

impl Position {
    /// Milliseconds of a step at a clock of 2 MHz.
    pub fn step_ms(self) -> u64 {
        [6, 6, 10, 20][usize::from(self.rate & 0b11)]
    }
}

impl Sectors {
    /// Bytes of data in a sector with this length code in its ID field.
    pub fn bytes(self, code: u8) -> usize {
        match (self.powers, code) {
            // Two bits of the code count: the sheet has lengths of 128 to 1024 bytes.
            (true, code) => 128 << (code & 0b11),
            (false, 0) => 4096,
            (false, code) => 16 * usize::from(code),
        }
    }
}
