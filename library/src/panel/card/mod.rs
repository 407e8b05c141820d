//! The run card: every action of the operator in order, what the panel shows after it, and what it means if it does not.
//!
//! How the panel looks while a program waits is not guessed here: a [`Seen`] says what a rehearsal saw of it. Without one
//! the card does not draw those lights.

mod acts;
mod draw;
mod lights;
mod request;
mod seen;
mod stays;
mod tapes;
mod write;

pub use lights::{Overlay, PanelLights};
pub use request::{Deposit, Holds, Home, Request, SocketUse, Tape, TapeRead};
pub use seen::{Doubt, Seen, Stays, Typed, Written};

use super::levers::Levers;
use super::model::Panel;
use super::program::Check;
use crate::cautions::Topic;

/// A run card as data.
#[derive(Clone, Debug, PartialEq)]
pub struct Card {
    /// What it is headed with.
    pub name: String,
    /// The panel it is for.
    pub panel: Panel,
    /// The check of the program's image.
    pub check: Check,
    /// What is to be known of the program in one line.
    pub facts: String,
    /// Why it is not to be trusted: stands large on every page.
    pub doubts: Vec<Doubt>,
    /// What can hurt, to be read first, topic by topic.
    pub cautions: Vec<(Topic, String)>,
    /// In the order in which they are done.
    pub acts: Vec<Act>,
}

/// One action.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
    /// What it is for.
    pub task: Task,
    /// What to do.
    pub action: String,
    /// Levers to set for it.
    pub levers: Option<Levers>,
    /// What the panel shows then.
    pub shows: String,
    /// The lights, where they are known.
    pub lights: Option<PanelLights>,
    /// What it means if something else shows.
    pub otherwise: String,
}

/// What an act is for, as far as whoever leads through the card has to know.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Task {
    /// Whatever its words say.
    #[default]
    Other,
    /// A deposit sheet is done: those that are added first, in the order of the chain, then that of the program.
    Deposit,
    /// The program is started.
    Run,
    /// A tape is started.
    StartTape,
    /// A tape is stopped, and has been read after so many seconds if that is known.
    StopTape(Option<f64>),
}
