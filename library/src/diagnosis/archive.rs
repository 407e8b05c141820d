//! The faults that explain what is seen, the likeliest first.

use std::collections::{BTreeMap, BTreeSet};

use super::agree::{Listing, Sight};
use super::look::{Answer, Look, Next, answer, next};
use super::pairs::pairs;
use super::seen::Observation;
use super::suspect::Suspect;
use crate::faults::{Ending, Fault, Kind, Outcome, Pair, Plays, Words};
use crate::notation::Address;

/// Of how much a fault still counts that the CHECK of the sheet would have shown.
const CHECKED: f64 = 0.25;

/// Of how many starts that go wrong it is two faults at once (common practice: rarely).
const TWICE: f64 = 0.1;

/// Of how many starts [`Kind::weight`] speaks.
const THOUSAND: f64 = 1000.0;

/// What is known of a start, ready to be asked.
pub struct Archive<'a> {
    plays: &'a Plays,
    memory: BTreeMap<Address, u8>,
    tapes: Vec<String>,
    listings: Vec<Listing>,
    /// How many faults of each kind there are.
    counts: BTreeMap<Kind, usize>,
}

/// An observation without which faults would explain the rest.
#[derive(Clone, Debug, PartialEq)]
pub struct Odd<'a> {
    /// Which of those that are seen.
    pub observation: usize,
    /// The faults that explain the others.
    pub suspects: Vec<Suspect<'a>>,
}

impl<'a> Archive<'a> {
    /// The plays of a start, with who words them.
    pub fn new(plays: &'a Plays, words: &Words) -> Archive<'a> {
        let mut counts = BTreeMap::new();
        plays.faults.iter().for_each(|played| *counts.entry(played.fault.kind).or_default() += 1);
        let listings =
            words.stages().map(|(name, is_deposited, bytes)| Listing { name: name.into(), is_deposited, bytes });
        let memory = plays.memory.iter().copied().collect();
        Archive { plays, memory, tapes: words.tapes(), listings: listings.collect(), counts }
    }

    /// The faults that explain all that is seen, and those that cannot be ruled out, the likeliest first.
    pub fn suspects(&self, seen: &[Observation]) -> Vec<Suspect<'a>> {
        let singles = self
            .plays
            .faults
            .iter()
            .map(|played| (std::slice::from_ref(&played.fault), &played.outcome, self.common(played.fault.kind)));
        self.suspected(seen, singles)
    }

    /// Whether a single fault explains all that is seen, or leaves it open without that noise has just those bytes in several
    /// places.
    pub fn has_suspect(&self, seen: &[Observation]) -> bool {
        let sight = self.sight(seen);
        self.plays.faults.iter().any(|played| sight.is_likely(&played.outcome))
    }

    /// Of pairs that were played those that explain all that is seen, the likeliest first. What two faults leave open is
    /// left open by one of them.
    pub fn of_pairs<'p>(&self, pairs: &'p [Pair], seen: &[Observation]) -> Vec<Suspect<'p>> {
        let pairs = pairs.iter().map(|pair| {
            let [one, other] = pair.faults.each_ref().map(|fault| self.common(fault.kind));
            (&pair.faults[..], &pair.outcome, TWICE * one * other / THOUSAND)
        });
        let mut suspects = self.suspected(seen, pairs);
        suspects.retain(|suspect| suspect.explains);
        suspects
    }

    /// Pairs of faults that may together explain what is seen, to be played; the likeliest first, at most so many.
    pub fn pairs_to_play(&self, seen: &[Observation], most: usize) -> Vec<[Fault; 2]> {
        let sight = self.sight(seen);
        if sight.contradicts_itself() {
            Vec::new()
        } else {
            pairs(&self.plays.faults, &sight, |kind| self.common(kind), most)
        }
    }

    fn sight<'s>(&'s self, seen: &'s [Observation]) -> Sight<'s> {
        Sight { seen, memory: &self.memory, tapes: &self.tapes, listings: &self.listings }
    }

    fn suspected<'p>(
        &self,
        seen: &[Observation],
        faults: impl Iterator<Item = (&'p [Fault], &'p Outcome, f64)>,
    ) -> Vec<Suspect<'p>> {
        let sight = self.sight(seen);
        let suspects = faults.filter_map(|(faults, outcome, common)| {
            let checked = if outcome.checks.count > 0 { CHECKED } else { 1.0 };
            let weight = common * checked * sight.agrees(outcome);
            let suspect = || Suspect { faults, outcome, weight, explains: sight.is_shown_by(outcome) };
            (weight > 0.0).then(|| (suspect(), sight.is_likely(outcome)))
        });
        let suspects: Vec<_> = suspects.collect();
        // What needs noise that has just those bytes counts only where nothing else is left.
        let any = suspects.iter().any(|(_, is_likely)| *is_likely);
        let likely = suspects.into_iter().filter(|(_, is_likely)| *is_likely || !any);
        let mut suspects: Vec<_> = likely.map(|(suspect, _)| suspect).collect();
        suspects.sort_by(|one, other| other.weight.total_cmp(&one.weight));
        suspects
    }

    /// The look that tells faults apart best, but for those that were had; nothing if none does.
    pub fn next<'p>(&self, suspects: &[Suspect<'p>], had: &BTreeSet<Look>) -> Option<Next<'p>> {
        next(suspects, had, &self.memory, &self.listings)
    }

    /// What a look would show at the end of a play.
    pub fn shows(&self, look: Look, ending: &Ending) -> Answer {
        answer(look, ending, &self.memory)
    }

    /// Whether a start without a fault looks so too.
    pub fn looks_good(&self, seen: &[Observation]) -> bool {
        self.sight(seen).is_shown_by(&self.plays.good)
    }

    /// Whether a machine that stays like this halts or goes round where it does after a good start.
    pub fn rests_as_a_good_start(&self, ending: &Ending) -> bool {
        ending.rest == self.plays.good.ending.rest
    }

    /// The observation that is the odd one, where nothing explains all of them: that without which most speaks for
    /// something.
    pub fn odd(&self, seen: &[Observation]) -> Option<Odd<'a>> {
        let without = (0..seen.len()).map(|observation| {
            let rest: Vec<_> =
                seen.iter().enumerate().filter(|(at, _)| *at != observation).map(|(_, it)| it.clone()).collect();
            Odd { observation, suspects: self.suspects(&rest) }
        });
        let weight = |odd: &Odd| odd.suspects.iter().map(|suspect| suspect.weight).sum::<f64>();
        let without = without.filter(|odd| !odd.suspects.is_empty() && seen.len() > 1);
        without.max_by(|one, other| weight(one).total_cmp(&weight(other)))
    }

    /// How common a fault of a kind is, of a thousand: its kind, shared among all faults of that kind.
    fn common(&self, kind: Kind) -> f64 {
        f64::from(kind.weight()) / self.counts.get(&kind).copied().unwrap_or(1) as f64
    }
}
