//! Which sectors of a disk were read.

use std::collections::HashSet;

/// The sectors from which bytes were taken, each by its track and its place on it.
#[derive(Clone, Debug, Default)]
pub struct SectorLog {
    /// Which hole, counted on from turn to turn, the last byte was taken behind.
    passing: Option<u64>,
    count: u64,
    which: HashSet<(usize, usize)>,
    last: Option<(usize, usize)>,
}

impl SectorLog {
    /// A byte is taken while a sector passes, which counts once as long as no other has passed.
    pub(super) fn passes(&mut self, passing: u64, sector: (usize, usize)) {
        if self.passing.replace(passing) != Some(passing) {
            self.begins(sector);
        }
    }

    /// A sector begins to be read.
    pub(super) fn begins(&mut self, sector: (usize, usize)) {
        self.count += 1;
        self.last = Some(sector);
        self.which.insert(sector);
    }

    /// How many sectors were read, however often.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// The track and the place of the one that was read last.
    pub fn last(&self) -> Option<(usize, usize)> {
        self.last
    }

    /// How many of them had been read before.
    pub fn again(&self) -> u64 {
        self.count - self.which.len() as u64
    }
}
