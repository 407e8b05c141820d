//! The two sides of a comparison, flat, and where they differ.

use std::ops::Range;

use crate::image::{Image, MEMORY};
use crate::notation::Address;

/// Bytes of all addresses of one side.
#[derive(Clone)]
pub struct Side {
    bytes: Vec<u8>,
    there: Vec<bool>,
}

impl Side {
    /// The bytes of an image.
    pub fn new(image: &Image) -> Side {
        let mut side = Side::empty();
        for extent in image.extents() {
            for (at, byte) in extent.bytes.iter().enumerate() {
                side.put(extent.base.index() + at, *byte);
            }
        }
        side
    }

    /// No byte.
    pub fn empty() -> Side {
        Side { bytes: vec![0; MEMORY], there: vec![false; MEMORY] }
    }

    /// The byte at an address, if there is one.
    pub fn get(&self, at: usize) -> Option<u8> {
        (at < MEMORY && self.there[at]).then(|| self.bytes[at])
    }

    /// Sets the byte at an address.
    pub fn put(&mut self, at: usize, byte: u8) {
        (self.bytes[at], self.there[at]) = (byte, true);
    }

    /// The word at an address, low byte first.
    pub fn word(&self, at: usize) -> Option<u16> {
        Some(u16::from_le_bytes([self.get(at)?, self.get(at + 1)?]))
    }

    /// The addresses that have a byte, rising.
    pub fn addresses(&self) -> Vec<usize> {
        (0..MEMORY).filter(|at| self.there[*at]).collect()
    }

    /// The runs of addresses that have a byte.
    pub fn runs(&self) -> Vec<Range<usize>> {
        let mut runs: Vec<Range<usize>> = Vec::new();
        for at in self.addresses() {
            match runs.last_mut() {
                Some(run) if run.end == at => run.end += 1,
                _ => runs.push(at..at + 1),
            }
        }
        runs
    }
}

/// One byte that is not the same on both sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Difference {
    /// Where.
    pub address: Address,
    /// The byte of the first side.
    pub first: Option<u8>,
    /// The byte of the second side.
    pub second: Option<u8>,
}

/// Every byte that is not the same on both sides, or is on one only.
pub fn differences(first: &Image, second: &Image) -> Vec<Difference> {
    let both = (0..=u16::MAX).map(Address).map(|address| Difference {
        address,
        first: first.byte(address),
        second: second.byte(address),
    });
    both.filter(|difference| difference.first != difference.second).collect()
}
