//! From what is seen back to the fault.
//!
//! [`seen`] reads what a person tells of lights, lamps, memory, tapes and terminals. An [`Archive`] holds what was played of a
//! start: it says which faults explain what is seen, the likeliest first, which look tells them apart best, and which two faults
//! at once are worth playing where none does.

mod agree;
mod archive;
mod failures;
mod group;
mod look;
mod pairs;
mod questions;
pub mod seen;
mod suspect;
mod words;

pub use archive::{Archive, Odd};
pub use failures::{Cause, Failure, failures};
pub use group::{Group, groups};
pub use look::{Answer, Look, Next};
pub use questions::{Found, Place, Questions};
pub use suspect::Suspect;
pub use words::{question, shows};
