//! Limits as data.

use serde::{Deserialize, Serialize};

use crate::notation::Address;

/// A thing that is just as it is described, in ten-thousandths.
pub const AS_DESCRIBED: i64 = 10_000;

/// All limits of a start.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Each, in a fixed order.
    pub limits: Vec<Limit>,
}

/// How far a thing may go both ways.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limit {
    /// What.
    pub subject: Subject,
    /// How it is described: hertz of a clock, hundredths of a baud of a line, hundredths of a second from RUN to a tape, frames
    /// of a leader.
    pub described: u64,
    /// To less.
    pub less: Side,
    /// To more.
    pub more: Side,
    /// The read that came nearest to losing a character, at the furthest to more.
    pub tightest: Option<Tightest>,
}

/// What is otherwise than described. All else is as it is described.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Subject {
    /// The processor's clock. What is on the lines keeps its speed.
    Clock,
    /// The speed of a line, sender and chip alike, while one program reads it.
    Line {
        /// The program.
        stage: String,
        /// The serial interface.
        line: String,
    },
    /// The speed of what comes down a line. Its chip stays as it is.
    Sender {
        /// The serial interface.
        line: String,
    },
    /// When the first tape of a start is started: a hundredth of a second earlier or later for each ten-thousandth.
    Tape {
        /// The tape.
        tape: String,
    },
    /// How long the leader of a tape is, in frames.
    Leader {
        /// The tape.
        tape: String,
    },
}

impl Subject {
    /// Seconds by which a tape is started later than described, with so many ten-thousandths.
    pub fn seconds_later(parts: i64) -> f64 {
        (parts - AS_DESCRIBED) as f64 / 100.0
    }
}

/// How far a thing may go one way, in ten-thousandths of how it is described.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Side {
    /// The furthest that starts, of those nearer than the nearest that does not.
    pub holds: i64,
    /// The nearest that does not start; none if all that were played do.
    pub fails: Option<Failure>,
    /// The nearest beyond it that starts all the same.
    pub again: Option<i64>,
    /// How many were played from as it is described to the furthest that starts.
    pub between: usize,
}

/// A start that does not come about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Failure {
    /// Where, in ten-thousandths of how the thing is described.
    pub at: i64,
    /// What went wrong, as a rehearsal tells it.
    pub how: String,
}

/// The read that came nearest to losing a character.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tightest {
    /// T-states that were left.
    pub states: u64,
    /// The T-states of a character.
    pub character: u64,
    /// The instruction that read it.
    pub pc: Address,
}

impl Limit {
    /// So many ten-thousandths of how it is described, in the unit of that.
    pub fn amount(&self, parts: i64) -> u64 {
        amount(self.described, parts)
    }
}

/// So many ten-thousandths of something, to the nearest.
pub(super) fn amount(described: u64, parts: i64) -> u64 {
    let whole = u128::from(described) * u128::from(parts.unsigned_abs());
    ((whole + AS_DESCRIBED as u128 / 2) / AS_DESCRIBED as u128) as u64
}
