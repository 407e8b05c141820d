//! The FD1771: a controller for diskettes of single density, sectored by marks.
//!
//! Source: Western Digital FD1771-01 data sheet (by a retyped digest); what that leaves open is taken from the FD179X-02 data sheet,
//! May 1980, which says that its commands and registers are those of the FD1771. Where the two differ, or a sheet
//! contradicts itself, a comment says so and the reading is taken under which a program that works here works by both.
//!
//! The chip knows of the drive what its [`Pins`] see, and nothing else. It is told what time it is by whoever asks, and
//! says when it will next change by itself.

mod board;
mod check;
mod chip;
mod command;
mod controller;
mod pins;
mod positioning;
mod registers;
mod search;
mod sector;
mod task;
mod track;

pub use board::{Board, Role};
pub use chip::{Fd1771, Register, Trouble};
pub use command::{Command, Conditions, Motion, Position, Sectors};
pub use controller::Fd1771Controller;
pub use pins::Pins;
