//! Bits that were decided, and which of them are characters.

use super::modulation::Tone;

/// A bit that was decided: where it starts and what it sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bit {
    pub at: usize,
    pub tone: Tone,
}

/// The bits of a window in order.
pub(super) struct Bits {
    /// Every bit of characters and pauses.
    pub list: Vec<Bit>,
    /// For every character, the place of its start bit in the list; the rest of it follows.
    pub characters: Vec<usize>,
}

impl Bits {
    /// The same bits where samples lie `step` times closer.
    pub(super) fn stretched(mut self, step: usize) -> Bits {
        self.list.iter_mut().for_each(|bit| bit.at *= step);
        self
    }
}
