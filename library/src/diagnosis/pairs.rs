//! Which two faults at once are worth playing: those that together explain what neither does alone, the commonest first.

use std::collections::BTreeMap;

use super::agree::Sight;
use crate::faults::{Fault, Kind, Played};

/// What counts in place of nothing where neither fault of a pair shows a thing: together they may.
const NEITHER: f64 = 0.004;

/// The most faults that are tried of those that show the same, and the most of a kind among them.
const MOST_ALIKE: usize = 24;
const MOST_OF_KIND: usize = 4;

/// A fault that may be one of two.
struct One<'a> {
    fault: &'a Fault,
    common: f64,
    /// How well each thing that is seen goes with it alone.
    shows: Vec<f64>,
}

/// Pairs of faults to be played, the likeliest first, at most so many. `common` says how common a fault of a
/// kind is.
pub fn pairs(faults: &[Played], sight: &Sight, common: impl Fn(Kind) -> f64, most: usize) -> Vec<[Fault; 2]> {
    let ones = ones(faults, sight, common);
    let mut tried = Vec::new();
    for (at, one) in ones.iter().enumerate() {
        for other in ones[at + 1..].iter().filter(|other| one.fault.goes_with(other.fault)) {
            let shows = one.shows.iter().zip(&other.shows).map(|(one, other)| one.max(*other).max(NEITHER));
            let mut faults = [one.fault, other.fault];
            faults.sort_by_key(|fault| fault.kind);
            tried.push((one.common * other.common * shows.product::<f64>(), faults));
        }
    }
    tried.sort_by(|(one, _), (other, _)| other.total_cmp(one));
    tried.truncate(most);
    tried.into_iter().map(|(_, faults)| faults.map(Fault::clone)).collect()
}

/// The commonest faults of those that show the same of what is seen.
fn ones<'a>(faults: &'a [Played], sight: &Sight, common: impl Fn(Kind) -> f64) -> Vec<One<'a>> {
    let mut alike = BTreeMap::<Vec<u64>, Vec<One>>::new();
    for played in faults {
        let shows = sight.each(&played.outcome);
        let key = shows.iter().map(|shows| shows.to_bits()).collect();
        alike.entry(key).or_default().push(One { fault: &played.fault, common: common(played.fault.kind), shows });
    }
    let commonest = |mut ones: Vec<One<'a>>| {
        ones.sort_by(|one, other| other.common.total_cmp(&one.common));
        let mut kinds = BTreeMap::new();
        ones.retain(|one| {
            let count = kinds.entry(one.fault.kind).or_insert(0);
            *count += 1;
            *count <= MOST_OF_KIND
        });
        ones.truncate(MOST_ALIKE);
        ones
    };
    alike.into_values().flat_map(commonest).collect()
}
