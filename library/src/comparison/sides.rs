//! The two sides of a comparison, flat, and where they differ.

use std::ops::Range;

use crate::image::Image;
use crate::notation::Address;

/// Bytes of one side, within a window of addresses.
#[derive(Clone)]
pub struct Side {
    base: usize,
    cells: Vec<Option<u8>>,
}

impl Side {
    /// The bytes of an image that lie in a window.
    pub fn new(image: &Image, window: Range<usize>) -> Side {
        let mut side = Side::empty(window);
        for extent in image.extents() {
            for (at, byte) in extent.bytes.iter().enumerate() {
                side.put(extent.base.index() + at, *byte);
            }
        }
        side
    }

    /// No byte.
    pub fn empty(window: Range<usize>) -> Side {
        Side { base: window.start, cells: vec![None; window.len()] }
    }

    /// The window.
    pub fn window(&self) -> Range<usize> {
        self.base..self.base + self.cells.len()
    }

    /// The byte at an address, if there is one.
    pub fn get(&self, at: usize) -> Option<u8> {
        *self.cells.get(at.checked_sub(self.base)?)?
    }

    /// Sets the byte at an address; outside of the window nothing is kept.
    pub fn put(&mut self, at: usize, byte: u8) {
        if let Some(cell) = at.checked_sub(self.base).and_then(|at| self.cells.get_mut(at)) {
            *cell = Some(byte);
        }
    }

    /// The word at an address, low byte first.
    pub fn word(&self, at: usize) -> Option<u16> {
        Some(u16::from_le_bytes([self.get(at)?, self.get(at + 1)?]))
    }

    /// The addresses that have a byte, rising.
    pub fn addresses(&self) -> Vec<usize> {
        let there = self.cells.iter().enumerate().filter(|(_, cell)| cell.is_some());
        there.map(|(at, _)| self.base + at).collect()
    }

    /// The same with every byte changed.
    pub fn each(&self, change: impl Fn(u8) -> u8) -> Side {
        Side { base: self.base, cells: self.cells.iter().map(|cell| cell.map(&change)).collect() }
    }
}

/// The smallest block of a power of two, at a multiple of its size, that holds all bytes of both.
pub fn window(first: &Image, second: &Image) -> Range<usize> {
    let all = || first.extents().chain(second.extents());
    let low = all().map(|extent| extent.base.index()).min().unwrap_or_default();
    let high = all().map(|extent| extent.last().index()).max().unwrap_or_default();
    let mut size = 1;
    while low / size != high / size {
        size *= 2;
    }
    low / size * size..(low / size + 1) * size
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
