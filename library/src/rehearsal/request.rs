//! What a rehearsal is asked for.

use std::collections::BTreeMap;

use super::slower::Slower;
use super::tapes::Given;
use crate::disk::Disk;
use crate::line::Speed;
use crate::notation::Address;
use crate::project::{Id, Serial, Stage};

/// What a rehearsal is to be made with, other than what the plan says.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// What the noise at power-on is drawn from.
    pub seed: u64,
    /// Bytes that the hand sets wrong.
    pub slips: Vec<(Address, u8)>,
    /// Addresses whose deposit the hand leaves out.
    pub skips: Vec<Address>,
    /// How the hand sets the sense switches, where that is not what the plan says.
    pub sense: Option<u8>,
    /// What is played in place of what the chain makes, by the names of the tapes.
    pub tapes: BTreeMap<String, Given>,
    /// Seconds from the start of the stage that reads it to the start of a tape, by its name, where that is not what
    /// the plan says. Less than nought, down to -3600: it runs already when the first stage is started.
    pub after: BTreeMap<String, f64>,
    /// By how many per cent every line is faster than described.
    pub faster: u32,
    /// T-states in a second, where that is not what the machine file says. What is on the lines keeps its speed.
    pub clock_hz: Option<u64>,
    /// How fast lines are while a program runs, where that is not what the machine file says: chip and sender alike.
    pub pace: Option<Pace>,
    /// How fast what is sent to serial interfaces comes, by their names, where that is not the speed of the line. The
    /// chips stay as they are.
    pub senders: BTreeMap<String, Speed>,
    /// How many times the seconds that the plan allows a stage are allowed it; 0 is as 1.
    pub patience: u32,
    /// Whether the tapes that are recorded are played from their recordings.
    pub sound: bool,
    /// Turns a minute of every drive, where that is not what its disk says; within half of it.
    pub rpm: Option<f64>,
    /// Seconds from RUN on after which the doors of all drives are opened.
    pub door: Option<f64>,
    /// Disk files that lie in the drives in place of what the chain makes, by the names of the disks.
    pub disks: BTreeMap<String, Disk>,
    /// By how much a program is slower that reads a disk.
    pub slower: Slower,
    /// Instructions of a stage that are played at most; else [`MOST_INSTRUCTIONS`].
    pub most_instructions: Option<u64>,
}

/// A line that is faster or slower than described while one program reads it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pace {
    /// The program.
    pub stage: Id<Stage>,
    /// The serial interface that it reads.
    pub serial: Id<Serial>,
    /// In ten-thousandths of the speed that is described; at least 1.
    pub parts: u32,
}

impl Pace {
    /// A speed in ten-thousandths of another, to the nearest; at least 1.
    pub fn parts_of(speed: Speed, described: Speed) -> u32 {
        let (speed, described) = (u64::from(speed.hundredths()), u64::from(described.hundredths()));
        u32::try_from((speed * 10_000 + described / 2) / described).unwrap_or(u32::MAX).max(1)
    }
}

/// Instructions of a stage after which a rehearsal gives up. Turns of a loop that waits are not played, and do not count.
pub const MOST_INSTRUCTIONS: u64 = 1_000_000_000;

impl Request {
    /// Whether hand, tapes, disks and drives are as the plan says.
    pub fn is_as_described(&self) -> bool {
        self.slips.is_empty()
            && self.skips.is_empty()
            && self.sense.is_none()
            && self.tapes.is_empty()
            && self.after.is_empty()
            && self.disks.is_empty()
            && self.senders.is_empty()
            && self.pace.is_none()
            && self.clock_hz.is_none()
            && self.rpm.or(self.door).is_none()
    }
}
