//! Why two sides differ: every fault and pair of faults is tried, and the one with which the second side is told in the
//! fewest bits comes first. What a fault leaves open, and each byte that it does not explain, costs bits.

use std::collections::{BTreeSet, HashMap};

use super::candidates::candidates;
use super::change::Change;
use super::estimate::{Estimate, Miss, moved, one_way, price};
use super::sides::{Side, window};
use super::version::{Edit, version};
use crate::image::Image;
use crate::notation::Address;

/// A reason for differences.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Reason {
    /// A fault of wiring or place.
    Change(Change),
    /// Bits that went from 0 to 1 only (`true`), or from 1 to 0 only.
    OneWay(bool),
    /// The addresses in the program are higher by this: it was made for another place.
    Moved(u16),
    /// Another version of the source.
    Version(Vec<Edit>),
}

/// A reason with what it explains.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ranked {
    /// The reason.
    pub reason: Reason,
    /// How many of the differing bytes it explains by itself.
    pub explains: usize,
    /// How many bytes are the same that would differ if it were the reason, and the only one.
    pub against: usize,
    /// Whether it belongs to the best explanation, together with the others that do.
    pub best: bool,
}

/// What was found of two sides.
#[derive(Clone, Debug, Default)]
pub struct Explanation {
    /// How many bytes of the second side differ, or are not on the first.
    pub differing: usize,
    /// The reasons, the likeliest first.
    pub reasons: Vec<Ranked>,
    /// How many of the differing bytes the best reasons explain together.
    pub together: usize,
    /// The differing bytes that they do not explain.
    pub unexplained: Vec<Address>,
    /// Bytes that are the same although the best reasons say otherwise.
    pub against: usize,
}

/// The most reasons that are told.
const MOST: usize = 5;

/// Bytes that are looked at to choose the pairs that are looked at whole.
const SAMPLE: usize = 256;

/// Pairs that are looked at whole.
const PAIRS: usize = 48;

/// Bytes up to which another version is looked for under every fault; above, only under the best.
const SMALL: usize = 8192;

/// A set of reasons with its price.
#[derive(Clone, Debug)]
struct Hypothesis {
    reasons: Vec<Reason>,
    bits: f64,
    /// The addresses of the second side that are as it says.
    right: BTreeSet<usize>,
}

struct Search<'a> {
    first: &'a Side,
    second: &'a Side,
    addresses: Vec<usize>,
    differing: BTreeSet<usize>,
    found: Vec<Hypothesis>,
}

/// Explains why the second image differs from the first.
pub fn explain(first: &Image, second: &Image) -> Explanation {
    let window = window(first, second);
    let (one, other) = (filled(Side::new(first, window.clone()), second), Side::new(second, window));
    let addresses = other.addresses();
    let differing: BTreeSet<usize> = addresses.iter().copied().filter(|at| one.get(*at) != other.get(*at)).collect();
    if differing.is_empty() {
        return Explanation::default();
    }
    let mut search = Search { first: &one, second: &other, addresses, differing, found: Vec::new() };
    search.run();
    search.ranked()
}

/// What the first side lacks of the block in which it lies is taken as erased, if the second side has one byte nearly all
/// over there.
fn filled(mut first: Side, second: &Image) -> Side {
    let lacking: Vec<(usize, u8)> = first
        .window()
        .filter(|at| first.get(*at).is_none())
        .filter_map(|at| Some((at, second.byte(Address(at as u16))?)))
        .collect();
    let ones = lacking.iter().map(|(_, byte)| byte.count_ones() as usize).sum::<usize>();
    let erased = if ones >= lacking.len() * 4 { 0xFF } else { 0 };
    let mut counts = [0usize; 256];
    lacking.iter().for_each(|(_, byte)| counts[usize::from(*byte)] += 1);
    let uniform = counts.iter().max().is_some_and(|most| most * 10 >= lacking.len() * 6);
    let overlap = first.addresses().iter().any(|at| second.byte(Address(*at as u16)).is_some());
    if uniform && overlap {
        lacking.iter().for_each(|(at, _)| first.put(*at, erased));
    }
    first
}

impl Search<'_> {
    fn run(&mut self) {
        let changes = candidates(self.first, self.second);
        let nothing = self.differing.len() as f64 * self.price();
        let mut singles: Vec<(f64, Change)> = Vec::new();
        for &change in &changes {
            let hypothesis = self.changed(&[change]);
            singles.push((hypothesis.bits, change));
            self.found.push(hypothesis);
        }
        singles.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        self.estimated(None, true);
        let best = self.best().min(nothing);
        // A reason that leaves next to nothing open needs no second one.
        if best > 3.0 * self.price() {
            for (rank, (_, change)) in singles.iter().enumerate() {
                self.estimated(Some(*change), self.addresses.len() <= SMALL || rank < 8);
            }
            self.pairs(&changes);
        }
        self.found.retain(|hypothesis| hypothesis.bits < nothing);
        self.found.sort_by(|one, other| one.bits.total_cmp(&other.bits));
    }

    fn price(&self) -> f64 {
        price(self.addresses.len())
    }

    fn best(&self) -> f64 {
        self.found.iter().map(|hypothesis| hypothesis.bits).fold(f64::INFINITY, f64::min)
    }

    /// The byte that changes make at an address, the first change nearest to the part.
    fn predicted(&self, changes: &[Change], at: usize) -> Option<u8> {
        let lies = changes.iter().rev().try_fold(at, |at, change| change.address(at))?;
        let byte = self.first.get(lies)?;
        Some(changes.iter().fold(byte, |byte, change| change.byte(byte)))
    }

    /// What changes alone explain.
    fn changed(&self, changes: &[Change]) -> Hypothesis {
        let (mut right, mut unknown, mut wrong) = (BTreeSet::new(), Vec::new(), 0);
        for &at in &self.addresses {
            match self.predicted(changes, at) {
                None => unknown.push(at),
                Some(byte) if Some(byte) == self.second.get(at) => _ = right.insert(at),
                Some(_) => wrong += 1,
            }
        }
        let mut bits = changes.iter().map(|change| change.bits()).sum::<f64>() + f64::from(wrong) * self.price();
        bits += self.price_of_elsewhere(&unknown, &mut right);
        Hypothesis { reasons: changes.iter().map(|change| Reason::Change(*change)).collect(), bits, right }
    }

    /// What comes from where the first side has nothing: one byte all over, or anything at all.
    fn price_of_elsewhere(&self, unknown: &[usize], right: &mut BTreeSet<usize>) -> f64 {
        let same = unknown.windows(2).all(|pair| self.second.get(pair[0]) == self.second.get(pair[1]));
        if same {
            right.extend(unknown);
            return if unknown.is_empty() { 0.0 } else { 8.0 };
        }
        8.0 * unknown.len() as f64
    }

    /// Pairs of changes: all on a sample, and the best of them whole.
    fn pairs(&mut self, changes: &[Change]) {
        let step = (self.addresses.len() / SAMPLE).max(1);
        let sample: Vec<usize> = self.addresses.iter().copied().step_by(step).collect();
        let found: Vec<Option<u8>> = sample.iter().map(|at| self.second.get(*at)).collect();
        let scale = self.addresses.len() as f64 / sample.len() as f64 * self.price();
        let most = sample.iter().filter(|at| self.differing.contains(at)).count();
        let maps: Vec<(Change, Vec<Option<usize>>, [u8; 256])> = changes
            .iter()
            .map(|change| {
                let bytes = std::array::from_fn(|byte| change.byte(byte as u8));
                (*change, sample.iter().map(|at| change.address(*at)).collect(), bytes)
            })
            .collect();
        let mut judged: Vec<(f64, Change, Change)> = Vec::new();
        for &one in changes {
            let inner = self.after(one);
            for (other, places, bytes) in maps.iter().filter(|(other, ..)| *other != one) {
                let mut wrong = 0;
                for (place, found) in places.iter().zip(&found) {
                    let byte = place.and_then(|at| inner.get(at)).map(|byte| bytes[usize::from(byte)]);
                    wrong += usize::from(byte != *found && byte.is_some());
                    if wrong > most {
                        break;
                    }
                }
                if wrong <= most {
                    judged.push((wrong as f64 * scale + one.bits() + other.bits(), one, *other));
                }
            }
        }
        judged.sort_by(|(one, ..), (other, ..)| one.total_cmp(other));
        for (_, one, other) in judged.into_iter().take(PAIRS) {
            self.found.push(self.changed(&[one, other]));
        }
    }

    /// The first side after a change.
    fn after(&self, change: Change) -> Side {
        let mut side = Side::empty(self.first.window());
        for at in side.window() {
            if let Some(byte) = change.address(at).and_then(|at| self.first.get(at)) {
                side.put(at, change.byte(byte));
            }
        }
        side
    }

    /// The second side before a change, with where each of its bytes is now.
    fn before(&self, change: Change) -> (Side, HashMap<usize, usize>) {
        let window = self.second.window();
        let mut side = Side::empty(window.clone());
        let mut now = HashMap::new();
        for &at in &self.addresses {
            if let (Some(lay), Some(byte)) = (change.address(at), self.second.get(at)) {
                // A change of data that can be undone is undone by itself.
                side.put(lay, change.byte(byte));
                if window.contains(&lay) {
                    now.insert(lay, at);
                }
            }
        }
        (side, now)
    }

    /// Reasons that leave a choice, alone or under a change.
    fn estimated(&mut self, change: Option<Change>, versions: bool) {
        let (first, (second, now)) = match change {
            None => (self.first.clone(), (self.second.clone(), HashMap::new())),
            Some(change) if change.can_be_undone() => (self.first.clone(), self.before(change)),
            Some(change) => (self.after(change), (self.second.clone(), HashMap::new())),
        };
        let back = |at: usize| now.get(&at).copied().unwrap_or(at);
        // What comes from where the first side has nothing says nothing of these reasons.
        let (addresses, mut unknown): (Vec<usize>, Vec<usize>) =
            second.addresses().into_iter().partition(|at| first.get(*at).is_some());
        let mut elsewhere = BTreeSet::new();
        unknown.iter_mut().for_each(|at| *at = back(*at));
        let lost = self.addresses.len() - addresses.len() - unknown.len();
        let misses: Vec<Miss> = addresses
            .iter()
            .filter_map(|at| Some(Miss { at: *at, wanted: first.get(*at), found: second.get(*at)? }))
            .filter(|miss| miss.wanted != Some(miss.found))
            .collect();
        let edges = self.price_of_elsewhere(&unknown, &mut elsewhere);
        let missed: BTreeSet<usize> = misses.iter().map(|miss| miss.at).collect();
        let base = change.map_or(0.0, Change::bits) + lost as f64 * 8.0;
        let count = self.addresses.len();
        let keep = |search: &mut Self, own: Vec<Reason>, estimate: Estimate, right: BTreeSet<usize>| {
            let reasons: Vec<Reason> = match change {
                Some(change) if change.can_be_undone() => own.into_iter().chain([Reason::Change(change)]).collect(),
                Some(change) => [Reason::Change(change)].into_iter().chain(own).collect(),
                None => own,
            };
            let right = right.into_iter().map(back).chain(elsewhere.iter().copied()).collect();
            let edges = if matches!(reasons[..], [Reason::Version(_), ..]) { 0.0 } else { edges };
            search.found.push(Hypothesis { reasons, bits: base + edges + estimate.bits, right });
        };
        let same: BTreeSet<usize> = addresses.iter().copied().filter(|at| !missed.contains(at)).collect();
        let with = |estimate: &Estimate| same.iter().chain(&estimate.explained).copied().collect::<BTreeSet<_>>();
        for up in [false, true] {
            let estimate = one_way(&misses, count, up);
            let right = with(&estimate);
            keep(self, vec![Reason::OneWay(up)], estimate, right);
        }
        if let Some((by, estimate)) = moved(&first, &misses, &second, count) {
            let right = with(&estimate);
            let (both, more) = self.and_one_way(&misses, &right, &estimate);
            keep(self, vec![Reason::Moved(by)], estimate, right);
            if change.is_none() {
                for (up, estimate, right) in
                    both.into_iter().zip(more).map(|((up, estimate), right)| (up, estimate, right))
                {
                    keep(self, vec![Reason::Moved(by), Reason::OneWay(up)], estimate, right);
                }
            }
        }
        let shifts = matches!(change, Some(Change::Shifted(_)));
        if versions
            && !shifts
            && let Some((edits, estimate)) = version(&first, &second)
        {
            let right: BTreeSet<usize> = estimate.explained.iter().copied().collect();
            keep(self, vec![Reason::Version(edits)], estimate, right);
        }
    }

    /// What bits that went one way explain of what another reason leaves.
    fn and_one_way(
        &self,
        misses: &[Miss],
        right: &BTreeSet<usize>,
        estimate: &Estimate,
    ) -> (Vec<(bool, Estimate)>, Vec<BTreeSet<usize>>) {
        let rest: Vec<Miss> = misses.iter().copied().filter(|miss| !right.contains(&miss.at)).collect();
        let count = self.addresses.len();
        let left = rest.len() as f64 * price(count);
        let (mut estimates, mut sets) = (Vec::new(), Vec::new());
        for up in [false, true] {
            let more = one_way(&rest, count, up);
            sets.push(right.iter().chain(&more.explained).copied().collect());
            estimates.push((up, Estimate { bits: estimate.bits - left + more.bits, explained: Vec::new() }));
        }
        (estimates, sets)
    }

    fn ranked(&self) -> Explanation {
        let mut explanation = Explanation { differing: self.differing.len(), ..Explanation::default() };
        let Some(best) = self.found.first() else {
            explanation.unexplained = self.differing.iter().map(|at| Address(*at as u16)).collect();
            return explanation;
        };
        let alone = |reason: &Reason| {
            let single = self.found.iter().find(|other| other.reasons == [reason.clone()]);
            single.map_or((0, 0), |single| {
                let right = single.right.intersection(&self.differing).count();
                let same = self.addresses.len() - self.differing.len();
                (right, same + right - single.right.len())
            })
        };
        for (rank, hypothesis) in self.found.iter().enumerate() {
            for reason in &hypothesis.reasons {
                let known = explanation.reasons.iter().any(|other| other.reason == *reason);
                let told = rank == 0 || hypothesis.reasons.len() == 1 && alone(reason).0 > 0;
                if !known && told && explanation.reasons.len() < MOST {
                    let (explains, against) = alone(reason);
                    let ranked = Ranked { reason: reason.clone(), explains, against, best: rank == 0 };
                    explanation.reasons.push(ranked);
                }
            }
        }
        explanation.together = best.right.intersection(&self.differing).count();
        explanation.unexplained = self.differing.difference(&best.right).map(|at| Address(*at as u16)).collect();
        let same = self.addresses.iter().filter(|at| !self.differing.contains(at));
        explanation.against = same.filter(|at| !best.right.contains(at)).count();
        explanation
    }
}
