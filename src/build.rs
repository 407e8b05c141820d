//! `build`: everything of a chain as files.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::built::{self, How, Place, Record};
use super::index_page::index_page;
use super::live_page;
use super::next_steps::{BOOKLET, GUIDE};
use super::outputs::tidy;
use super::played::Played;
use super::report::Report;
use super::watch::watch;
use super::{chain, rehearse};
use coldwright::booklet::booklet;
use coldwright::delivery::{Artefact, Drawn, Of, files_of};
use coldwright::drawing::pdf;
use coldwright::guide::Guide;
use coldwright::notation::counted;
use coldwright::panel::Paper;
use coldwright::panel::card::Doubt;
use coldwright::project::{Artefacts, Recordings};
use coldwright::source::SourceMap;

/// Build all files of a chain, and a page that shows them
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  coldwright build examples/belfry --rehearse\n  coldwright build examples/belfry -o tower"
)]
pub struct Build {
    /// The folder of the chain, or its chain file
    #[arg(default_value = ".", value_name = "DIR")]
    chain: PathBuf,
    /// The folder for the files; else `out` beside the chain file; made if it is not there
    #[arg(short, long, value_name = "DIR")]
    output: Option<PathBuf>,
    /// Rehearse the chain too, as `rehearse` does
    #[arg(long)]
    rehearse: bool,
    /// Build again whenever a file of the chain is saved, until Ctrl-C; the page in the browser follows
    #[arg(long)]
    watch: bool,
}

/// The page that shows and links everything.
const INDEX: &str = "index.html";

impl Build {
    pub(super) fn run(self, report: &mut Report) {
        match self.watch {
            true => watch(&self.chain, report, |report| self.build(report)),
            false => self.build(report),
        }
    }

    fn build(&self, report: &mut Report) {
        let place = self.place();
        let fresh =
            Record::fresh(&place).filter(|record| (record.rehearsed || !self.rehearse) && record.watched == self.watch);
        if let Some(record) = &fresh {
            tidy(&place.out, report);
            tell(&place, &[], self.untold(&record.doubted), report);
            if !record.warned && !self.rehearse {
                return;
            }
        }
        let mut sources = SourceMap::default();
        let Some(chain) = chain::load_with_inputs(&self.chain, &mut sources, report) else { return };
        if fresh.is_some() && !self.rehearse {
            return;
        }
        let artefacts = match Artefacts::make(&chain.plan, &sources, Recordings::Made) {
            Ok(made) => made,
            Err(problems) => return report.problems(problems, &sources),
        };
        let outcomes = self.rehearse.then(|| rehearse::all(&chain.plan, &artefacts, &sources));
        if fresh.is_none() {
            let made =
                Drawn::make(&chain.plan, &artefacts, &sources, outcomes.as_deref(), Paper::A4).and_then(|drawn| {
                    let built = files_of(&chain.plan, &artefacts, &drawn, &sources)?;
                    Ok((drawn, built))
                });
            let (drawn, mut made) = match made {
                Ok(made) => made,
                Err(problems) => return report.problems(problems, &sources),
            };
            let Played { questions, known, looked } = Played::kept(&self.chain, &chain, &artefacts);
            let bound = booklet(&chain.plan, &artefacts, &drawn, outcomes.as_deref(), &known);
            let guide = Guide::new(&chain.plan, &artefacts, &made.cards, outcomes.is_some(), &questions);
            made.artefacts.push(of_the_chain(BOOKLET, pdf::write(&bound.drawing)));
            made.artefacts.push(of_the_chain(GUIDE, guide.page().into_bytes()));
            let page = index_page(&chain.plan, &made, outcomes.as_deref(), &known);
            let files = made.artefacts.iter().map(|made| (made.file.as_str(), made.bytes.as_slice()));
            let mut files: Vec<_> = files.collect();
            let live = self.watch.then(|| live_page::of(&page, &files));
            match &live {
                Some(live) => files.extend([(INDEX, live.page.as_bytes()), (live_page::MARK, live.mark.as_bytes())]),
                None => files.push((INDEX, page.as_bytes())),
            }
            let doubted = made.doubts.iter().map(doubtful).collect();
            let how = How { rehearsed: self.rehearse, watched: self.watch, doubted, kept: looked };
            match built::write(&place, &chain, &files, &how, report) {
                Ok(written) => tell(&place, &written, self.untold(&how.doubted), report),
                Err(problem) => return report.problem(problem),
            }
        }
        if let Some(outcomes) = outcomes {
            let outcomes = outcomes.into_iter().map(|outcome| (outcome, Vec::new())).collect();
            rehearse::tell(&chain.plan, outcomes, &sources, report);
        }
    }

    /// What a rehearsal, if there is one, does not tell in full.
    fn untold<'a>(&self, doubted: &'a [String]) -> &'a [String] {
        if self.rehearse { &[] } else { doubted }
    }

    fn place(&self) -> Place {
        let chain = chain::chain_file(&self.chain);
        let out = self.output.clone().unwrap_or_else(|| chain::folder(&chain).join("out"));
        Place { chain, out }
    }
}

/// A file for the panel, by its group, its title and its name.
fn of_the_chain((group, title, file): (&str, &str, &str), bytes: Vec<u8>) -> Artefact {
    Artefact { of: Of::Chain, group: group.into(), title: title.into(), file: file.into(), bytes }
}

/// The most names of files that are told when few were written.
const MOST_NAMES: usize = 3;

fn tell(place: &Place, written: &[&str], doubted: &[String], report: &mut Report) {
    let index = place.out.join(INDEX).display().to_string();
    let count = counted(written.len(), "file");
    report.print(match written {
        _ if report.json() => {
            format!("{}\n", json!({ "index": index, "written": written.len(), "files": written, "doubts": doubted }))
        }
        [] => format!("nothing has changed; see {index}\n"),
        few if few.len() <= MOST_NAMES => format!("{count} written, {}; see {index}\n", few.join(", ")),
        _ => format!("{count} written; see {index}\n"),
    });
    doubted.iter().for_each(|doubt| report.mention(doubt));
}

/// Why a start is not to be trusted, in words.
fn doubtful((start, doubt): &(String, Doubt)) -> String {
    let (what, why) = doubt.words();
    let named = if start.is_empty() { String::new() } else { format!("{start}: ") };
    format!("{named}{what}, and its run card says so: {why}")
}
