//! Reasons that leave a choice, alone or under a fault that is undone first.

use super::change::Change;
use super::estimate::{Estimate, Miss, moved, one_way, price};
use super::reason::Reason;
use super::search::{Hypothesis, Search};
use super::set::Set;
use super::sides::Side;
use super::version::version;

/// The two sides without the fault.
struct Under<'a> {
    search: &'a Search<'a>,
    change: Option<Change>,
    first: Side,
    second: Side,
    /// Where each byte of the second side is now, by its place in the window.
    now: Vec<usize>,
    /// Bytes that are as they ought to be.
    same: Vec<usize>,
    misses: Vec<Miss>,
    /// The price of the fault, and of what it lost.
    bits: f64,
    /// The price of bytes that come from where the first side has nothing, and those that are told by it.
    edges: f64,
    elsewhere: Set,
}

/// What reasons that leave a choice explain under a fault.
pub fn under(search: &Search, change: Option<Change>, versions: bool) -> Vec<Hypothesis> {
    let under = Under::new(search, change);
    let mut found: Vec<Hypothesis> =
        [false, true].into_iter().map(|up| under.one_way(Vec::new(), &under.misses, 0.0, up)).collect();
    found.extend(under.moved());
    // A shift is an edit at the beginning.
    if versions
        && !matches!(change, Some(Change::Shifted(_)))
        && let Some((edits, estimate)) = version(&under.first, &under.second)
    {
        let mut hypothesis = under.hypothesis(vec![Reason::Version(edits)], estimate.bits, estimate.explained);
        hypothesis.bits -= under.edges;
        found.push(hypothesis);
    }
    found
}

impl<'a> Under<'a> {
    fn new(search: &'a Search<'a>, change: Option<Change>) -> Under<'a> {
        let (first, second, now) = match change {
            Some(change) if change.can_be_undone() => {
                let (second, now) = search.before(change);
                (search.first.clone(), second, now)
            }
            _ => {
                let first = change.map_or_else(|| search.first.clone(), |change| search.after(change));
                (first, search.second.clone(), search.second.window().collect())
            }
        };
        let (mut same, mut misses, mut unknown) = (Vec::new(), Vec::new(), Vec::new());
        let start = second.window().start;
        for at in second.addresses() {
            let Some(found) = second.get(at) else { continue };
            match first.get(at) {
                // It says nothing of these reasons.
                None => unknown.push(now[at - start]),
                Some(wanted) if wanted == found => same.push(at),
                wanted => misses.push(Miss { at, wanted, found }),
            }
        }
        let lost = search.addresses.len() - same.len() - misses.len() - unknown.len();
        let mut elsewhere = Set::default();
        let edges = search.price_of_elsewhere(&unknown, &mut elsewhere);
        let bits = change.map_or(0.0, Change::bits) + lost as f64 * 8.0;
        Under { search, change, first, second, now, same, misses, bits, edges, elsewhere }
    }

    fn count(&self) -> usize {
        self.search.addresses.len()
    }

    /// Own reasons and the fault, in the order in which they happened, with the addresses that are right.
    fn hypothesis(&self, own: Vec<Reason>, bits: f64, right: Vec<usize>) -> Hypothesis {
        let start = self.second.window().start;
        let reasons: Vec<Reason> = match self.change {
            Some(change) if change.can_be_undone() => own.into_iter().chain([Reason::Change(change)]).collect(),
            Some(change) => [Reason::Change(change)].into_iter().chain(own).collect(),
            None => own,
        };
        let mut all = self.elsewhere.clone();
        all.extend(right.into_iter().map(|at| self.now[at - start]));
        Hypothesis { reasons, bits: self.bits + self.edges + bits, right: all }
    }

    /// Bits that went one way, of what other reasons of a price leave.
    fn one_way(&self, mut own: Vec<Reason>, misses: &[Miss], bits: f64, up: bool) -> Hypothesis {
        let estimate = one_way(misses, self.count(), up);
        own.push(Reason::OneWay(up));
        let left: Set = misses.iter().map(|miss| miss.at).collect();
        let known = self.misses.iter().map(|miss| miss.at).filter(|at| !left.contains(*at));
        let right = self.same.iter().copied().chain(known).chain(estimate.explained).collect();
        self.hypothesis(own, bits + estimate.bits, right)
    }

    /// A program that was made for another place, and bits that went one way besides.
    fn moved(&self) -> Vec<Hypothesis> {
        let Some((by, Estimate { bits, explained })) = moved(&self.first, &self.misses, &self.second, self.count())
        else {
            return Vec::new();
        };
        let known: Set = explained.iter().copied().collect();
        let rest: Vec<Miss> = self.misses.iter().copied().filter(|miss| !known.contains(miss.at)).collect();
        let right = self.same.iter().copied().chain(explained).collect();
        let mut found = vec![self.hypothesis(vec![Reason::Moved(by)], bits, right)];
        if self.change.is_none() {
            let alone = bits - rest.len() as f64 * price(self.count());
            let both = |up| self.one_way(vec![Reason::Moved(by)], &rest, alone, up);
            found.extend([false, true].map(both));
        }
        found
    }
}
