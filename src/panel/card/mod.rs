//! The run card: every action of the operator in order, what the panel shows after it, and what it means if it does not.
//!
//! How the panel looks while the program waits is not guessed: the program is run on the
//! [`cpu`](crate::cpu) until it goes round a loop for ever, and a light that is sometimes on in that loop flickers.

mod acts;
mod draw;
mod tapes;
mod wait;
mod write;

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
    /// The address and data lights, where they are known; either may be empty.
    pub lights: Option<PanelLights>,
    /// What it means if something else shows.
    pub otherwise: String,
}

/// Address and data lights, the highest first.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PanelLights {
    /// Sixteen, or none if they are not meant.
    pub address: Vec<Lamp>,
    /// Eight, or none if they are not meant.
    pub data: Vec<Lamp>,
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
    /// The port that reads them.
    pub sense_port: Option<u8>,
    /// How it comes into the machine.
    pub home: Home,
    /// The tapes that are read after it, in this order.
    pub tapes: Vec<Tape>,
    /// What ports are known to drive, in the owner's words.
    pub driven: Vec<String>,
    /// What is done besides switching on, for its cautions.
    pub done: Vec<When>,
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
    pub program: Program,
    /// Where that starts.
    pub entry: Address,
}

impl Card {
    /// The card for a program; `None` if the image is empty.
    pub fn new(program: &Program, panel: &Panel, ports: &Ports, request: &Request) -> Option<Card> {
        let first = program.image.extents().next()?.base;
        let entry = request.entry.or(program.image.entry).unwrap_or(first);
        Some(acts::card(program, panel, ports, request, entry))
    }
}
