//! The location counter: the address at which the next byte lies when the program runs, and at which it is put before.

use crate::source::Span;

/// One past the highest address.
pub(super) const TOP: u32 = 0x1_0000;

/// The place at which the program ran past the top of memory.
#[derive(Clone, Copy, Debug)]
pub(super) struct PastTop {
    /// The statement whose bytes lie above the top.
    pub span: Span,
    /// Where the part of the program begins that ran past.
    pub start: u32,
    /// The location of the statement.
    pub from: u32,
    /// How many bytes lie above the top in all; no more are counted than a number of 32 bits holds.
    pub over: u32,
}

/// The location counter.
#[derive(Debug, Default)]
pub(super) struct Location {
    /// The run address of the next byte; [`TOP`] behind the last that there is.
    pub at: u32,
    /// What to add to it to get the address of deposit.
    pub shift: i32,
    /// Where the last ORG put it.
    origin: u32,
    /// Where it ran past the top of memory, if it did.
    pub past_top: Option<PastTop>,
}

impl Location {
    /// What `$` is.
    #[inline]
    pub const fn here(&self) -> u16 {
        self.at as u16
    }

    /// ORG: goes on at an address.
    pub fn set(&mut self, address: u16) {
        self.at = address.into();
        self.origin = self.at;
    }

    /// RUNAT: what follows lies here and runs at an address.
    pub fn run_at(&mut self, address: u16) {
        self.shift = self.shift.saturating_add(self.at as i32 - i32::from(address));
        self.at = address.into();
    }

    /// ENDRUN: goes on where the bytes are put, with the shift of before.
    pub fn end_run(&mut self, outer_shift: i32) {
        let location = i64::from(self.at) + i64::from(self.shift) - i64::from(outer_shift);
        // Only an ORG to an address below the region leads out of memory, and the bytes there wrap round.
        self.at = if location == i64::from(TOP) { TOP } else { location.rem_euclid(TOP.into()) as u32 };
        self.shift = outer_shift;
    }

    /// Moves on over the bytes of a statement.
    #[inline]
    pub fn advance(&mut self, span: Span, bytes: u32) {
        self.at += bytes;
        let deposit = i64::from(self.at) + i64::from(self.shift);
        let end = deposit.max(self.at.into());
        if end > TOP.into() {
            let over = (end - i64::from(TOP)) as u32;
            let from = self.at - bytes;
            let past = self.past_top.get_or_insert(PastTop { span, start: self.origin, from, over: 0 });
            past.over = past.over.saturating_add(over);
            self.at %= TOP;
        } else if let Some(past) = &mut self.past_top {
            past.over = past.over.saturating_add(bytes);
        }
    }
}
