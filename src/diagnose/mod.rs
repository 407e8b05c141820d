//! `diagnose`: from what is seen back to the fault.

mod asks;
mod inquiry;
mod json;
mod text;

use std::path::{Path, PathBuf};

use clap::Args;

use self::inquiry::{Inquiry, PlayedOn, observations};
use super::chain;
use super::faults::told_of;
use super::report::Report;
use super::stop;
use coldwright::diagnosis::Archive;
use coldwright::project::{Artefacts, Recordings};
use coldwright::source::{Code, Diagnostic, SourceMap};

/// Say which single faults explain what is seen of a start, and where to look next
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright diagnose examples/probe \"running, address 000003 to 000013\"\n  \
    coldwright diagnose examples/probe \"000003 holds 331\" --json\n\n\
    Without words it asks, one look after the other. What was played by `faults` is used again.")]
pub struct Diagnose {
    /// The folder of the chain or its chain file, and what is seen, such as "halted at 000157, data 002"
    #[arg(value_names = ["DIR", "SEEN"], num_args = 0..=2)]
    words: Vec<String>,
    /// Of this way to start
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
}

impl Diagnose {
    pub(super) fn run(self, report: &mut Report) {
        let _heed = stop::heed();
        let (chain, words) = match &self.words[..] {
            [] => (PathBuf::from("."), None),
            [one] if Path::new(one).exists() => (one.into(), None),
            [one] => (".".into(), Some(one.clone())),
            [chain, words, ..] => (chain.into(), Some(words.clone())),
        };
        let mut sources = SourceMap::default();
        let Some(loaded) = chain::load_with_inputs(&chain, &mut sources, report) else { return };
        let plan = &loaded.plan;
        let names: Vec<_> = plan.starts.iter().map(|start| start.name.as_str()).collect();
        let wanted = self.start.as_deref().or_else(|| (names.len() == 1).then(|| names[0]));
        let Some(name) = wanted else { return report.problem(several(&names)) };
        let found = plan.starts.numbered().find(|(_, start)| start.name == name);
        let Some((start, _)) = found else { return report.problem(super::rehearse::unknown("start", name, &names)) };
        let mut seen = Vec::new();
        if let Some(words) = &words {
            match observations(&mut sources, words, plan.machine.panel.notation) {
                Ok(found) => seen = found,
                Err(problems) => return report.problems(problems, &sources),
            }
        }
        let made = match Artefacts::make(plan, &sources, Recordings::Left) {
            Ok(made) => made,
            Err(problems) => return report.problems(problems, &sources),
        };
        let told = match told_of(&chain, &loaded, &made, (start, false), &sources, report) {
            Ok(told) => told,
            Err(problems) => return report.problems(problems, &sources),
        };
        let archive = Archive::new(&told.plays, &told.words);
        let played_on = PlayedOn { plan, made: &made, start };
        let mut inquiry = Inquiry { told: &told, archive, sources, seen, pairs: Vec::new(), played_on };
        match words {
            Some(_) => {
                if let Err(problems) = inquiry.play_pairs(report) {
                    return report.problems(problems, &inquiry.sources);
                }
                let suspects = inquiry.suspects();
                report.print(match report.json() {
                    true => json::answer(&inquiry, &plan.name, &suspects),
                    false => text::answer(&inquiry, &suspects),
                });
            }
            None => asks::ask(inquiry, report),
        }
    }
}

fn several(names: &[&str]) -> Diagnostic {
    let problem = Diagnostic::error(Code::HomeUnknown, "the chain has several ways to start");
    problem.with_help(format!("say which with `--start`: {}", names.join(", ")))
}
