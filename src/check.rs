//! `check`: whether a chain is well, without building anything.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::chain;
use super::report::Report;
use super::watch::watch;
use coldwright::delivery;
use coldwright::notation::counted;
use coldwright::project::{Artefacts, Plan, Recordings};
use coldwright::source::SourceMap;

/// Check a chain as a whole and write nothing
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright check examples/belfry\n  coldwright check examples/rooster --json")]
pub struct Check {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Check again whenever a file of the chain is saved, until Ctrl-C
    #[arg(long)]
    watch: bool,
}

impl Check {
    pub(super) fn run(self, report: &mut Report) {
        match self.watch {
            true => watch(&self.chain, report, |report| self.check(report)),
            false => self.check(report),
        }
    }

    fn check(&self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(chain) = chain::load_with_inputs(&self.chain, &mut sources, report) else { return };
        let plan = chain.plan;
        // What is made is not written, but whether it can be made is known then.
        let files = Artefacts::make(&plan, &sources, Recordings::Made)
            .and_then(|made| delivery::files(&plan, &made, &sources, None));
        match files {
            Ok(_) => {
                report.print(if report.json() { format!("{}\n", to_json(&plan)) } else { text(&plan, chain.warnings) })
            }
            Err(problems) => report.problems(problems, &sources),
        }
    }
}

fn text(plan: &Plan, warnings: usize) -> String {
    let notation = plan.machine.panel.notation;
    let rows = plan.stages.iter().map(|stage| {
        let (entry, bytes) = (notation.address(stage.entry), stage.image.len());
        format!("{:<12} {bytes:>5} bytes  starts at {entry}  {}\n", stage.name, plan.home_words(&stage.home))
    });
    let list: String = rows.chain(sockets(plan)).collect();
    let verdict = match warnings {
        0 => "no mistake was found".to_owned(),
        _ => format!("no mistake was found, but {}", counted(warnings, "warning")),
    };
    format!("{}\n{list}{verdict}\n", plan.name)
}

/// What every rehearsal takes for granted of sockets, a line each, with the start if it is not so in all of them.
fn sockets(plan: &Plan) -> Vec<String> {
    let assumed: Vec<_> = plan.starts.iter().map(|start| (start, plan.assumed_of_sockets(start))).collect();
    let in_all = |line: &String| assumed.iter().all(|(_, lines)| lines.contains(line));
    let mut told: Vec<String> = Vec::new();
    for (start, lines) in &assumed {
        for line in lines {
            let whose = if in_all(line) { String::new() } else { format!("start `{}`: ", start.name) };
            let line = format!("taken for granted: {whose}{line}\n");
            if !told.contains(&line) {
                told.push(line);
            }
        }
    }
    told
}

fn to_json(plan: &Plan) -> serde_json::Value {
    let stages = plan.stages.iter().map(|stage| {
        json!({
            "name": stage.name,
            "bytes": stage.image.len(),
            "entry": stage.entry.0,
            "home": plan.home_words(&stage.home),
        })
    });
    let starts = plan.starts.iter().map(|start| {
        let names: Vec<_> = start.stages.iter().map(|&stage| plan.stages[stage].name.as_str()).collect();
        json!({ "name": start.name, "stages": names, "taken_for_granted": plan.assumed_of_sockets(start) })
    });
    let starts: Vec<_> = starts.collect();
    json!({ "chain": plan.name, "stages": stages.collect::<Vec<_>>(), "starts": starts })
}
