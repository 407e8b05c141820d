//! The serial line: its format, how long a character takes, and the plan by which bytes are paced.
//!
//! This floor knows nothing of ports and devices; the command line opens them.

mod format;
mod pacing;

pub use format::{FormatError, LineFormat, Parity, Speed, StopBits};
pub use pacing::{Pacing, Plan, Step};
