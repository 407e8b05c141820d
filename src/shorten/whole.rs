//! A chain with changed sources, rehearsed.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::super::chain;
use super::super::report::Report;
use super::super::shared_sources::{same, whole};
use coldwright::project::{Artefacts, Id, Plan, Recordings, Stage};
use coldwright::rehearsal::{self, Outcome, Request};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// Rehearses every start of a chain with changed sources. What it puts out must be what it was before.
///
/// # Errors
/// Nothing is left to be said: what keeps it from being well was reported.
pub fn rehearsed(
    file: &Path,
    before: &Plan,
    was: &SourceMap,
    changed: &BTreeMap<PathBuf, String>,
    report: &mut Report,
) -> Result<Vec<Outcome>, ()> {
    let mut sources = SourceMap::default();
    let draft = chain::draft(file, &mut sources, changed.clone(), report).ok_or(())?;
    let (plan, problems) = (draft.plan, draft.problems);
    let Some(plan) = plan.filter(|_| !problems.has_errors()) else {
        report.problems(problems, &sources);
        report.problem(unapplied("the chain is not well with the shorter sources"));
        return Err(());
    };
    let is_changed = |stage: &Stage| changed.contains_key(&whole(Path::new(&stage.file)));
    let other = |(number, stage): (Id<Stage>, &Stage)| {
        let is_other = !is_changed(stage) && !same(&stage.image, &before.stages[number].image);
        is_other.then(|| stage.name.clone())
    };
    if let Some(name) = plan.stages.numbered().find_map(other) {
        let problem = unapplied(&format!("the stage `{name}` includes a source that would be shorter"));
        report.problem(problem.with_note("what is in it for that stage was not looked at"));
        return Err(());
    }
    let made = Artefacts::make(&plan, &sources, Recordings::Left).map_err(|problems| {
        report.problems(problems, &sources);
        report.problem(unapplied("the chain cannot be made with the shorter sources"));
    })?;
    let outcomes = outcomes(&plan, &made, &sources);
    if outcomes.iter().any(|outcome| !outcome.agrees()) {
        let mut problems = Diagnostics::default();
        outcomes.into_iter().for_each(|outcome| problems.append(outcome.problems));
        report.problems(problems, &sources);
        report.problem(unapplied("the chain does not start with the shorter sources"));
        return Err(());
    }
    // What was well before puts out what it did.
    let Ok(made) = Artefacts::make(before, was, Recordings::Left) else { return Ok(outcomes) };
    for (now, then) in outcomes.iter().zip(self::outcomes(before, &made, was)) {
        if then.agrees() && !then.went_out.is_like(&now.went_out) {
            let start = if then.start.is_empty() { String::new() } else { format!(" from `{}`", then.start) };
            let why = format!("the chain started{start} puts out something else with the shorter sources");
            let note = "something rests on an address or a length that is not said with a label";
            report.problem(unapplied(&why).with_note(note));
            return Err(());
        }
    }
    Ok(outcomes)
}

fn outcomes(plan: &Plan, made: &Artefacts, sources: &SourceMap) -> Vec<Outcome> {
    let rehearse = |start| rehearsal::rehearse(plan, made, start, &Request::default(), sources, None, &mut |_| ());
    plan.starts.numbered().map(|(start, _)| rehearse(start)).collect()
}

/// Why nothing was written.
pub fn unapplied(why: &str) -> Diagnostic {
    Diagnostic::error(Code::ShortenUnapplied, format!("nothing was changed: {why}"))
}
