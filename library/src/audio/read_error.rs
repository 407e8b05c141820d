//! What can be wrong with a recording before any of it is heard.

use std::fmt;

/// Why a recording cannot be read.
#[derive(Debug)]
pub enum ReadError {
    /// The input failed.
    Input(std::io::Error),
    /// The file is not a WAV file that can be read; the text says why.
    Header(String),
    /// The sample rate cannot hold the tones at the fastest speed.
    RateTooLow {
        /// Samples a second of the recording.
        sample_rate: u32,
        /// Samples a second that would do.
        needed: u32,
    },
    /// A span of time that cannot be looked at.
    Span {
        /// Its start in seconds.
        from: f64,
        /// Its end in seconds.
        to: f64,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::Input(error) => write!(f, "the recording cannot be read: {error}"),
            ReadError::Header(why) => write!(f, "this is no WAV recording that can be read: {why}"),
            ReadError::RateTooLow { sample_rate, needed } => {
                write!(f, "a sample rate of `{sample_rate}` cannot hold the tones; at least {needed} is needed")
            }
            ReadError::Span { from, to } => {
                write!(f, "a span of `{from}` to `{to}` s is empty, longer than 60 s, or not in the recording")
            }
        }
    }
}

impl std::error::Error for ReadError {}
