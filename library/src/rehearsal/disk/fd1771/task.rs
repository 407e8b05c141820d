//! A command on its way.

use super::pins::Pins;
use super::registers::Registers;
use super::search::{IdField, Next, Search};
use crate::isa::TStates;

/// A command that is being done, step by step.
pub(super) trait Task: std::fmt::Debug + Copied + Send + Sync {
    /// When the next step is due; never while it waits for what the drive does not give.
    fn next(&self, pins: &dyn Pins) -> Option<TStates>;

    /// The step that is due at a moment.
    fn advance(&mut self, at: TStates, chip: &mut Registers, pins: &mut dyn Pins) -> Flow;

    /// The disk no longer turns: a search waits. What was passing is lost; the sheet is silent on it, and here the chip
    /// stays busy until it is forced to end.
    fn stop(&mut self);

    /// The disk turns, perhaps again.
    fn go(&mut self, at: TStates, pins: &dyn Pins);
}

/// What can be had twice.
pub(super) trait Copied {
    /// Another that stands where this one does.
    fn copied(&self) -> Box<dyn Task>;
}

impl<T: Task + Clone + 'static> Copied for T {
    fn copied(&self) -> Box<dyn Task> {
        Box::new(self.clone())
    }
}

impl Clone for Box<dyn Task> {
    fn clone(&self) -> Box<dyn Task> {
        (**self).copied()
    }
}

/// Whether a command goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Flow {
    /// It does.
    On,
    /// It has come to its end.
    Ends,
}

/// The chip's clock in T-states of the processor.
#[derive(Clone, Copy, Debug)]
pub(super) struct Times {
    /// T-states in a second.
    clock_hz: u64,
    /// By how much times are longer than at 2 MHz.
    factor: u64,
}

impl Times {
    /// Times of a chip with a clock of 2 MHz, or with one of 1 MHz, whose times are twice as long.
    pub fn new(clock_hz: u64, is_slow: bool) -> Times {
        Times { clock_hz, factor: if is_slow { 2 } else { 1 } }
    }

    /// Microseconds at 2 MHz, in T-states.
    pub fn us(self, us: u64) -> TStates {
        TStates((us * self.factor * self.clock_hz).div_ceil(1_000_000))
    }

    /// Milliseconds at 2 MHz, in T-states.
    pub fn ms(self, ms: u64) -> TStates {
        self.us(ms * 1000)
    }

    /// The time that the chip gives the head to come to rest: 10 ms.
    pub fn settle(self) -> TStates {
        self.ms(10)
    }
}

/// The head is loaded, comes to rest, and an ID field is looked for.
#[derive(Clone, Copy, Debug)]
pub(super) enum Approach {
    /// The chip gives the head time until then; afterwards it waits for HLT.
    Settling(TStates),
    /// The head is taken to be at rest.
    Ready(TStates),
    /// ID fields pass.
    Searching(Search),
}

/// Where an approach has come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reached {
    /// The head is at rest.
    Rest,
    /// An ID field has passed.
    Id(IdField),
    /// Two turns have.
    Nothing,
}

impl Approach {
    /// The beginning of a command: with the head to be loaded first, or taken to rest on the disk already.
    pub fn new(load: bool, at: TStates, times: Times, chip: &mut Registers, pins: &mut dyn Pins) -> Approach {
        if !load {
            return Approach::Ready(at);
        }
        engage(at, chip, pins);
        Approach::Settling(at + times.settle())
    }

    /// When it comes further.
    pub fn next(&self, pins: &dyn Pins) -> Option<TStates> {
        match self {
            Approach::Settling(due) => pins.settles().map(|settles| settles.max(*due)),
            Approach::Ready(at) => Some(*at),
            Approach::Searching(search) => search.next(pins).map(|(at, _)| at),
        }
    }

    /// The disk no longer turns.
    pub fn stop(&mut self) {
        if let Approach::Searching(search) = self {
            search.stop();
        }
    }

    /// The disk turns, perhaps again.
    pub fn go(&mut self, at: TStates, pins: &dyn Pins) {
        if let Approach::Searching(search) = self {
            search.go(at, pins);
        }
    }

    /// The same approach, whose search tells of an ID field as soon as its mark has passed.
    pub fn at_marks(self) -> Approach {
        match self {
            Approach::Searching(search) => Approach::Searching(search.at_marks()),
            other => other,
        }
    }

    /// What it comes to at a moment. At rest, and behind each ID field, the search goes on.
    pub fn advance(&mut self, at: TStates, pins: &dyn Pins) -> Reached {
        match self {
            Approach::Settling(_) | Approach::Ready(_) => {
                *self = Approach::Searching(Search::new(at, pins));
                Reached::Rest
            }
            Approach::Searching(search) => match search.next(pins) {
                Some((_, Next::Id(id))) => {
                    *search = search.behind(at);
                    Reached::Id(id)
                }
                _ => Reached::Nothing,
            },
        }
    }
}

/// HLD goes on, if it is not.
pub(super) fn engage(at: TStates, chip: &mut Registers, pins: &mut dyn Pins) {
    if !std::mem::replace(&mut chip.loaded, true) {
        pins.load_head(true, at);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_those_of_the_chips_clock() {
        assert_eq!(Times::new(2_000_000, false).settle(), TStates(20_000));
        assert_eq!(Times::new(2_000_000, true).settle(), TStates(40_000));
        assert_eq!(Times::new(2_500_000, false).us(24), TStates(60));
        assert_eq!(Times::new(1_843_200, false).us(1), TStates(2), "never shorter than asked for");
    }
}
