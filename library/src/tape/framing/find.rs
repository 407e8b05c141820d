//! What the scanner finds on a tape, run by run.

use std::ops::Range;

use super::part::Part;
use super::reading::Verdict;
use crate::record::Parsed;

/// A run of characters as the scanner found it.
pub(super) struct Find {
    /// Which characters.
    pub range: Range<usize>,
    /// What they are.
    pub what: What,
}

/// What a run of characters is.
pub(super) enum What {
    Filler,
    Noise,
    Block { part: Part, parsed: Option<Parsed>, verdict: Verdict },
}
