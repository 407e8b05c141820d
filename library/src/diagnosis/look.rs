//! The next look: the one thing to be examined that tells faults apart best.

use std::collections::{BTreeMap, BTreeSet};

use super::agree::Listing;
use super::suspect::Suspect;
use crate::faults::{Compared, Ending, Rest};
use crate::notation::Address;

/// One thing to be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// Whether it has halted or runs.
    State,
    /// The address lights.
    Address,
    /// The lamps of a port.
    Port(u8),
    /// Whether a tape ran out; by its place.
    Tape(usize),
    /// What the terminal shows.
    Terminal,
    /// STOP, then EXAMINE of an address.
    Memory(Address),
    /// STOP, then a program against its listing or its sheet; by its place.
    Listing(usize),
}

/// What a look can show.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Answer {
    /// It has halted.
    Halted,
    /// It runs.
    Running,
    /// A number of lights that stand still.
    Address(u16),
    /// Lights that flicker, from one address to another.
    Between(u16, u16),
    /// Lights that flicker all over.
    Flickers,
    /// A byte.
    Byte(u8),
    /// A tape ran out before the machine came to rest.
    RanOut,
    /// It had not ended by then.
    StillRuns,
    /// What a comparison shows.
    Compared(Compared),
    /// The last characters that were sent.
    Text(Vec<u8>),
    /// Nothing that is to be relied on.
    Open,
}

/// A look, with what it would show.
#[derive(Clone, Debug, PartialEq)]
pub struct Next<'a> {
    /// The look.
    pub look: Look,
    /// Each answer with the faults that give it, the likeliest answer first.
    pub answers: Vec<(Answer, Vec<Suspect<'a>>)>,
}

/// The most faults, and the most addresses, that are weighed for a look.
const MOST_SUSPECTS: usize = 2000;
const MOST_ADDRESSES: usize = 96;

/// What a look must be worth, in bits, to be asked for; and how much more EXAMINE must be, which takes a hand, and each of the
/// bytes that are gone through with EXAMINE NEXT.
const LEAST: f64 = 0.02;
const EXAMINE: f64 = 0.3;
const NEXT: f64 = 0.01;

/// The look that tells faults apart best, but for those that were had; nothing if none does.
pub fn next<'a>(
    suspects: &[Suspect<'a>],
    had: &BTreeSet<Look>,
    memory: &BTreeMap<Address, u8>,
    listings: &[Listing],
) -> Option<Next<'a>> {
    let suspects = &suspects[..suspects.len().min(MOST_SUSPECTS)];
    let looks = looks(suspects).into_iter().filter(|look| !had.contains(look));
    let weighed = looks.map(|look| {
        let answers = answers(look, suspects, memory);
        let cost = match look {
            Look::Memory(_) => EXAMINE,
            Look::Listing(stage) => EXAMINE + NEXT * listings.get(stage).map_or(0, |listing| listing.bytes) as f64,
            _ => 0.0,
        };
        (worth(&answers), cost, Next { look, answers })
    });
    let useful = weighed.filter(|(worth, ..)| *worth > LEAST);
    let best = useful.max_by(|(one, cost, _), (other, costs, _)| (one - cost).total_cmp(&(other - costs)));
    best.map(|(.., next)| next)
}

/// All looks that could show a difference.
fn looks(suspects: &[Suspect]) -> BTreeSet<Look> {
    let mut looks = BTreeSet::from([Look::State, Look::Address]);
    let mut cells = BTreeMap::<Address, f64>::new();
    for suspect in suspects {
        let ending = &suspect.outcome.ending;
        looks.extend(ending.ports.iter().map(|(port, _)| Look::Port(*port)));
        looks.extend(ending.tapes.iter().map(|end| Look::Tape(end.tape)));
        looks.extend((!ending.text.is_empty()).then_some(Look::Terminal));
        looks.extend((0..ending.listings.len()).map(Look::Listing));
        for (at, _) in &ending.cells.first {
            *cells.entry(*at).or_default() += suspect.weight;
        }
    }
    let mut cells: Vec<_> = cells.into_iter().collect();
    cells.sort_by(|(_, one), (_, other)| other.total_cmp(one));
    looks.extend(cells.into_iter().take(MOST_ADDRESSES).map(|(at, _)| Look::Memory(at)));
    looks
}

fn answers<'a>(
    look: Look,
    suspects: &[Suspect<'a>],
    memory: &BTreeMap<Address, u8>,
) -> Vec<(Answer, Vec<Suspect<'a>>)> {
    let mut answers = BTreeMap::<Answer, Vec<Suspect>>::new();
    for suspect in suspects {
        let outcome = &suspect.outcome;
        let answer = answer(look, &outcome.ending, memory);
        let same = outcome.otherwise.as_ref().is_none_or(|other| self::answer(look, other, memory) == answer);
        answers.entry(if same { answer } else { Answer::Open }).or_default().push(*suspect);
    }
    let mut answers: Vec<_> = answers.into_iter().collect();
    answers.sort_by(|(_, one), (_, other)| weight(other).total_cmp(&weight(one)));
    answers
}

fn weight(suspects: &[Suspect]) -> f64 {
    suspects.iter().map(|suspect| suspect.weight).sum()
}

/// How many bits the answers tell on average; one that is open tells nothing.
fn worth(answers: &[(Answer, Vec<Suspect>)]) -> f64 {
    let sure = || answers.iter().filter(|(answer, _)| *answer != Answer::Open).map(|(_, suspects)| weight(suspects));
    let (known, all) = (sure().sum::<f64>(), answers.iter().map(|(_, suspects)| weight(suspects)).sum::<f64>());
    if known <= 0.0 {
        return 0.0;
    }
    let bits: f64 = sure().map(|part| part / known).filter(|part| *part > 0.0).map(|part| -part * part.log2()).sum();
    bits * known / all
}

/// What a look shows at the end of a play; `memory` is what a good start leaves there.
pub fn answer(look: Look, ending: &Ending, memory: &BTreeMap<Address, u8>) -> Answer {
    match (look, ending.rest) {
        // What runs into noise may store anything anywhere, and seldom does: what was in memory before is still there.
        (Look::Listing(stage), _) => {
            ending.listings.get(stage).copied().flatten().map_or(Answer::Open, Answer::Compared)
        }
        (Look::Memory(at), _) => {
            let cells = &ending.cells;
            let found = cells.first.iter().find(|(address, _)| *address == at).map(|(_, byte)| *byte);
            let is_kept = cells.kept_up_to.is_none_or(|last| at <= last) && !cells.open.contains(&at);
            found.or_else(|| memory.get(&at).copied().filter(|_| is_kept)).map_or(Answer::Open, Answer::Byte)
        }
        (_, Rest::Noise { .. }) => Answer::Open,
        (Look::State, Rest::Halts { .. }) => Answer::Halted,
        (Look::State, _) => Answer::Running,
        (Look::Address, Rest::Halts { .. }) => ending.halted_lamps().map_or(Answer::Open, |at| Answer::Address(at.0)),
        (Look::Address, Rest::Circles { low, high, .. }) => Answer::Between(low.0, high.0),
        (Look::Address, Rest::RunsOn) => Answer::Flickers,
        (Look::Address, Rest::Held { .. }) => Answer::Open,
        (Look::Port(port), _) => {
            ending.ports.iter().find(|(known, _)| *known == port).map_or(Answer::Open, |(_, byte)| Answer::Byte(*byte))
        }
        (Look::Tape(tape), _) => match ending.tapes.iter().find(|end| end.tape == tape) {
            Some(end) if end.passed >= end.frames => Answer::RanOut,
            Some(_) => Answer::StillRuns,
            None => Answer::Open,
        },
        (Look::Terminal, _) => Answer::Text(ending.text.first().map_or(Vec::new(), |text| tail(&text.last))),
    }
}

/// The most characters of a terminal that are told of.
const TAIL: usize = 16;

fn tail(bytes: &[u8]) -> Vec<u8> {
    bytes[bytes.len().saturating_sub(TAIL)..].to_vec()
}
