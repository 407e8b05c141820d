//! `faults`: every single fault of a start, played to its end.

mod json;
mod text;

use std::path::{Path, PathBuf};

use clap::Args;
use indicatif::ProgressBar;

use super::chain::LoadedChain;
use super::kept;
use super::outputs::Outputs;
use super::pages::{PaperWord, add_drawing, numbered};
use super::progress::{self, Counted};
use super::rehearse::{Wanted, wanted_of};
use super::report::Report;
use super::stop;
use coldwright::faults::{Kind, Played, Plays, Table, Theatre, Words, draw};
use coldwright::project::{Artefacts, Id, Plan, Start};
use coldwright::rehearsal::{Request, rehearse};
use coldwright::source::{Diagnostics, SourceMap};

/// Play every single fault of a start to its end, and say what becomes of it
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright faults examples/probe\n  \
    coldwright faults examples/probe --kind \"a data lever wrong\" --all\n  \
    coldwright faults examples/probe -o faults.pdf")]
pub struct Faults {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Play this way to start only
    #[arg(long, value_name = "NAME")]
    start: Option<String>,
    /// Tell of this kind of fault only
    #[arg(long, value_name = "KIND", value_parser = text::kind)]
    kind: Option<Kind>,
    /// Tell of every fault by itself, not of those of a kind with one end together
    #[arg(long)]
    all: bool,
    /// Play all of them anew, even if nothing has changed since they were played
    #[arg(long)]
    anew: bool,
    /// Write the table as pages: .html, .pdf or .svg
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// The paper of the pages
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
}

/// A start with what became of its faults.
pub(super) struct Told {
    /// The start's name; empty if there is only one.
    pub start: String,
    /// Who words them.
    pub words: Words,
    /// What was played.
    pub plays: Plays,
}

impl Faults {
    pub(super) fn run(self, report: &mut Report) {
        let _heed = stop::heed();
        let mut sources = SourceMap::default();
        let wanted = self.start.as_deref();
        let Some(Wanted { chain, starts, made }) = wanted_of(&self.chain, wanted, &mut sources, report) else { return };
        let plan = &chain.plan;
        let mut told = Vec::new();
        for start in starts {
            match told_of(&self.chain, &chain, &made, (start, self.anew), &sources, report) {
                Ok(found) => told.push(found),
                Err(problems) => return report.problems(problems, &sources),
            }
        }
        if let Err(problem) = self.tell(plan, &told, report) {
            report.problem(*problem);
        }
    }

    fn tell(&self, plan: &Plan, told: &[Told], report: &mut Report) -> Result<(), Box<coldwright::source::Diagnostic>> {
        let mut outputs = Outputs::default();
        for (at, Told { start, words, plays }) in told.iter().enumerate() {
            let chosen = |played: &&Played| self.kind.is_none_or(|kind| played.fault.kind == kind);
            let played: Vec<_> = plays.faults.iter().filter(chosen).cloned().collect();
            let title = match start.as_str() {
                "" => format!("{}: single faults", plan.name),
                start => format!("{}, {start}: single faults", plan.name),
            };
            let table = Table::new(&played, words);
            if let Some(path) = &self.output {
                let path = if told.len() == 1 { path.clone() } else { numbered(path, at + 1) };
                let paper = self.paper.paper();
                add_drawing(&mut outputs, &path, || draw(&title, &table, words, paper), "")?;
            }
            report.print(match (report.json(), self.all) {
                (true, _) => json::to_json(plan, start, &played, words),
                (_, true) => text::each(&title, &played, words),
                _ => text::table(&title, &table, words),
            });
        }
        Ok(outputs.commit(report)?)
    }
}

/// What becomes of the faults of a start: kept from an earlier run, unless they are to be
/// played anew, or played now.
///
/// # Errors
/// The start cannot be played, or does not agree; a stop.
pub(super) fn told_of(
    path: &Path,
    chain: &LoadedChain,
    made: &Artefacts,
    (start, anew): (Id<Start>, bool),
    sources: &SourceMap,
    report: &mut Report,
) -> Result<Told, Diagnostics> {
    let plan = &chain.plan;
    let words = Words::new(plan, made, start)?;
    let name = plan.starts[start].name.clone();
    let place = kept::Place::new(path, chain, "faults", &name);
    if let Some(plays) = place.read::<Plays>().filter(|_| !anew) {
        return Ok(Told { start: name, words, plays });
    }
    place.before_play();
    let outcome = rehearse(plan, made, start, &Request::default(), sources, None, &mut |_| ());
    if !outcome.agrees() {
        return Err(outcome.problems);
    }
    let theatre = Theatre::new(plan, made, start)?;
    let bar = progress::bar(Counted::Faults, theatre.catalogue().len() as u64, report.json());
    let plays = theatre.plays(&|| goes_on(&bar));
    bar.finish_and_clear();
    let plays = plays.ok_or_else(|| Diagnostics::from_iter([stop::stopped()]))?;
    if let Err(problem) = place.keep(&plays, report) {
        report.mention(&format!("what was played is not kept: {}", problem.headline));
    }
    Ok(Told { start: name, words, plays })
}

/// Another fault is done.
fn goes_on(bar: &ProgressBar) -> bool {
    bar.inc(1);
    !stop::is_stopped()
}
