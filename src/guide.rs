//! `guide`: a page for a tablet that leads through the start of a chain.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::chain;
use super::faults::told_of;
use super::outputs::Outputs;
use super::rehearse;
use super::report::Report;
use super::stop;
use coldwright::delivery::card;
use coldwright::diagnosis::{Archive, Questions};
use coldwright::guide::Guide as Page;
use coldwright::notation::counted;
use coldwright::project::{Artefacts, Recordings};
use coldwright::source::SourceMap;

/// Write a page for a tablet that leads from power-on to the payload, step by step
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright guide examples/probe\n  \
    coldwright guide examples/rooster --plain -o rooster-guide.html")]
pub struct Guide {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// The file of the page; `-` is standard output
    #[arg(short, long, value_name = "FILE", default_value = "guide.html")]
    output: PathBuf,
    /// Leave out what is asked when the start does not go as shown, which takes that every fault is played
    #[arg(long)]
    plain: bool,
}

impl Guide {
    pub(super) fn run(self, report: &mut Report) {
        let _heed = stop::heed();
        let mut sources = SourceMap::default();
        let Some(loaded) = chain::load_with_inputs(&self.chain, &mut sources, report) else { return };
        let plan = &loaded.plan;
        let made = match Artefacts::make(plan, &sources, Recordings::Made) {
            Ok(made) => made,
            Err(problems) => return report.problems(problems, &sources),
        };
        let outcomes = rehearse::all(plan, &made, &sources);
        let mut asked = Vec::new();
        for ((start, _), outcome) in plan.starts.numbered().zip(&outcomes) {
            // Of a start that fails the page says so; there is nothing to hold what is seen against.
            asked.push(if self.plain || !outcome.agrees() {
                None
            } else {
                match told_of(&self.chain, &loaded, &made, (start, false), &sources, report) {
                    Ok(told) => Some(Questions::new(&Archive::new(&told.plays, &told.words), &told.words)),
                    Err(problems) => return report.problems(problems, &sources),
                }
            });
        }
        let cards = plan
            .starts
            .numbered()
            .zip(&outcomes)
            .filter_map(|((start, _), outcome)| Some((start, card(plan, &made, start, &sources, Some(outcome))?)));
        let guide = Page::new(plan, &made, &cards.collect::<Vec<_>>(), true, &asked);
        let page = guide.page();
        let bytes = page.len();
        let mut outputs = Outputs::default();
        outputs.add(&self.output, page);
        if let Err(problem) = outputs.commit(report) {
            return report.problem(problem);
        }
        let ways = guide.ways.iter().map(|way| (way.name.as_str(), way.actions.len(), way.doubts.as_slice()));
        for (_, _, doubts) in ways.clone() {
            doubts.iter().for_each(|(what, why)| report.mention(&format!("{what}: {why}")));
        }
        if self.output.as_os_str() == super::files::STREAM {
            return;
        }
        let file = self.output.display().to_string();
        report.print(match report.json() {
            true => {
                let ways: Vec<_> = ways.map(|(name, steps, _)| json!({ "start": name, "steps": steps })).collect();
                format!("{}\n", json!({ "file": file, "bytes": bytes, "ways": ways }))
            }
            false => {
                let told = ways.map(|(name, steps, _)| {
                    let start = if name.is_empty() { String::new() } else { format!(", {name}") };
                    format!("{file}: {}{start}\n", counted(steps as u64, "step"))
                });
                told.collect()
            }
        });
    }
}
