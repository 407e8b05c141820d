//! Addresses as a set of bits.

use crate::image::MEMORY;

/// A set of addresses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Set(Vec<u64>);

impl Default for Set {
    fn default() -> Set {
        Set(vec![0; MEMORY / 64])
    }
}

impl Set {
    /// Adds an address.
    pub fn insert(&mut self, at: usize) {
        self.0[at / 64] |= 1 << (at % 64);
    }

    /// Whether an address is in it.
    pub fn contains(&self, at: usize) -> bool {
        self.0.get(at / 64).is_some_and(|word| word >> (at % 64) & 1 == 1)
    }

    /// How many addresses it has.
    pub fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    /// Whether it has none.
    pub fn is_empty(&self) -> bool {
        self.0.iter().all(|word| *word == 0)
    }

    /// How many addresses both have.
    pub fn common(&self, other: &Set) -> usize {
        self.0.iter().zip(&other.0).map(|(one, other)| (one & other).count_ones() as usize).sum()
    }

    /// The addresses, rising.
    pub fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        (0..MEMORY).filter(|at| self.contains(*at))
    }
}

impl Extend<usize> for Set {
    fn extend<I: IntoIterator<Item = usize>>(&mut self, addresses: I) {
        addresses.into_iter().for_each(|at| self.insert(at));
    }
}

impl FromIterator<usize> for Set {
    fn from_iter<I: IntoIterator<Item = usize>>(addresses: I) -> Set {
        let mut set = Set::default();
        set.extend(addresses);
        set
    }
}
