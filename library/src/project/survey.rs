//! What there is of a chain, whether it is right or not.

use std::sync::Arc;

use super::machine::Machine;
use super::plan::{Home, Plan};
use crate::assembler::Assembly;
use crate::source::{Diagnostics, SourceId, Span};

/// A chain as it was read.
pub struct Survey {
    /// The chain; it is there if all that is wrong is that programs do not fit.
    pub plan: Option<Plan>,
    /// The machine; it lacks what is wrong in its file.
    pub machine: Option<Machine>,
    /// Every source that could be read, as its stage is made from it, in the order of the stages.
    pub stages: Vec<Surveyed>,
    /// All that is wrong, and what is warned of.
    pub problems: Diagnostics,
}

/// A stage that is made from a source.
pub struct Surveyed {
    /// Its name.
    pub name: String,
    /// The text that it is assembled from.
    pub root: SourceId,
    /// Constants defined before the first line.
    pub definitions: Vec<(String, u16)>,
    /// Where the chain file defines each of them.
    pub defined_at: Vec<Span>,
    /// Where it comes from, if that could be found.
    pub home: Option<Home>,
    /// What the assembler made of it; its problems are among those of the chain.
    pub assembly: Arc<Assembly>,
}
