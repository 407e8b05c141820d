//! A source by itself under work.

use std::path::Path;

use super::super::files;
use super::super::shared_sources::one_after_the_other;
use super::super::source_file::{self, SourceOptions};
use coldwright::assembler::Assembly;
use coldwright::shortening::{Depth, Outside, Search, Suggestion, Unseen, shorten};
use coldwright::source::{Diagnostics, SourceId, SourceMap};

/// A source with what was said of it.
pub struct Work<'a> {
    pub path: &'a Path,
    pub options: &'a SourceOptions,
    pub search: Search,
}

impl Work<'_> {
    /// Assembles a text in place of the source's own, and says what is wrong with it. A program that is over a limit is
    /// there all the same.
    pub fn assemble(&self, text: Vec<u8>) -> (SourceMap, Option<Assembly>, Diagnostics) {
        let mut sources = SourceMap::default();
        let (assembly, problems) = source_file::assemble_over(self.path, text, self.options, &mut sources);
        (sources, assembly, problems)
    }

    /// What could be shorter in an assembled text.
    pub fn suggestions(&self, sources: &SourceMap, assembly: &Assembly) -> Result<Vec<Suggestion>, Unseen> {
        let again = |text: &str| {
            let (sources, assembly, _) = self.assemble(text.as_bytes().to_vec());
            Some((sources, SourceId::FIRST, assembly?))
        };
        shorten(sources, SourceId::FIRST, assembly, &Outside::default(), &self.search, &again)
    }

    /// Takes the suggestion that saves most, and looks again, until nothing is left.
    pub fn all(&self, text: &str, found: Vec<Suggestion>) -> (String, Vec<Suggestion>) {
        one_after_the_other(text, found, |text| {
            let (sources, assembly, _) = self.assemble(text.as_bytes().to_vec());
            self.suggestions(&sources, &assembly?).ok()
        })
    }
}

/// How many bytes all suggestions for a source save together; nothing if none can be told.
pub fn could_save(path: &Path, options: &SourceOptions) -> Option<usize> {
    let text = files::read(path).ok()?;
    let work = Work { path, options, search: Search::new(Depth::Two) };
    let (sources, assembly, _) = work.assemble(text);
    let found = work.suggestions(&sources, &assembly?).ok()?;
    let (_, taken) = work.all(sources.get(SourceId::FIRST).text(), found);
    Some(taken.iter().map(|it| it.saves).sum())
}
