//! The run card: every action of the operator in order, what the panel shows after it, and what it means if it does not.
//!
//! How the panel looks while a program waits is not guessed here: a [`Seen`] says what a rehearsal saw of it. Without one
//! the card does not draw those lights.

mod acts;
mod draw;
mod seen;
mod stays;
mod tapes;
mod write;

pub use seen::{Overlay, Seen, Stays, Typed, Written};

use super::lamps::Lamp;
use super::levers::Levers;
use super::model::Panel;
use super::ports::Ports;
use super::program::{Check, Program};
use crate::cautions::{Topic, When};
use crate::notation::Address;

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
    /// What can hurt, to be read first, topic by topic.
    pub cautions: Vec<(Topic, String)>,
    /// In the order in which they are done.
    pub acts: Vec<Act>,
}

/// One action.
#[derive(Clone, Debug, PartialEq)]
pub struct Act {
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

/// Address and data lights, the highest first, and status lights with their names.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PanelLights {
    /// Sixteen, or none if they are not meant.
    pub address: Vec<Lamp>,
    /// Eight, or none if they are not meant.
    pub data: Vec<Lamp>,
    /// Those of the status word, bit 7 first, and WAIT; or none if they are not meant.
    pub status: Vec<(&'static str, Lamp)>,
}

/// How the program comes into the machine.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Home {
    /// By the deposit sheet.
    #[default]
    Panel,
    /// It is in a ROM.
    Socket,
}

/// What a card is to say besides the program.
#[derive(Clone, Debug, Default)]
pub struct Request {
    /// Where the program starts; else as the image says, or at its lowest address.
    pub entry: Option<Address>,
    /// How the sense switches stand when it starts.
    pub sense: u8,
    /// How it comes into the machine.
    pub home: Home,
    /// What else is deposited, before it.
    pub deposits: Vec<Deposit>,
    /// What was seen of it when it was started, before any tape was.
    pub seen: Option<Seen>,
    /// The tapes that are read after it, in this order.
    pub tapes: Vec<Tape>,
    /// What ports are known to drive, in the owner's words.
    pub driven: Vec<String>,
    /// What is done besides switching on, for its cautions.
    pub done: Vec<When>,
}

/// A program that is deposited and not started by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deposit {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub bytes: usize,
}

/// A tape that is read on the way.
#[derive(Clone, Debug)]
pub struct Tape {
    /// Its label.
    pub label: String,
    /// Whether lettering is punched before its leader.
    pub lettered: bool,
    /// What is known of reading it.
    pub read: Option<TapeRead>,
}

/// How a tape is done with.
#[derive(Clone, Debug)]
pub struct TapeRead {
    /// Seconds from its start until everything on it has been read.
    pub seconds: f64,
    /// The last program on it, which starts then.
    pub name: String,
    /// Where that starts.
    pub entry: Address,
    /// What was seen then, before the next tape was started.
    pub seen: Option<Seen>,
}

impl Card {
    /// The card for a program; `None` if the image is empty.
    pub fn new(program: &Program, panel: &Panel, ports: &Ports, request: &Request) -> Option<Card> {
        let first = program.image.extents().next()?.base;
        let entry = request.entry.or(program.image.entry).unwrap_or(first);
        Some(acts::card(program, panel, ports, request, entry))
    }
}
