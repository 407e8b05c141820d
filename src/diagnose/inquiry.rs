//! What is asked, with all that an answer needs.

use crate::faults::Told;
use coldwright::diagnosis::seen::{Observation, read};
use coldwright::diagnosis::{Archive, Suspect};
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap};

/// All that an answer needs.
pub struct Inquiry<'a> {
    pub told: &'a Told,
    pub archive: Archive<'a>,
    pub sources: SourceMap,
    pub seen: Vec<Observation>,
}

impl<'a> Inquiry<'a> {
    /// The faults that explain what is seen.
    pub fn suspects(&self) -> Vec<Suspect<'a>> {
        self.archive.suspects(&self.seen)
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
