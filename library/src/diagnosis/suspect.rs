//! Faults under suspicion.

use crate::faults::{Fault, Outcome};

/// A fault, or two at once, that explains what is seen, or cannot be ruled out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suspect<'a> {
    /// The fault, or the two.
    pub faults: &'a [Fault],
    /// What becomes of it.
    pub outcome: &'a Outcome,
    /// How much speaks for it, beside others: an order, and no chance.
    pub weight: f64,
    /// Whether its play shows all that is seen; else it leaves some of that open, as one does that runs into noise.
    pub explains: bool,
}
