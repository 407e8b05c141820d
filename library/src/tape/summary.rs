//! How long a tape is, on paper and in time.

use std::fmt;
use std::time::Duration;

use super::geometry::{FRAMES_AN_INCH, length};
use crate::line::LineFormat;

/// What a tape is read or punched by.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reader {
    /// A device of so many frames a second.
    Frames(u32),
    /// A serial line.
    Line(LineFormat),
}

impl Reader {
    /// The time for a tape of so many frames without a pause.
    pub fn time(self, frames: usize) -> Duration {
        match self {
            Reader::Frames(rate) => Duration::from_secs_f64(frames as f64 / f64::from(rate.max(1))),
            Reader::Line(line) => line.time(frames as u64),
        }
    }
}

impl fmt::Display for Reader {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Reader::Frames(rate) => write!(f, "{rate} frames a second"),
            Reader::Line(line) => write!(f, "line {line}"),
        }
    }
}

/// Readers of the era whose times are told when none is asked for: a teleprinter's, and two photoelectric ones.
pub const READERS: [Reader; 3] = [Reader::Frames(10), Reader::Frames(125), Reader::Frames(300)];

/// The length of a tape of so many frames in inches and metres.
pub fn lengths(frames: usize) -> (f64, f64) {
    (frames as f64 / f64::from(FRAMES_AN_INCH), length(frames) / 1000.0)
}

/// A time as a person reads it: seconds below a minute, then minutes and seconds, then hours and minutes.
pub fn spell(time: Duration) -> String {
    let tenths = (time.as_millis() + 50) / 100;
    let seconds = (time.as_millis() + 500) / 1000;
    match seconds {
        0..60 => format!("{}.{} s", tenths / 10, tenths % 10),
        60..3600 => format!("{} min {:02} s", seconds / 60, seconds % 60),
        _ => format!("{} h {:02} min", seconds / 3600, seconds % 3600 / 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_spelt_by_their_size() {
        let spelt = [449, 59_440, 59_960, 61_000, 3_599_700, 5_400_000].map(|ms| spell(Duration::from_millis(ms)));
        assert_eq!(spelt, ["0.4 s", "59.4 s", "1 min 00 s", "1 min 01 s", "1 h 00 min", "1 h 30 min"]);
    }

    #[test]
    fn a_thousand_feet_are_120_000_frames() {
        assert_eq!(lengths(120_000).0 / 12.0, 1000.0);
        assert!((lengths(1024).1 - 2.60).abs() < 0.005);
    }
}
