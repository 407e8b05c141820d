//! The lights sheet: what address, data and status lights show at every machine cycle of a single-stepped run.
//!
//! [`Lights::run`] really executes the program; nothing is predicted. What nobody can know (a port that is not given,
//! memory and registers that nobody set) is *open*, and so is every bit that depends on it: its light may show anything.
//! Where an open flag decides, the run goes one way, and the other one is drawn as far as it differs.

#[cfg(test)]
mod agreement;
mod alu;
mod bits;
mod draw;
mod execute;
mod fold;
mod ground;
mod layout;
mod request;
mod sheet;
mod state;
mod trace;
mod walk;
mod ways;
mod words;
mod write;

pub use bits::{Cause, Origin};
pub use fold::{Loop, Passage};
pub use ground::{Ground, Grounds};
pub use layout::Line;
pub use request::{Request, World};
pub use sheet::Lights;
pub use trace::{Cycle, Fork, Instruction, Lost, Varying};
pub use ways::{Branch, End, Place, Way};
