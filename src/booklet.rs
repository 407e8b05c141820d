//! `booklet`: everything of a chain in one document to print.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::chain::{self, LoadedChain};
use super::outputs::Outputs;
use super::pages::{PaperWord, add_drawing};
use super::played::Played;
use super::report::Report;
use coldwright::booklet::{Booklet as Bound, Entry, booklet};
use coldwright::delivery::Drawn;
use coldwright::project::{Artefacts, Plan, Recordings};
use coldwright::rehearsal::{Outcome, Request, rehearse};
use coldwright::source::{Diagnostics, SourceMap};

/// Bind everything of a chain into one booklet: cards, sheets, labels, tapes, disks
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright booklet examples/belfry\n  \
    coldwright booklet examples/belfry --paper letter -o belfry.pdf -o belfry.html")]
pub struct Booklet {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// Write the booklet, by extension: .pdf, .html, or .svg (a file a page); may be given several times. Without it,
    /// the contents on standard output
    #[arg(short, long = "output", value_name = "FILE")]
    outputs: Vec<PathBuf>,
    /// The paper of the pages
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
}

impl Booklet {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(chain) = chain::load_with_inputs(&self.chain, &mut sources, report) else { return };
        let plan = &chain.plan;
        let booklet = match self.bind(&chain, &sources) {
            Ok(booklet) => booklet,
            Err(problems) => return report.problems(problems, &sources),
        };
        if self.outputs.is_empty() {
            let pages = booklet.drawing.pages.len();
            return report.print(match report.json() {
                true => to_json(plan, pages, &booklet.contents),
                false => text(plan, pages, &booklet.contents),
            });
        }
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            if let Err(problem) = add_drawing(&mut outputs, path, || &booklet.drawing, "") {
                return report.problem(problem);
            }
        }
        if let Err(problem) = outputs.commit(report) {
            report.problem(problem);
        }
    }

    fn bind(&self, chain: &LoadedChain, sources: &SourceMap) -> Result<Bound, Diagnostics> {
        let plan = &chain.plan;
        let made = Artefacts::make(plan, sources, Recordings::Left)?;
        let outcomes = outcomes(plan, &made, sources);
        let drawn = Drawn::make(plan, &made, sources, Some(&outcomes), self.paper.paper())?;
        let known = Played::kept(&self.chain, chain, &made).known;
        Ok(booklet(plan, &made, &drawn, Some(&outcomes), &known))
    }
}

/// Every start, rehearsed with what the booklet holds.
fn outcomes(plan: &Plan, made: &Artefacts, sources: &SourceMap) -> Vec<Outcome> {
    let request = Request::default();
    let starts = plan.starts.numbered();
    starts.map(|(start, _)| rehearse(plan, made, start, &request, sources, None, &mut |_| ())).collect()
}

fn text(plan: &Plan, pages: usize, contents: &[Entry]) -> String {
    let rows = contents.iter().map(|entry| format!("{:>4}  {}\n", entry.page, entry.title));
    let list: String = rows.collect();
    format!("{}: booklet, {pages} pages\n{list}`-o FILE.pdf` writes it\n", plan.name)
}

fn to_json(plan: &Plan, pages: usize, contents: &[Entry]) -> String {
    let contents: Vec<_> = contents.iter().map(|entry| json!({ "title": entry.title, "page": entry.page })).collect();
    format!("{}\n", json!({ "chain": plan.name, "pages": pages, "contents": contents }))
}
