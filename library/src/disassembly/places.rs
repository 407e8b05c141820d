//! Where bytes lie and where they run: stretches that a program moves before it goes there.

use std::ops::Range;

use super::bytes::Bytes;

/// A stretch that runs elsewhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Where it lies.
    pub from: Range<usize>,
    /// Where its first byte runs.
    pub to: u16,
}

impl Moved {
    fn runs_at(&self, at: usize) -> bool {
        let to = usize::from(self.to);
        (to..to + self.from.len()).contains(&at)
    }
}

/// The stretches of an image that run elsewhere, none over another.
#[derive(Clone, Debug, Default)]
pub struct Places {
    moved: Vec<Moved>,
}

impl Places {
    /// Adds a stretch, cut to what is not moved yet; whether anything was added.
    pub fn add(&mut self, mut stretch: Moved) -> bool {
        for other in &self.moved {
            if other.from.contains(&stretch.from.start) {
                let cut = other.from.end - stretch.from.start;
                stretch = Moved { from: other.from.end..stretch.from.end, to: stretch.to.wrapping_add(cut as u16) };
            } else if stretch.from.contains(&other.from.start) {
                stretch.from.end = other.from.start;
            }
        }
        let fits = stretch.from.start < stretch.from.end && usize::from(stretch.to) + stretch.from.len() <= 0x1_0000;
        if fits {
            self.moved.push(stretch);
            self.moved.sort_by_key(|moved| moved.from.start);
        }
        fits
    }

    /// The moved stretches by rising address.
    pub fn moved(&self) -> &[Moved] {
        &self.moved
    }

    /// The moved stretch in which an address lies.
    pub fn of(&self, at: usize) -> Option<&Moved> {
        self.moved.iter().find(|moved| moved.from.contains(&at))
    }

    /// The address at which the byte that lies here runs.
    pub fn runs_at(&self, at: usize) -> u16 {
        match self.of(at) {
            Some(moved) => moved.to.wrapping_add((at - moved.from.start) as u16),
            None => at as u16,
        }
    }

    /// Where the byte lies that code at `from` means by an address; none if it is not among the bytes.
    pub fn lies_at(&self, bytes: &Bytes, from: usize, address: u16) -> Option<usize> {
        let address = usize::from(address);
        let lies = |moved: &Moved| moved.from.start + address - usize::from(moved.to);
        if let Some(own) = self.of(from).filter(|own| own.runs_at(address)) {
            return Some(lies(own));
        }
        // What lies there unmoved runs there, unless it runs elsewhere itself.
        if bytes.has(address) && self.of(address).is_none() {
            return Some(address);
        }
        let other = self.moved.iter().find(|moved| moved.runs_at(address)).map(lies);
        other.or_else(|| bytes.has(address).then_some(address))
    }
}
