//! Serial chips and the lines they sit on.
//!
//! A [`SerialChip`] is registers and flags and no more: what its data sheet says of control, status and received data.
//! The line's signal, the moments at which bits are sampled and the shift register that sends are the same for all
//! chips and live in [`Station`], which holds one chip.

mod chip;
mod feed;
mod format;
mod hard_wired;
mod i8251;
mod mc6850;
mod receiver;
mod seat;
mod sender;
mod signal;
mod station;

pub use chip::{Frame, Refusal, RefusalCause, SerialChip};
pub use feed::{Feed, HeardCharacter};
pub use format::Format;
pub use hard_wired::{HardWired, StatusBit, StatusLayout};
pub use i8251::I8251;
pub use mc6850::Mc6850;
pub use receiver::Received;
pub use sender::{SenderState, Sent};
pub use station::{Margin, Station, Taken};
