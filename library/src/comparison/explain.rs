//! Why two sides differ: every fault and pair of faults is tried, and the one with which the second side is told in the
//! fewest bits comes first. What a fault leaves open, and each byte that it does not explain, costs bits.

use super::candidates::candidates;
use super::change::Change;
use super::reason::Reason;
use super::search::{Hypothesis, Search};
use super::set::Set;
use super::sides::{Side, window};
use super::under::under;
use crate::image::Image;
use crate::notation::Address;

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

/// Bytes up to which reasons that leave a choice are looked for under every fault; above, only under the best.
const SMALL: usize = 8192;

/// The best faults.
const BEST: usize = 12;

/// Explains why the second image differs from the first.
pub fn explain(first: &Image, second: &Image) -> Explanation {
    let window = window(first, second);
    let (one, other) = (filled(Side::new(first, window.clone()), second), Side::new(second, window));
    let addresses = other.addresses();
    let differing: Set = addresses.iter().copied().filter(|at| one.get(*at) != other.get(*at)).collect();
    if differing.is_empty() {
        return Explanation::default();
    }
    let search = Search::new(&one, &other, addresses, differing);
    ranked(&search, &reasons(&search))
}

/// What is better than no reason at all, the best first.
fn reasons(search: &Search) -> Vec<Hypothesis> {
    let (changes, nothing) = (candidates(search.first, search.second), search.nothing());
    let mut found: Vec<Hypothesis> = changes.iter().map(|change| search.changed(&[*change])).collect();
    let mut singles: Vec<(f64, Change)> =
        found.iter().zip(&changes).map(|(hypothesis, change)| (hypothesis.bits, *change)).collect();
    singles.sort_by(|(one, _), (other, _)| one.total_cmp(other));
    found.extend(under(search, None, true));
    found.retain(|hypothesis| hypothesis.bits < nothing);
    let best = found.iter().map(|hypothesis| hypothesis.bits).fold(nothing, f64::min);
    // A reason that leaves next to nothing open needs no second one.
    if best > 3.0 * search.price() {
        let small = search.addresses.len() <= SMALL;
        for (_, change) in singles.iter().take(if small { singles.len() } else { BEST }) {
            found.extend(under(search, Some(*change), true));
        }
        found.extend(search.pairs(&changes));
        found.retain(|hypothesis| hypothesis.bits < nothing);
    }
    // What is told shorter, and explains no byte that differs, is no reason for them.
    found.retain(|hypothesis| hypothesis.right.common(&search.differing) > 0);
    found.sort_by(|one, other| one.bits.total_cmp(&other.bits));
    found
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

/// What the reasons explain, the best first.
fn ranked(search: &Search, found: &[Hypothesis]) -> Explanation {
    let differing = &search.differing;
    let mut explanation = Explanation { differing: differing.len(), ..Explanation::default() };
    let Some(best) = found.first() else {
        explanation.unexplained = differing.iter().map(|at| Address(at as u16)).collect();
        return explanation;
    };
    let same = search.addresses.len() - differing.len();
    let open = under(search, None, true);
    let alone = |reason: &Reason| {
        let right = match reason {
            Reason::Change(change) => search.changed(&[*change]).right,
            _ => match open.iter().find(|other| other.reasons == [reason.clone()]) {
                Some(single) => single.right.clone(),
                None => return (0, 0),
            },
        };
        let explains = right.common(differing);
        (explains, same + explains - right.len())
    };
    for (rank, hypothesis) in found.iter().enumerate() {
        for reason in &hypothesis.reasons {
            let known = explanation.reasons.iter().any(|other| other.reason == *reason);
            let single = hypothesis.reasons.len() == 1;
            if known || explanation.reasons.len() >= MOST || rank > 0 && !single {
                continue;
            }
            let (explains, against) = alone(reason);
            if rank == 0 || explains > 0 {
                explanation.reasons.push(Ranked { reason: reason.clone(), explains, against, best: rank == 0 });
            }
        }
    }
    // Of those that belong together, the one that explains most by itself is told first.
    let together = explanation.reasons.iter().take_while(|it| it.best).count();
    explanation.reasons[..together].sort_by_key(|it| std::cmp::Reverse(it.explains));
    explanation.together = best.right.common(differing);
    explanation.unexplained =
        differing.iter().filter(|at| !best.right.contains(*at)).map(|at| Address(at as u16)).collect();
    explanation.against = same + explanation.together - best.right.len();
    explanation
}
