//! The cold start, simulated: a machine built from its description, run to the T-state.
//!
//! A [`Machine`] is the processor on a [`Board`]: memory that holds noise at power-on, ROM that ignores writes, serial
//! chips that receive at the line's rate whether the program listens or not, ports, sense switches. Whatever would
//! bite at the bench is noted as an [`Incident`] with the instruction that did it. Polling loops are not played
//! through one by one, yet every count comes out as if they had been.
//!
//! This floor knows nothing of files and nothing of how results are shown.

mod basis;
mod board;
mod bus;
mod cast;
mod chain;
mod diagnose;
mod drives;
pub mod disk;
mod formats;
mod gaps;
mod hand;
mod incident;
pub mod interleave;
mod left_alone;
mod machine;
mod memory;
mod noise;
mod outcome;
mod places;
mod power_on;
mod recorder;
mod records;
mod recurrence;
mod rehearse;
mod request;
mod round;
mod serial;
mod setup;
mod slower;
mod stand;
mod stays;
mod stepped;
mod tapes;
mod telling;
mod turning;
mod unset;
mod wiring;
mod words;

pub use basis::NOT_SHOWN;
pub use board::Board;
pub use incident::{Incident, What};
pub use left_alone::{Lone, left_alone};
pub use machine::{Machine, Stop, Witness};
pub use memory::Memory;
pub use outcome::{Basis, DiskOutcome, Event, Gap, Haste, LineMargin, Mismatch, Outcome, StageOutcome, TapeOutcome};
pub use recorder::{Progress, Trace};
pub use records::{Arrival, Counts, LineUse, Output, StackUse, Strays, WentOut};
pub use recurrence::Turn;
pub use rehearse::{play, rehearse};
pub use request::{MOST_INSTRUCTIONS, Pace, Request};
pub use serial::{
    Feed, Format, Frame, HardWired, HeardCharacter, I8251, Margin, Mc6850, Received, Refusal, RefusalCause,
    SenderState, Sent, SerialChip, StatusBit, StatusLayout,
};
pub use setup::{ChipSetup, SerialSetup, Setup, SetupError, StatusWires};
pub use slower::Slower;
pub use stand::{Stand, station_of};
pub use stays::{LeftAlone, Lens};
pub use stepped::{Stepping, live_ports, taken_for_granted};
pub use tapes::{Given, Played, Roll};
