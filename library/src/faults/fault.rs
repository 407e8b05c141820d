//! A fault as data: its kind, and what exactly is wrong.

use serde::{Deserialize, Serialize};

use super::kind::Kind;
use super::wires::{Defect, StuckBit};
use crate::line::LineFormat;
use crate::notation::Address;

/// One thing gone wrong.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Fault {
    /// Of what kind it is.
    pub kind: Kind,
    /// What is wrong.
    pub wrong: Wrong,
}

impl Fault {
    /// Whether both can be there at once, each as it is by itself.
    pub fn goes_with(&self, other: &Fault) -> bool {
        match (&self.wrong, &other.wrong) {
            (Wrong::Row { row: one, .. }, Wrong::Row { row: other, .. }) => one != other,
            (Wrong::StatusTurned { .. }, Wrong::StatusTurned { .. }) => self != other,
            (Wrong::Rom(RomWrong::Bit { address: one, .. }), Wrong::Rom(RomWrong::Bit { address: other, .. })) => {
                one != other
            }
            (Wrong::Tape { tape: one, .. }, Wrong::Tape { tape: other, .. }) if one != other => true,
            (Wrong::Tape { .. }, Wrong::Tape { .. }) => {
                self.frame().is_some() && other.frame().is_some() && self.frame() != other.frame()
            }
            (one, other) => std::mem::discriminant(one) != std::mem::discriminant(other),
        }
    }

    /// The first frame of a tape that is otherwise, where most of the tape is as it should be.
    pub(super) fn frame(&self) -> Option<usize> {
        match self.wrong {
            Wrong::Tape { wrong, .. } => match wrong {
                TapeWrong::Bit { frame, .. } | TapeWrong::Lost(frame) | TapeWrong::Twice(frame) => Some(frame),
                TapeWrong::Without { from, .. } => Some(from),
                _ => None,
            },
            _ => None,
        }
    }
}

/// What is wrong.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wrong {
    /// The hand does a row of its work otherwise.
    Row {
        /// Which row, by its place among all that the hand does before the start.
        row: usize,
        /// How.
        slip: Slip,
    },
    /// It is started again without anything being deposited again, with its tapes from the beginning: after the first
    /// attempt has come to the stage of that place, or after it has come to its end.
    Again {
        /// The place of the stage; one more than the last for the end.
        after: usize,
    },
    /// A lever of the panel makes no contact, or always does.
    Lever {
        /// Of which levers.
        bank: LeverBank,
        /// Its number.
        lever: u8,
        /// Whether it always reads one.
        up: bool,
    },
    /// The address lines.
    Address(Defect),
    /// The data lines.
    Data(Defect),
    /// A bit of memory.
    Cell(StuckBit),
    /// A bit of the status of a serial chip comes out the other way round.
    StatusTurned {
        /// The chip, among those with a line.
        serial: usize,
        /// The bit.
        bit: u8,
    },
    /// Two bits of the status of a serial chip are changed over.
    StatusCrossed {
        /// The chip.
        serial: usize,
        /// The bits.
        bits: (u8, u8),
    },
    /// The ports of a serial chip are changed over.
    Ports {
        /// The chip.
        serial: usize,
    },
    /// A serial chip is not there.
    Absent {
        /// The chip.
        serial: usize,
    },
    /// What a ROM reads.
    Rom(RomWrong),
    /// The clock is faster by so many thousandths, or slower.
    Clock {
        /// Thousandths; less than nought is slower.
        per_mille: i32,
    },
    /// A tape.
    Tape {
        /// Which, among those of the start in the order in which they are read.
        tape: usize,
        /// How.
        wrong: TapeWrong,
    },
    /// What comes down a line is sent in this way.
    Sender {
        /// The chip on whose line it comes.
        serial: usize,
        /// How it is sent.
        sender: LineFormat,
    },
    /// A drive or its disk.
    Disk {
        /// The drive.
        drive: usize,
        /// How.
        wrong: DiskWrong,
    },
}

/// How the hand does a row otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Slip {
    /// With one lever the other way; by its place in what is set, from the right.
    Lever(u8),
    /// Not at all.
    LeftOut,
    /// Twice.
    Twice,
    /// After the next one.
    Exchanged,
}

/// Levers that are there once.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LeverBank {
    /// The address switches, and whatever else is set on them.
    Address,
    /// Data switches of their own.
    Data,
    /// Sense switches of their own.
    Sense,
}

/// What a ROM reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RomWrong {
    /// A bit at an address is the other way.
    Bit {
        /// Where.
        address: Address,
        /// Which bit, `0..=7`.
        bit: u8,
    },
    /// The halves of a part are changed over: its highest address line is turned round.
    Halves {
        /// The socket, among those of the machine that hold something.
        socket: usize,
        /// The part in it.
        seat: usize,
    },
    /// Two parts lie in each other's places, each by its socket and its seat.
    Exchanged {
        /// The one.
        one: (usize, usize),
        /// The other.
        other: (usize, usize),
    },
    /// A socket is empty.
    Absent {
        /// The socket.
        socket: usize,
    },
}

/// What is wrong with a tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum TapeWrong {
    /// A frame has one bit wrong.
    Bit {
        /// Which frame, from 0.
        frame: usize,
        /// Which bit.
        bit: u8,
    },
    /// A frame is missing.
    Lost(usize),
    /// A frame stands there twice.
    Twice(usize),
    /// The frames of a block are missing.
    Without {
        /// The first.
        from: usize,
        /// The one behind the last.
        to: usize,
    },
    /// It runs for so many seconds when RUN is pressed.
    Early(u32),
    /// It is started so many seconds later than the chain says.
    Late(u32),
    /// The one with that place is played in its stead.
    Other(usize),
    /// It carries nothing but its leader.
    Blank,
    /// Its tracks are changed over.
    TurnedOver,
    /// Its last frame comes first.
    Backwards,
}

/// What is wrong with a drive or its disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DiskWrong {
    /// A bit of a sector is wrong.
    Sector {
        /// The sector, by its number among all.
        sector: usize,
        /// The byte of it.
        byte: usize,
        /// The bit.
        bit: u8,
    },
    /// The door is opened so many thousandths of a second after RUN.
    Door(u32),
    /// A disk lies in it on which nothing but the make-up is written.
    Blank,
    /// None lies in it.
    Empty,
    /// The head takes so many hundredths of its time to settle after a step and to load.
    Unsettled(u32),
    /// It turns so many thousandths of a per cent too fast.
    Turns(i64),
}
