//! What a card is asked to say.

use super::seen::{Doubt, Seen};
use crate::cautions::When;
use crate::notation::Address;

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
    /// Sockets with what is known to be in them.
    pub sockets: Vec<SocketUse>,
    /// What else is deposited, before it.
    pub deposits: Vec<Deposit>,
    /// Why it is not to be trusted.
    pub doubts: Vec<Doubt>,
    /// What was seen of it when it was started, before any tape was.
    pub seen: Option<Seen>,
    /// Disks that go into drives before it is started: the name of each and that of its drive.
    pub disks: Vec<(String, String)>,
    /// The tapes that are read after it, in this order.
    pub tapes: Vec<Tape>,
    /// What ports are known to drive, in the owner's words.
    pub driven: Vec<String>,
    /// What is done besides switching on, for its cautions.
    pub done: Vec<When>,
}

/// What a card knows of a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SocketUse {
    /// Its name on the board.
    pub name: String,
    /// What is in it.
    pub holds: Holds,
}

/// What is in a socket.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Parts with these programs.
    Programs {
        /// Their names.
        names: Vec<String>,
        /// Whether this start runs one of them.
        runs: bool,
    },
    /// Nothing, by order.
    Nothing,
    /// Nothing that is known: what is said of this start was seen without a part there.
    Unknown,
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
    /// Seconds from the start of the program that reads it to its own.
    pub after: f64,
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
