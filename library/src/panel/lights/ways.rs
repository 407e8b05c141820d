//! The ways that a run can go, as they are drawn.

use super::fold::Passage;
use super::trace::{Fork, Lost};
use crate::notation::Address;

/// A row of a lights sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Which branch it is in; `None` for the rows before all branches.
    pub branch: Option<usize>,
    /// Its step.
    pub step: u64,
}

/// Where the other way of a fork is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// In rows that are drawn already, from here on.
    Row(Place),
    /// In a branch of its own.
    Branch(usize),
    /// It begins at the same instruction as this branch, but with other bytes; it is not drawn.
    Like(usize),
    /// It is not drawn.
    Unfollowed,
}

/// The rows of another way, as far as they differ from those that are drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Branch {
    /// What it comes from.
    pub fork: Fork,
    /// The last step before it, and which branch that is in.
    pub after: Place,
    /// The number of its first step.
    pub first: u64,
    /// What is executed, loops folded.
    pub passages: Vec<Passage>,
    /// Machine cycles that are executed.
    pub cycles: u64,
    /// Why it ends.
    pub end: End,
}

/// Why a run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum End {
    /// The processor halted.
    Halted,
    /// The address at which to stop was reached.
    Reached(Address),
    /// The count of cycles was used up; the next instruction is here.
    Count(Address),
    /// The count of cycles was used up within the instruction here.
    CountWithin(Address),
    /// The last loop repeats for ever: every register, all memory and every given input came back, open bits as others.
    Endless,
    /// Execution came to an address where nobody put a program.
    NoProgram(Address),
    /// What follows from an open byte is too much to be drawn.
    Lost(Lost),
    /// In a branch: it goes on as from a row that is drawn.
    Joined(Place),
}
