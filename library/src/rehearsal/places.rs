//! Where an instruction stands in the sources.

use crate::notation::Address;
use crate::project::{Plan, Stage};
use crate::source::Span;

/// The source of the instruction at an address: that of the stage that runs, or of another that has it.
pub fn source_of(plan: &Plan, runs: &Stage, pc: Address) -> Option<Span> {
    let others = plan.stages.iter().filter(|stage| stage.code.is_some());
    std::iter::once(runs).chain(others).find_map(|stage| statement(stage, pc))
}

fn statement(stage: &Stage, pc: Address) -> Option<Span> {
    let assembly = stage.assembly.as_ref()?;
    let statement = assembly.statements.iter().find(|statement| statement.location == pc.0);
    let statement = statement.filter(|statement| statement.instruction().is_some());
    statement.map(|statement| statement.span()).or_else(|| stage.made_by(pc).map(|place| place.span()))
}
