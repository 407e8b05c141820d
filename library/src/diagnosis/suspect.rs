//! A fault under suspicion.

use crate::faults::Played;

/// A fault that explains what is seen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suspect<'a> {
    /// The fault, with what becomes of it.
    pub played: &'a Played,
    /// How much speaks for it, beside others: an order, and no chance.
    pub weight: f64,
}
