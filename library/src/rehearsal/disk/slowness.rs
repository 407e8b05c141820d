//! A program that takes a few T-states more than it does, for each byte or each sector that it reads.

use crate::isa::TStates;
use crate::rehearsal::Slower;

/// Byte cells without a byte that is taken, behind which a sector counts as read.
const AT_REST: u64 = 3;

/// By how much a program is slower, and where it is with its sector.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slowness {
    slower: Slower,
    cell: TStates,
    /// When the last byte was taken, of a sector for which the processor was not held yet.
    taken: Option<TStates>,
}

impl Slowness {
    /// `cell` is the time in which a byte passes.
    pub fn new(slower: Slower, cell: TStates) -> Slowness {
        Slowness { slower, cell, taken: None }
    }

    /// A byte is taken.
    pub fn takes(&mut self, at: TStates) {
        self.taken = Some(at);
    }

    /// How much longer a read takes that begins at a moment, of the port that gives the data or of another.
    pub fn at(&mut self, data: bool, at: TStates) -> TStates {
        if data {
            return TStates(self.slower.byte.into());
        }
        let is_behind = self.taken.is_some_and(|taken| at.0 > taken.0 + AT_REST * self.cell.0);
        if is_behind {
            self.taken = None;
            return TStates(self.slower.sector.into());
        }
        TStates(0)
    }
}
