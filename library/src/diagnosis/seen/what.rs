//! One thing that is seen.

use crate::faults::Compared;
use crate::notation::Address;
use crate::panel::StatusLamps;
use crate::source::Span;

/// One thing that is seen, and where in the sentence it is told.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Observation {
    /// What.
    pub what: What,
    /// The words that tell it.
    pub span: Span,
}

/// What can be seen from outside.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum What {
    /// What the processor does.
    State(State),
    /// The sixteen address lights.
    Address(Shown),
    /// The eight data lights.
    Data(Shown),
    /// One status light.
    Status(StatusLamps, Light),
    /// A byte that EXAMINE shows.
    Memory(Address, u8),
    /// One lamp of an output port; bit 7 is the highest.
    Lamp {
        /// The port.
        port: u8,
        /// The bit, 0 to 7.
        bit: u8,
        /// How it looks.
        light: Light,
    },
    /// All lamps of an output port.
    Port(u8, Shown),
    /// A tape: the one of that name, or the one that is meant if there is but one.
    Tape {
        /// Its name in the chain file.
        name: Option<String>,
        /// Whether it came to its end without anything happening; otherwise it still runs.
        ran_out: bool,
    },
    /// All that a terminal shows.
    Terminal(String),
    /// A program compared with its listing or its sheet: the one of that name, or the one that is deposited by hand.
    Listing {
        /// The name of its stage.
        name: Option<String>,
        /// What that shows.
        shows: Compared,
    },
}

/// What the processor does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// It has halted.
    Halted,
    /// It runs.
    Running,
    /// A hand has stopped it.
    Stopped,
}

/// How one lamp looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// On.
    Lit,
    /// Off.
    Dark,
    /// Neither: it changes faster than the eye, or before it.
    Flickers,
}

/// What a bank of lamps shows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Shown {
    /// One number.
    Steady(u16),
    /// One of several numbers, as when a processor was stopped several times.
    OneOf(Vec<u16>),
    /// Numbers from one to another, both of them included.
    Between(u16, u16),
    /// It changes, and no number can be read.
    Flickers,
}
