//! What was seen of a machine that was left alone, as a plain value: the card only puts it into words.

use super::lights::PanelLights;

/// What was seen, from one place where a start stays to the next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    /// The program that runs there.
    pub name: String,
    /// How it stays.
    pub stays: Stays,
    /// The ports that were read so far at which nothing is known to answer: what they read was taken for granted.
    pub assumed: Vec<u8>,
    /// The ports that were written on the way there, the lowest first.
    pub written: Vec<Written>,
    /// What was typed on the way there.
    pub typed: Vec<Typed>,
}

/// How a program stays where it is left alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Stays {
    /// It goes round a loop without end.
    Circles {
        /// The ports that it reads in it, the lowest first.
        reads: Vec<u8>,
        /// Those of them at which it waits: what they read makes it go on.
        waits: Vec<u8>,
        /// What it puts out in it, port by port.
        puts: Vec<Written>,
        /// How the lights look.
        lights: PanelLights,
    },
    /// It has halted.
    Halts(PanelLights),
    /// It was still busy when it was no longer watched.
    RunsOn,
    /// With one noise at power-on it stays otherwise than with another.
    Hangs,
    /// It went wrong, and had read these ports, at which nothing is known to answer: what it does hangs on them.
    Depends(Vec<u8>),
}

/// A port that was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Written {
    /// The port.
    pub port: u8,
    /// How often.
    pub count: usize,
    /// The byte that it has now.
    pub last: u8,
    /// The bits of it that hang on what was there at power-on.
    pub open: u8,
}

/// Characters that were sent to a terminal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Typed {
    /// What is on the line.
    pub line: String,
    /// Seven bits of each character, in their order.
    pub text: String,
    /// Whether characters of it hang on what was there at power-on.
    pub open: bool,
}

/// Why a card is not to be trusted: what it tells of was played, and went wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Doubt {
    /// The rehearsal fails; the reason.
    Fails(String),
    /// It was not played to its end; the reason.
    Unfinished(String),
}

impl Doubt {
    /// The doubt in a few words, and the reason.
    pub fn words(&self) -> (&'static str, String) {
        let plain = |why: &str| why.replace('`', "");
        match self {
            Doubt::Fails(why) => ("this start fails in its rehearsal", plain(why)),
            Doubt::Unfinished(why) => ("this start was not played to its end", plain(why)),
        }
    }
}
