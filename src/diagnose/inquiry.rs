//! What is asked, with all that an answer needs.

use crate::faults::Told;
use crate::progress::{self, Counted};
use crate::report::Report;
use crate::stop;
use coldwright::diagnosis::seen::{Observation, read};
use coldwright::diagnosis::{Archive, Suspect};
use coldwright::faults::{Pair, Theatre};
use coldwright::notation::Notation;
use coldwright::project::{Artefacts, Id, Plan, Start};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap};

/// The most pairs of faults that are played for what is seen.
const MOST_PAIRS: usize = 400;

/// All that an answer needs.
pub struct Inquiry<'a> {
    pub told: &'a Told,
    pub archive: Archive<'a>,
    pub sources: SourceMap,
    pub seen: Vec<Observation>,
    /// Pairs of faults that were played, since no single one shows what is seen.
    pub pairs: Vec<Pair>,
    pub played_on: PlayedOn<'a>,
}

/// The start on which pairs are played.
pub struct PlayedOn<'a> {
    pub plan: &'a Plan,
    pub made: &'a Artefacts,
    pub start: Id<Start>,
}

impl<'a> Inquiry<'a> {
    /// The faults that explain what is seen or cannot be ruled out; where no single one is likely, with the pairs that do.
    pub fn suspects(&self) -> Vec<Suspect<'_>> {
        let mut suspects: Vec<Suspect> = self.archive.suspects(&self.seen);
        if !self.archive.has_suspect(&self.seen) {
            suspects.extend(self.archive.of_pairs(&self.pairs, &self.seen));
            suspects.sort_by(|one, other| other.weight.total_cmp(&one.weight));
        }
        suspects
    }

    /// Plays the pairs that may show what is seen, if no single fault does.
    ///
    /// # Errors
    /// A stop.
    pub fn play_pairs(&mut self, report: &Report) -> Result<(), Diagnostics> {
        if self.archive.has_suspect(&self.seen) {
            return Ok(());
        }
        let mut pairs = self.archive.pairs_to_play(&self.seen, MOST_PAIRS);
        pairs.retain(|pair| !self.pairs.iter().any(|played| played.faults == *pair));
        if pairs.is_empty() {
            return Ok(());
        }
        let PlayedOn { plan, made, start } = self.played_on;
        let theatre = Theatre::new(plan, made, start)?;
        let bar = progress::bar(Counted::Faults, pairs.len() as u64, report.json());
        let goes_on = || {
            bar.inc(1);
            !stop::is_stopped()
        };
        let played = theatre.play_pairs(pairs, &goes_on);
        bar.finish_and_clear();
        self.pairs.extend(played.ok_or_else(|| Diagnostics::from_iter([stop::stopped()]))?);
        Ok(())
    }

    /// The words of an observation, as they were given.
    pub fn told(&self, observation: usize) -> &str {
        let span = self.seen[observation].span;
        self.sources.get(span.source).text().get(span.start as usize..span.end as usize).unwrap_or_default()
    }
}

/// Reads what is seen.
///
/// # Errors
/// Every mistake in it; that nothing is said.
pub fn observations(sources: &mut SourceMap, words: &str, notation: Notation) -> Result<Vec<Observation>, Diagnostics> {
    let text = sources.add("what is seen".to_owned(), words.as_bytes().to_vec(), Origin::Given);
    let mut problems = Diagnostics::default();
    let seen = read(sources, text, notation, &mut problems);
    if seen.is_empty() && !problems.has_errors() {
        let problem = Diagnostic::error(Code::SeenUnclear, "nothing is said to be seen");
        problems.push(problem.with_help("such as `halted at 000157`; without words, `diagnose` asks"));
    }
    if problems.has_errors() { Err(problems) } else { Ok(seen) }
}
