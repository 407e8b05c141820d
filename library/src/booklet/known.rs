//! What the booklet has of what was played before it is bound.

use crate::diagnosis::Failure;
use crate::limits::Limits;

/// What else was played of a start, as far as it was.
#[derive(Clone, Debug, Default)]
pub struct Known {
    /// What its failures look like, the likeliest first.
    pub failures: Option<Vec<Failure>>,
    /// How far each thing may go.
    pub limits: Option<Limits>,
}
