//! From what is seen back to the fault.
//!
//! [`seen`] reads what a person tells of lights, lamps, memory, tapes and terminals. An [`Archive`] holds what was played of a
//! start: it says which faults explain what is seen, the likeliest first, and which look tells them apart best.

mod agree;
mod archive;
mod look;
pub mod seen;
mod suspect;

pub use archive::{Archive, Odd};
pub use look::{Answer, Look, Next};
pub use suspect::Suspect;
