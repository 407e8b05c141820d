//! How well what is seen goes with the end of a play.

use std::collections::BTreeMap;

use super::seen::{Light, Observation, Shown, State, What};
use crate::faults::{Bank, Compared, Ending, Outcome, Rest};
use crate::notation::Address;
use crate::panel::StatusLamps;

/// It is so.
const YES: f64 = 1.0;
/// It may be so: the play does not say.
const OPEN: f64 = 0.3;
/// It may be so, and so may a hundred other things.
const ANY: f64 = 0.01;
/// It is hardly so.
const HARDLY: f64 = 0.05;
/// What ran into noise has stored just this, just there.
const STORED: f64 = 0.0001;
/// It is not so.
const NO: f64 = 0.0;

/// By how much the bytes of an instruction and of what follows reach beyond its address.
const REACH: u16 = 2;

/// A program that can be compared with its listing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listing {
    /// The name of its stage.
    pub name: String,
    /// Whether it is deposited by hand, so that it is its sheet with which it is compared.
    pub is_deposited: bool,
    /// How many bytes.
    pub bytes: usize,
}

/// What a person sees, with what is needed to compare it.
pub struct Sight<'a> {
    /// What is seen.
    pub seen: &'a [Observation],
    /// What memory holds in a good start, of all that belongs to the chain.
    pub memory: &'a BTreeMap<Address, u8>,
    /// The names of the tapes.
    pub tapes: &'a [String],
    /// The programs.
    pub listings: &'a [Listing],
}

impl Sight<'_> {
    /// How well it goes with an outcome, from 0 for not at all to 1. What hangs on noise may be one or the other.
    pub fn agrees(&self, outcome: &Outcome) -> f64 {
        match &outcome.otherwise {
            _ if self.contradicts_itself() => NO,
            None => self.with(&outcome.ending),
            Some(other) => f64::midpoint(self.with(&outcome.ending), self.with(other)),
        }
    }

    /// Whether an outcome shows all of it, and leaves nothing open.
    pub fn is_shown_by(&self, outcome: &Outcome) -> bool {
        let shows = |ending: &Ending| self.seen.iter().all(|seen| self.one(ending, &seen.what) == YES);
        !self.contradicts_itself() && (shows(&outcome.ending) || outcome.otherwise.as_deref().is_some_and(shows))
    }

    /// Whether it goes with an outcome without that noise has just those bytes in several places.
    pub fn is_likely(&self, outcome: &Outcome) -> bool {
        let is_memory = |seen: &&Observation| matches!(seen.what, What::Memory(..) | What::Listing { .. });
        let likely = |ending: &Ending| {
            let in_memory = self.seen.iter().filter(is_memory).map(|seen| self.one(ending, &seen.what));
            self.with(ending) > 0.0 && in_memory.product::<f64>() >= ANY
        };
        !self.contradicts_itself() && (likely(&outcome.ending) || outcome.otherwise.as_deref().is_some_and(likely))
    }

    /// How well each thing that is seen goes with an outcome.
    pub fn each(&self, outcome: &Outcome) -> Vec<f64> {
        let one = |ending: &Ending, what: &What| self.one(ending, what);
        let both = |what: &What| match outcome.otherwise.as_deref() {
            Some(other) => f64::midpoint(one(&outcome.ending, what), one(other, what)),
            None => one(&outcome.ending, what),
        };
        self.seen.iter().map(|seen| both(&seen.what)).collect()
    }

    /// Whether it says two things of one.
    pub fn contradicts_itself(&self) -> bool {
        let is_halted = self.seen.iter().any(|seen| seen.what == What::State(State::Halted));
        let says_two = |one: &What, other: &What| contradict(one, other) || is_halted && differ_at_rest(one, other);
        let mut pairs = self.seen.iter().enumerate();
        pairs.any(|(at, one)| self.seen[at + 1..].iter().any(|other| says_two(&one.what, &other.what)))
    }

    fn with(&self, ending: &Ending) -> f64 {
        self.seen.iter().map(|seen| self.one(ending, &seen.what)).product()
    }

    fn one(&self, ending: &Ending, what: &What) -> f64 {
        match what {
            What::State(state) => self.state(ending.rest, *state),
            What::Address(shown) if self.is_stopped() => at_rest(ending, shown),
            What::Address(shown) => address(ending, shown),
            What::Data(_) | What::Status(..) if self.is_stopped() => OPEN,
            What::Data(shown) => match (ending.lamps, ending.rest) {
                (Some(lamps), _) => lamps.data.map_or(OPEN, |bank| of_bank(bank, shown)),
                (None, Rest::RunsOn) if *shown == Shown::Flickers => YES,
                _ => open(shown),
            },
            What::Status(lamp, light) => ending.lamps.map_or(OPEN, |lamps| of_status(lamps.status, *lamp, *light)),
            What::Memory(at, byte) => self.memory(ending, *at, *byte),
            What::Lamp { port, bit, light } => match (byte_of(ending, *port), light) {
                (Some(byte), Light::Lit) => is(byte >> bit & 1 == 1),
                (Some(byte), Light::Dark) => is(byte >> bit & 1 == 0),
                (Some(_), Light::Flickers) => changes(ending.rest),
                (None, Light::Dark) => OPEN,
                (None, _) => HARDLY,
            },
            What::Port(port, shown) => match byte_of(ending, *port) {
                Some(_) if *shown == Shown::Flickers => changes(ending.rest),
                Some(byte) => is(holds(shown, byte.into())),
                None => HARDLY,
            },
            What::Tape { name, ran_out } => self.tape(ending, name.as_deref(), *ran_out),
            What::Terminal(text) => terminal(ending, text),
            What::Listing { name, shows } => self.listing(ending, name.as_deref(), *shows),
        }
    }

    fn is_stopped(&self) -> bool {
        self.seen.iter().any(|seen| seen.what == What::State(State::Stopped))
    }

    fn state(&self, rest: Rest, state: State) -> f64 {
        match (rest, state) {
            (Rest::Noise { .. }, _) => OPEN,
            (Rest::Halts { .. }, State::Halted) => YES,
            (Rest::Halts { .. }, _) | (_, State::Halted) => NO,
            (Rest::Held { .. }, State::Running) => OPEN,
            _ => YES,
        }
    }

    /// Differences are kept from the lowest address on.
    fn memory(&self, ending: &Ending, at: Address, byte: u8) -> f64 {
        let cells = &ending.cells;
        if let Some((_, found)) = cells.first.iter().find(|(address, _)| *address == at) {
            return if *found == byte { YES } else { unlike(ending.rest) };
        }
        let is_kept = cells.kept_up_to.is_none_or(|last| at <= last);
        match self.memory.get(&at) {
            Some(good) if is_kept && !cells.open.contains(&at) => {
                if *good == byte {
                    YES
                } else {
                    unlike(ending.rest)
                }
            }
            _ => ANY,
        }
    }

    fn listing(&self, ending: &Ending, name: Option<&str>, shows: Compared) -> f64 {
        let is_named = |stage: &(usize, &Listing)| match name {
            Some(name) => stage.1.name == name,
            None => stage.1.is_deposited,
        };
        let Some((stage, _)) = self.listings.iter().enumerate().find(is_named) else { return NO };
        match ending.listings.get(stage).copied().flatten() {
            Some(compared) if compared == shows => YES,
            Some(_) => unlike(ending.rest),
            None => ANY,
        }
    }

    /// A tape goes on when the machine stays; what counts is whether it had ended by then.
    fn tape(&self, ending: &Ending, name: Option<&str>, ran_out: bool) -> f64 {
        let is_named = |tape: usize| name.is_none_or(|name| self.tapes.get(tape).is_some_and(|known| known == name));
        let Some(end) = ending.tapes.iter().rfind(|end| is_named(end.tape)) else { return HARDLY };
        match (end.passed >= end.frames, ran_out) {
            (true, true) | (false, false) => YES,
            (true, false) => OPEN,
            (false, true) => HARDLY,
        }
    }
}

/// Whether two things cannot be seen of one machine that stays as it is.
fn contradict(one: &What, other: &What) -> bool {
    match (one, other) {
        (What::State(one), What::State(other)) => one != other && ![*one, *other].contains(&State::Stopped),
        (What::Memory(one, byte), What::Memory(other, found)) => one == other && byte != found,
        (What::Lamp { port, bit, light }, What::Lamp { port: other, bit: number, light: looks }) => {
            (port, bit) == (other, number) && light != looks
        }
        (What::Status(one, light), What::Status(other, looks)) => one == other && light != looks,
        (What::Port(one, shown), What::Port(other, shows)) => one == other && excludes(shown, shows),
        (What::Lamp { port, bit, light }, What::Port(other, Shown::Steady(byte)))
        | (What::Port(other, Shown::Steady(byte)), What::Lamp { port, bit, light }) => {
            port == other && *light != if byte >> bit & 1 == 1 { Light::Lit } else { Light::Dark }
        }
        (What::Tape { name, ran_out }, What::Tape { name: other, ran_out: out }) => name == other && ran_out != out,
        (What::Terminal(one), What::Terminal(other)) => one.is_empty() != other.is_empty(),
        (What::Listing { name, shows }, What::Listing { name: other, shows: found }) => name == other && shows != found,
        _ => false,
    }
}

/// Whether two numbers are told of lights that stand still.
fn differ_at_rest(one: &What, other: &What) -> bool {
    match (one, other) {
        (What::Address(one), What::Address(other)) | (What::Data(one), What::Data(other)) => excludes(one, other),
        _ => false,
    }
}

/// Whether a bank shows either the one or the other.
fn excludes(one: &Shown, other: &Shown) -> bool {
    match (one, other) {
        (Shown::Flickers, other) | (other, Shown::Flickers) => matches!(other, Shown::Steady(_)),
        (Shown::Steady(number), shown) | (shown, Shown::Steady(number)) => !holds(shown, *number),
        (Shown::OneOf(several), shown) | (shown, Shown::OneOf(several)) => {
            !several.iter().any(|number| holds(shown, *number))
        }
        _ => false,
    }
}

/// How well memory goes with something else: what runs into noise may store anything anywhere, and seldom does.
fn unlike(rest: Rest) -> f64 {
    if matches!(rest, Rest::Noise { .. }) { STORED } else { NO }
}

fn is(so: bool) -> f64 {
    if so { YES } else { NO }
}

/// Whether a port may change before the eye.
fn changes(rest: Rest) -> f64 {
    match rest {
        Rest::Halts { .. } | Rest::Held { .. } => NO,
        Rest::Circles { .. } => HARDLY,
        Rest::RunsOn | Rest::Noise { .. } => OPEN,
    }
}

fn byte_of(ending: &Ending, port: u8) -> Option<u8> {
    ending.ports.iter().find(|(known, _)| *known == port).map(|(_, byte)| *byte)
}

fn holds(shown: &Shown, number: u16) -> bool {
    match shown {
        Shown::Steady(one) => *one == number,
        Shown::OneOf(several) => several.contains(&number),
        Shown::Between(low, high) => (*low..=*high).contains(&number),
        Shown::Flickers => false,
    }
}

/// Where a machine may stand that a hand has stopped.
fn at_rest(ending: &Ending, shown: &Shown) -> f64 {
    match ending.rest {
        Rest::Circles { low, high, .. } => is(within(shown, low, high)),
        Rest::Halts { .. } => ending.halted_lamps().map_or(OPEN, |at| is(holds(shown, at.0))),
        Rest::RunsOn | Rest::Noise { .. } | Rest::Held { .. } => open(shown),
    }
}

/// How well anything goes with what is not known.
fn open(shown: &Shown) -> f64 {
    if *shown == Shown::Flickers { OPEN } else { ANY }
}

/// Whether what is seen lies in a loop.
fn within(shown: &Shown, low: Address, high: Address) -> bool {
    let in_loop = |number: u16| (low.0..=high.0.saturating_add(REACH)).contains(&number);
    match shown {
        Shown::Steady(one) => in_loop(*one),
        Shown::OneOf(several) => several.iter().all(|one| in_loop(*one)),
        Shown::Between(from, to) => {
            in_loop(*from)
                && in_loop(*to)
                && to.saturating_sub(*from).saturating_add(REACH) >= high.0.saturating_sub(low.0)
        }
        Shown::Flickers => true,
    }
}

fn address(ending: &Ending, shown: &Shown) -> f64 {
    match (ending.rest, shown) {
        (Rest::Circles { low, high, .. }, Shown::Between(..) | Shown::OneOf(_)) => is(within(shown, low, high)),
        (Rest::RunsOn, Shown::Flickers) => YES,
        (Rest::RunsOn, Shown::Steady(_)) => HARDLY,
        _ => ending.lamps.map_or(open(shown), |lamps| of_bank(lamps.address, shown)),
    }
}

fn of_bank(bank: Bank, shown: &Shown) -> f64 {
    let steady = |number: u16| {
        if bank.flickers != 0 || (bank.lit ^ number) & !bank.open != 0 {
            return NO;
        }
        if bank.open == 0 { YES } else { OPEN }
    };
    match shown {
        Shown::Steady(number) => steady(*number),
        Shown::OneOf(several) => several.iter().map(|number| steady(*number)).fold(NO, f64::max),
        Shown::Between(low, high) => is((*low..=*high).contains(&bank.lit)),
        Shown::Flickers if bank.flickers != 0 => YES,
        Shown::Flickers if bank.open != 0 => OPEN,
        Shown::Flickers => NO,
    }
}

fn of_status(bank: Bank, lamp: StatusLamps, light: Light) -> f64 {
    let Some(bit) = StatusLamps::NAMES.iter().position(|(_, known)| *known == lamp) else { return OPEN };
    if bank.open >> bit & 1 == 1 {
        return OPEN;
    }
    let (lit, flickers) = (bank.lit >> bit & 1 == 1, bank.flickers >> bit & 1 == 1);
    is(match light {
        Light::Lit => lit && !flickers,
        Light::Dark => !lit && !flickers,
        Light::Flickers => flickers,
    })
}

/// What a terminal shows ends with what was sent last; of a character seven bits are shown (common practice).
fn terminal(ending: &Ending, text: &str) -> f64 {
    let sent: usize = ending.text.iter().map(|text| text.count).sum();
    if text.is_empty() || sent == 0 {
        return is(text.is_empty() && sent == 0);
    }
    let seven = |bytes: &[u8]| bytes.iter().map(|byte| byte & 0o177).filter(|byte| *byte >= 0o40).collect::<Vec<_>>();
    let wanted = seven(text.as_bytes());
    is(ending.text.iter().any(|line| seven(&line.last).ends_with(&wanted)))
}
