//! `limits`: how far each thing of a start may go before it fails.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::chain::LoadedChain;
use super::kept::Place;
use super::progress::{self, Counted};
use super::rehearse::{Wanted, wanted_of};
use super::report::Report;
use super::stop;
use super::wrapped::wrapped;
use coldwright::limits::{Bench, LEFT_OUT, Limit, Limits as Found, not_played, rows};
use coldwright::project::{Artefacts, Id, Plan, Start};
use coldwright::source::{Diagnostics, SourceMap};

/// Play a start with each thing further and further off, and say how far it may go
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright limits examples/belfry\n  \
    coldwright limits examples/rooster --start \"on trial\" --json")]
pub struct Limits {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Play this way to start only
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
    /// Play all of them anew, even if nothing has changed since they were played
    #[arg(long)]
    anew: bool,
}

impl Limits {
    pub(super) fn run(self, report: &mut Report) {
        let _heed = stop::heed();
        let mut sources = SourceMap::default();
        let wanted = self.start.as_deref();
        let Some(Wanted { chain, starts, made }) = wanted_of(&self.chain, wanted, &mut sources, report) else { return };
        let plan = &chain.plan;
        for start in starts {
            match self.found(&chain, &made, start, &sources, report) {
                Ok(found) => tell(plan, &plan.starts[start].name, &found, report),
                Err(problems) => return report.problems(problems, &sources),
            }
        }
    }

    /// The limits of a start: kept from an earlier run, or found now.
    fn found(
        &self,
        chain: &LoadedChain,
        made: &Artefacts,
        start: Id<Start>,
        sources: &SourceMap,
        report: &mut Report,
    ) -> Result<Found, Diagnostics> {
        let plan = &chain.plan;
        let place = Place::new(&self.chain, chain, "limits", &plan.starts[start].name);
        if let Some(found) = place.read().filter(|_| !self.anew) {
            return Ok(found);
        }
        place.before_play();
        let bench = Bench::new(plan, made, start, sources)?;
        let subjects = bench.subjects();
        let bar = progress::bar(Counted::Things, subjects.len() as u64, report.json());
        let mut limits = Vec::new();
        for subject in subjects {
            let limit = bench.limit(subject, &mut || {
                bar.tick();
                !stop::is_stopped()
            });
            bar.inc(1);
            limits.push(limit.ok_or_else(|| Diagnostics::from_iter([stop::stopped()]))?);
        }
        bar.finish_and_clear();
        let found = Found { limits };
        if let Err(problem) = place.keep(&found, report) {
            report.mention(&format!("what was played is not kept: {}", problem.headline));
        }
        Ok(found)
    }
}

fn tell(plan: &Plan, start: &str, found: &Found, report: &mut Report) {
    report.print(if report.json() { to_json(plan, start, found) } else { text(plan, start, found) });
}

fn text(plan: &Plan, start: &str, found: &Found) -> String {
    let mut out = match start {
        "" => format!("{}: how far each thing may go\n", plan.name),
        start => format!("{}, {start}: how far each thing may go\n", plan.name),
    };
    for row in rows(&found.limits, plan.machine.panel.notation) {
        out.push('\n');
        wrapped(&mut out, &row.what, 2);
        row.lines.iter().for_each(|line| wrapped(&mut out, &format!("  {line}"), 4));
    }
    out += &format!("\n{LEFT_OUT}\n");
    not_played().iter().for_each(|left_out| wrapped(&mut out, &format!("  {left_out}"), 4));
    out
}

/// A start with its limits, on a line.
fn to_json(plan: &Plan, start: &str, found: &Found) -> String {
    let words = rows(&found.limits, plan.machine.panel.notation);
    let limits: Vec<_> = found.limits.iter().zip(words).map(|(limit, row)| of(limit, &row.what, &row.lines)).collect();
    format!("{}\n", json!({ "chain": plan.name, "start": start, "limits": limits, "not_played": not_played() }))
}

fn of(limit: &Limit, what: &str, lines: &[String]) -> serde_json::Value {
    json!({ "what": what, "says": lines, "limit": limit })
}
