//! What becomes of a fault, as data: the end, and all of it that a person could see.

use serde::{Deserialize, Serialize};

use super::fault::Fault;
use crate::notation::Address;
use crate::panel::card::PanelLights;
use crate::panel::{Lamp, StatusLamps};

/// A fault that was played, with what became of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Played {
    /// The fault.
    pub fault: Fault,
    /// What became of it.
    pub outcome: Outcome,
}

/// Two faults that were played at once, with what became of them.
#[derive(Clone, Debug, PartialEq)]
pub struct Pair {
    /// The faults.
    pub faults: [Fault; 2],
    /// What became of them.
    pub outcome: Outcome,
}

/// What was played of a start.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Plays {
    /// The start without a fault.
    pub good: Outcome,
    /// What memory holds there when the last program is entered, of all that belongs to the chain; addresses rise.
    pub memory: Vec<(Address, u8)>,
    /// Every fault.
    pub faults: Vec<Played>,
}

/// What becomes of a fault.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// What the CHECK of the sheet shows, as far as it differs.
    pub checks: Checks,
    /// How it ends; with checks that differ, if nobody looks at them.
    pub ending: Ending,
    /// How it ends with other noise at power-on, if that is not the same.
    pub otherwise: Option<Box<Ending>>,
    /// It starts with either noise, and stores something at an address that hangs on the noise.
    pub strays: bool,
}

/// What the CHECK of a sheet shows otherwise.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Checks {
    /// How many comparisons differ.
    pub count: usize,
    /// The first of them, at most [`Checks::KEPT`].
    pub first: Vec<Check>,
}

impl Checks {
    /// The most comparisons that are kept.
    pub const KEPT: usize = 8;

    /// Another comparison that differs.
    pub(super) fn push(&mut self, check: Check) {
        self.count += 1;
        if self.first.len() < Checks::KEPT {
            self.first.push(check);
        }
    }
}

/// A comparison that differs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Check {
    /// The data lamps at an address.
    Byte {
        /// Where.
        address: Address,
        /// What the sheet says.
        expected: u8,
        /// What the lamps show.
        found: u8,
    },
    /// The address lamps at the end of a block, or before RUN.
    Address {
        /// What the sheet says.
        expected: Address,
        /// What the lamps show.
        found: Address,
    },
}

/// How a start with a fault ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Ending {
    /// What it comes to.
    pub end: End,
    /// The place of the last stage that was entered.
    pub place: usize,
    /// Where the machine stays.
    pub rest: Rest,
    /// What the lamps of the panel show there; nothing where they change on and on.
    pub lamps: Option<Lamps>,
    /// Whether interrupts are enabled.
    pub interrupts: bool,
    /// What each output port was given last.
    pub ports: Vec<(u8, u8)>,
    /// What was sent down each line with anything on it.
    pub text: Vec<Text>,
    /// The tapes that were started.
    pub tapes: Vec<TapeEnd>,
    /// Where memory differs from a good start, of all that belongs to the chain.
    pub cells: Cells,
    /// What a comparison with the listing of each stage shows there, in the order in which they run; nothing if it hangs on
    /// noise.
    pub listings: Vec<Option<Compared>>,
}

/// What a comparison of memory with the listing of a program shows, or with its sheet, once the machine has come to rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Compared {
    /// Every byte is as it was built.
    Agrees,
    /// The first byte that is not; addresses rise.
    Differs {
        /// Where.
        at: Address,
        /// What is there.
        found: u8,
    },
}

/// What a start with a fault comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// It starts as it should.
    Starts,
    /// The last program runs, nothing has complained, and it is not as it should be.
    Silent {
        /// So many of its bytes, or of what it uses, are wrong.
        bytes: usize,
        /// It puts out something else, or stays elsewhere.
        acts: bool,
        /// It was not started at its entry.
        astray: bool,
    },
    /// A program of the chain complains: it has done what it does in no good start.
    Told {
        /// Where it did.
        at: Address,
    },
    /// Nothing comes of it.
    Stops,
}

/// Where a machine stays.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rest {
    /// It has halted.
    Halts {
        /// The HLT.
        at: Address,
    },
    /// It goes round for ever.
    Circles {
        /// Its lowest instruction, as the address lamps show it.
        low: Address,
        /// Its highest.
        high: Address,
        /// The input port that it reads.
        port: Option<u8>,
    },
    /// It was still at work, and not in a loop that nothing ends, when it was no longer watched.
    RunsOn,
    /// A port holds it for ever.
    Held {
        /// The port.
        port: u8,
    },
    /// It executes what memory happened to hold at power-on: nobody knows how it goes on.
    Noise {
        /// Where.
        at: Address,
    },
}

/// What the lamps of a panel show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lamps {
    /// Sixteen of the address.
    pub address: Bank,
    /// Eight of the data; nothing if no cycle drives them.
    pub data: Option<Bank>,
    /// The status lamps, in the order of [`StatusLamps::NAMES`], the first in bit 0.
    pub status: Bank,
}

/// Lamps side by side, as bits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bank {
    /// Those that are lit.
    pub lit: u16,
    /// Those that change faster than the eye.
    pub flickers: u16,
    /// Those that hang on what memory and registers held at power-on.
    pub open: u16,
}

impl Bank {
    fn of(lamps: impl DoubleEndedIterator<Item = Lamp>) -> Bank {
        let mut bank = Bank::default();
        for (bit, lamp) in lamps.rev().enumerate() {
            bank.lit |= u16::from(lamp == Lamp::Lit) << bit;
            bank.flickers |= u16::from(lamp == Lamp::Flickers) << bit;
        }
        bank
    }

    /// What is the same in both; the rest is open.
    fn meet(self, other: Bank) -> Bank {
        let open = (self.lit ^ other.lit) | (self.flickers ^ other.flickers) | self.open | other.open;
        Bank { lit: self.lit & !open, flickers: self.flickers & !open, open }
    }

    /// The lowest so many lamps, the highest first.
    pub fn lamps(self, count: u32) -> Vec<Lamp> {
        let look = |bit| match (self.open >> bit & 1, self.flickers >> bit & 1, self.lit >> bit & 1) {
            (1, ..) => Lamp::Open,
            (_, 1, _) => Lamp::Flickers,
            (.., 1) => Lamp::Lit,
            _ => Lamp::Dark,
        };
        (0..count).rev().map(look).collect()
    }
}

impl From<&PanelLights> for Lamps {
    fn from(lights: &PanelLights) -> Lamps {
        let status = lights.status.iter().rev().map(|(_, lamp)| *lamp);
        Lamps {
            address: Bank::of(lights.address.iter().copied()),
            data: (!lights.data.is_empty()).then(|| Bank::of(lights.data.iter().copied())),
            status: Bank::of(status),
        }
    }
}

impl Lamps {
    /// The names of the status lamps that are lit.
    pub fn status_lit(&self) -> Vec<&'static str> {
        let names = StatusLamps::NAMES.iter().enumerate();
        names.filter(|(bit, _)| self.status.lit >> bit & 1 == 1).map(|(_, (name, _))| *name).collect()
    }

    fn meet(self, other: Lamps) -> Lamps {
        Lamps {
            address: self.address.meet(other.address),
            data: self.data.zip(other.data).map(|(one, other)| one.meet(other)),
            status: self.status.meet(other.status),
        }
    }
}

/// What was sent down a line.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Text {
    /// The serial interface, among those with a line.
    pub line: usize,
    /// How many characters.
    pub count: usize,
    /// The last of them, at most [`Text::KEPT`].
    pub last: Vec<u8>,
}

impl Text {
    /// The most characters that are kept.
    pub const KEPT: usize = 64;
}

/// How far a tape has come.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct TapeEnd {
    /// Which, among those of the start.
    pub tape: usize,
    /// Frames that have passed when the machine comes to rest.
    pub passed: usize,
    /// All of its frames.
    pub frames: usize,
}

/// Where memory differs from what a good start leaves there when its last program is entered.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cells {
    /// How many cells differ.
    pub count: usize,
    /// The first of them with what they hold, at most [`Cells::KEPT`]; addresses rise.
    pub first: Vec<(Address, u8)>,
    /// Cells that hold one thing or another.
    pub open: Vec<Address>,
    /// Up to where nothing is left out; nothing if nothing is.
    pub kept_up_to: Option<Address>,
}

impl Cells {
    /// The most cells that are kept.
    pub const KEPT: usize = 16;

    /// Another cell that differs, behind those before.
    pub(super) fn push(&mut self, at: Address, found: u8) {
        self.count += 1;
        if self.first.len() < Cells::KEPT {
            self.first.push((at, found));
        } else {
            self.kept_up_to = self.first.last().map(|(last, _)| *last);
        }
    }

    /// What holds in both; the rest is open.
    fn meet(self, other: Cells) -> Cells {
        let (both, mut open): (Vec<_>, Vec<_>) = self.first.into_iter().partition(|cell| other.first.contains(cell));
        open.extend(other.first.into_iter().filter(|cell| !both.contains(cell)));
        let mut open: Vec<_> = open.into_iter().map(|(at, _)| at).collect();
        open.sort_unstable();
        open.dedup();
        let kept_up_to = self.kept_up_to.into_iter().chain(other.kept_up_to).min();
        Cells { count: self.count.max(other.count), first: both, open, kept_up_to }
    }
}

/// What becomes of a fault, in order of how bad that is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// It starts and is wrong in silence.
    Silent,
    /// It hangs on what memory and registers hold at power-on.
    Depends,
    /// It stops, or goes round for ever.
    Stops,
    /// A program of the chain complains.
    Told,
    /// The CHECK of the sheet shows it.
    Sheet,
    /// It starts in spite of it.
    Starts,
}

impl Class {
    /// All of them, the worst first.
    pub const ALL: [Class; 6] = [Class::Silent, Class::Depends, Class::Stops, Class::Told, Class::Sheet, Class::Starts];

    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Class::Silent => "starts, and is wrong in silence",
            Class::Depends => "hangs on what memory held at power-on",
            Class::Stops => "stops, goes round for ever, or is given up",
            Class::Told => "a program of the chain complains",
            Class::Sheet => "the CHECK of the sheet shows it",
            Class::Starts => "starts in spite of it",
        }
    }
}

impl Outcome {
    /// Of the endings with one noise and with another the one that is silent, if one is; else the first.
    pub fn worst(&self) -> &Ending {
        let silent = |ending: &&Ending| matches!(ending.end, End::Silent { .. });
        let otherwise = self.otherwise.as_deref().filter(silent);
        if silent(&&self.ending) { &self.ending } else { otherwise.unwrap_or(&self.ending) }
    }

    /// What becomes of it. With other noise it may become something else: what is worst counts, and that is silence.
    pub fn class(&self) -> Class {
        let endings = || std::iter::once(&self.ending).chain(self.otherwise.as_deref());
        if self.checks.count > 0 {
            return Class::Sheet;
        }
        if endings().any(|ending| matches!(ending.end, End::Silent { .. })) {
            return Class::Silent;
        }
        if self.strays || self.otherwise.is_some() || matches!(self.ending.rest, Rest::Noise { .. }) {
            return Class::Depends;
        }
        self.ending.class()
    }
}

impl Ending {
    /// What the address lamps show of a machine that has halted: the byte behind the HLT, unless a line is stuck or crossed.
    /// Nothing of one that runs.
    pub fn halted_lamps(&self) -> Option<Address> {
        let Rest::Halts { at } = self.rest else { return None };
        let steady = self.lamps.map(|lamps| lamps.address).filter(|bank| bank.flickers | bank.open == 0);
        Some(steady.map_or(at.wrapping_add(1), |bank| Address(bank.lit)))
    }

    /// What it comes to, whatever the sheet shows.
    pub fn class(&self) -> Class {
        match self.end {
            End::Silent { .. } => Class::Silent,
            End::Starts => Class::Starts,
            End::Told { .. } => Class::Told,
            End::Stops => Class::Stops,
        }
    }

    /// Whether a person sees the same.
    fn looks_like(&self, other: &Ending) -> bool {
        let of = |ending: &Ending| (ending.end, ending.place, ending.rest, ending.interrupts);
        of(self) == of(other) && self.ports == other.ports && self.text == other.text
    }

    /// The two endings of a fault with one noise and with another: one if they look the same, with what differs left open.
    pub(super) fn meet(self, other: Ending) -> (Ending, Option<Box<Ending>>) {
        if !self.looks_like(&other) {
            return (self, Some(Box::new(other)));
        }
        let lamps = self.lamps.zip(other.lamps).map(|(one, other)| one.meet(other));
        let cells = self.cells.meet(other.cells);
        let both = self.listings.iter().zip(&other.listings);
        let listings = both.map(|(one, other)| one.filter(|one| *other == Some(*one))).collect();
        (Ending { lamps, cells, listings, ..self }, None)
    }
}
