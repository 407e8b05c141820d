//! The faults that explain what is seen, the likeliest first.

use std::collections::{BTreeMap, BTreeSet};

use super::agree::Sight;
use super::look::{Look, Next, next};
use super::seen::Observation;
use super::suspect::Suspect;
use crate::faults::{Kind, Played, Plays};
use crate::notation::Address;

/// Of how much a fault still counts that the CHECK of the sheet would have shown.
const CHECKED: f64 = 0.25;

/// What is known of a start, ready to be asked.
pub struct Archive<'a> {
    plays: &'a Plays,
    memory: BTreeMap<Address, u8>,
    tapes: Vec<String>,
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
    /// The plays of a start, with the names of its tapes in their order.
    pub fn new(plays: &'a Plays, tapes: Vec<String>) -> Archive<'a> {
        let mut counts = BTreeMap::new();
        plays.faults.iter().for_each(|played| *counts.entry(played.fault.kind).or_default() += 1);
        Archive { plays, memory: plays.memory.iter().copied().collect(), tapes, counts }
    }

    /// The faults that explain all that is seen, and those that cannot be ruled out, the likeliest first.
    pub fn suspects(&self, seen: &[Observation]) -> Vec<Suspect<'a>> {
        let sight = Sight { seen, memory: &self.memory, tapes: &self.tapes };
        let suspects = self.plays.faults.iter().filter_map(|played| {
            let weight = self.common(played) * sight.agrees(&played.outcome);
            (weight > 0.0).then(|| Suspect { played, weight, explains: sight.is_shown_by(&played.outcome) })
        });
        let mut suspects: Vec<_> = suspects.collect();
        suspects.sort_by(|one, other| other.weight.total_cmp(&one.weight));
        suspects
    }

    /// The look that tells faults apart best, but for those that were had; nothing if none does.
    pub fn next(&self, suspects: &[Suspect<'a>], had: &BTreeSet<Look>) -> Option<Next<'a>> {
        next(suspects, had, &self.memory)
    }

    /// Whether a start without a fault looks so too.
    pub fn looks_good(&self, seen: &[Observation]) -> bool {
        let sight = Sight { seen, memory: &self.memory, tapes: &self.tapes };
        sight.is_shown_by(&self.plays.good)
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

    /// How common a fault is: its kind, shared among all faults of that kind.
    fn common(&self, played: &Played) -> f64 {
        let kind = played.fault.kind;
        let count = self.counts.get(&kind).copied().unwrap_or(1);
        let common = f64::from(kind.weight()) / count as f64;
        if played.outcome.checks.count > 0 { common * CHECKED } else { common }
    }
}
