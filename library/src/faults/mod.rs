//! Every single fault of a start, played to its end.
//!
//! The catalogue lists what can go wrong once: of the hand, of the machine, of the tape, the line and the disk. A
//! [`Theatre`] plays each fault on the machine of the rehearsal and says what becomes of it: whether the sheet's check
//! shows it, a program of the chain complains, the machine stays somewhere, or starts and is wrong in silence. An
//! [`Outcome`] keeps all that a person can see of it.
//!
//! A play shares the good start up to the moment at which its fault begins to matter, and ends as soon as it is on the good
//! start's way again; it comes to the same as a play from power-on by itself.

mod catalogue;
mod ending;
mod fault;
mod good;
mod hand;
mod judge;
mod kind;
mod look;
mod outcome;
mod page;
mod play;
mod player;
mod scene;
mod table;
mod wires;
mod words;

pub use fault::{DiskWrong, Fault, LeverBank, RomWrong, Slip, TapeWrong, Wrong};
pub use kind::{Group, Kind};
pub use outcome::{
    Bank, Cells, Check, Checks, Class, Compared, End, Ending, Lamps, Outcome, Pair, Played, Plays, Rest, TapeEnd, Text,
};
pub use page::draw;
pub use play::Theatre;
pub use table::{Line, Part, Table};
pub use wires::{Defect, StuckBit};
pub use words::Words;
