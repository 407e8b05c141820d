//! The two sides, and what faults and pairs of faults make of them, each with its price.

use super::change::Change;
use super::estimate::price;
use super::reason::Reason;
use super::set::Set;
use super::sides::Side;

/// Bytes that are looked at to choose the pairs that are looked at whole.
const SAMPLE: usize = 256;

/// Pairs that are looked at whole.
const PAIRS: usize = 48;

/// A set of reasons with its price.
#[derive(Clone, Debug)]
pub struct Hypothesis {
    /// The reasons, the first nearest to the part.
    pub reasons: Vec<Reason>,
    /// Its price, in bits.
    pub bits: f64,
    /// The addresses of the second side that are as it says.
    pub right: Set,
}

/// The two sides, and where they differ.
pub struct Search<'a> {
    /// What ought to be.
    pub first: &'a Side,
    /// What is.
    pub second: &'a Side,
    /// The addresses of the second side.
    pub addresses: Vec<usize>,
    /// Those that are other on the first side, or not there.
    pub differing: Set,
}

impl<'a> Search<'a> {
    /// A search that has not begun.
    pub fn new(first: &'a Side, second: &'a Side, addresses: Vec<usize>, differing: Set) -> Search<'a> {
        Search { first, second, addresses, differing }
    }

    /// The price without any reason: of each byte that differs, or of all bytes by themselves, as if the two had nothing in
    /// common.
    pub fn nothing(&self) -> f64 {
        (self.differing.len() as f64 * self.price()).min(8.0 * self.addresses.len() as f64)
    }

    /// The price of a byte that nothing explains.
    pub fn price(&self) -> f64 {
        price(self.addresses.len())
    }

    /// The byte that changes make at an address, the first change nearest to the part.
    fn predicted(&self, changes: &[Change], at: usize) -> Option<u8> {
        let lies = changes.iter().rev().try_fold(at, |at, change| change.address(at))?;
        let byte = self.first.get(lies)?;
        Some(changes.iter().fold(byte, |byte, change| change.byte(byte)))
    }

    /// What changes alone explain.
    pub fn changed(&self, changes: &[Change]) -> Hypothesis {
        let (mut right, mut unknown, mut wrong) = (Set::default(), Vec::new(), 0);
        for &at in &self.addresses {
            match self.predicted(changes, at) {
                None => unknown.push(at),
                Some(byte) if Some(byte) == self.second.get(at) => right.insert(at),
                Some(_) => wrong += 1,
            }
        }
        let mut bits = changes.iter().map(|change| change.bits()).sum::<f64>() + f64::from(wrong) * self.price();
        bits += self.price_of_elsewhere(&unknown, &mut right);
        Hypothesis { reasons: changes.iter().map(|change| Reason::Change(*change)).collect(), bits, right }
    }

    /// What comes from where the first side has nothing: one byte all over, or anything at all.
    pub fn price_of_elsewhere(&self, unknown: &[usize], right: &mut Set) -> f64 {
        let same = unknown.windows(2).all(|pair| self.second.get(pair[0]) == self.second.get(pair[1]));
        if same {
            right.extend(unknown.iter().copied());
            return if unknown.is_empty() { 0.0 } else { 8.0 };
        }
        8.0 * unknown.len() as f64
    }

    /// Pairs of changes: all on a sample, and the best of them whole.
    pub fn pairs(&self, changes: &[Change]) -> Vec<Hypothesis> {
        let step = (self.addresses.len() / SAMPLE).max(1);
        let sample: Vec<usize> = self.addresses.iter().copied().step_by(step).collect();
        let found: Vec<Option<u8>> = sample.iter().map(|at| self.second.get(*at)).collect();
        let scale = self.addresses.len() as f64 / sample.len() as f64 * self.price();
        let most = sample.iter().filter(|at| self.differing.contains(**at)).count();
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
        judged.into_iter().take(PAIRS).map(|(_, one, other)| self.changed(&[one, other])).collect()
    }

    /// The first side after a change.
    pub fn after(&self, change: Change) -> Side {
        let mut side = Side::empty(self.first.window());
        for at in side.window() {
            if let Some(byte) = change.address(at).and_then(|at| self.first.get(at)) {
                side.put(at, change.byte(byte));
            }
        }
        side
    }

    /// The second side before a change, with where each of its bytes is now.
    pub fn before(&self, change: Change) -> (Side, Vec<usize>) {
        let window = self.second.window();
        let (mut side, mut now) = (Side::empty(window.clone()), vec![0; window.len()]);
        for &at in &self.addresses {
            if let (Some(lay), Some(byte)) = (change.address(at), self.second.get(at)) {
                side.put(lay, change.byte_before(byte));
                if window.contains(&lay) {
                    now[lay - window.start] = at;
                }
            }
        }
        (side, now)
    }
}
