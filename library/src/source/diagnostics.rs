//! The problems of a run: kept up to a bound, told in the order of the sources, each once.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};

use super::diagnostic::{Diagnostic, Severity};
use super::map::SourceMap;
use super::place::Position;

/// The problems of a run, each once, in the order of the source, up to a limit of errors.
#[derive(Clone, Debug, Default)]
pub struct Diagnostics {
    list: Vec<Diagnostic>,
    has_errors: bool,
    /// How many were not kept.
    dropped: usize,
}

impl Diagnostics {
    /// The most problems that are kept. Past that only the first error is, so that it cannot drown in warnings.
    pub const MOST: usize = 10_000;

    /// Adds a problem, up to [`Diagnostics::MOST`].
    pub fn push(&mut self, diagnostic: Diagnostic) {
        let first_error = diagnostic.severity == Severity::Error && !self.has_errors;
        self.has_errors |= first_error;
        if first_error || self.list.len() < Self::MOST {
            self.list.push(diagnostic);
        } else {
            self.dropped += 1;
        }
    }

    /// Adds all problems of another collection.
    pub fn append(&mut self, other: Diagnostics) {
        self.dropped += other.dropped;
        self.extend(other.list);
    }

    /// How many were pushed and not kept, some perhaps the same as others.
    pub fn dropped(&self) -> usize {
        self.dropped
    }

    /// Whether an error is among them.
    pub fn has_errors(&self) -> bool {
        self.has_errors
    }

    /// How many are kept.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// In the order in which they were pushed.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.list.iter()
    }

    /// Puts the problems in the order of the source and keeps each once. An expansion that repeats a line repeats its
    /// problem, so two that say the same and go back to the same place in a file are one; so are two of the same line of a
    /// macro, which is told with how often it is so.
    pub fn sorted(mut self, sources: &SourceMap) -> Vec<Diagnostic> {
        self.list.sort_by_cached_key(|diagnostic| {
            let Some(label) = &diagnostic.primary else { return Vec::new() };
            path(sources, label.span.position())
        });
        let mut seen = HashSet::new();
        self.list.retain(|diagnostic| {
            let root = diagnostic.primary.as_ref().map(|label| sources.root(label.span.position()));
            seen.insert((diagnostic.code, root, diagnostic.headline.clone()))
        });
        once_a_line(self.list, sources)
    }
}

/// Keeps the first of the problems that expansions of the same line share, with how many there are.
fn once_a_line(list: Vec<Diagnostic>, sources: &SourceMap) -> Vec<Diagnostic> {
    let mut kept: Vec<Diagnostic> = Vec::new();
    // A line may hold the same problem twice, which are two in each of its expansions.
    let (mut here, mut told) = (HashMap::new(), HashMap::new());
    for diagnostic in list {
        let label = diagnostic.primary.as_ref().map(|label| label.span.position());
        let Some(position) = label.filter(|position| sources.is_repeated(position.source)) else {
            kept.push(diagnostic);
            continue;
        };
        let problem = (diagnostic.code, diagnostic.headline.clone());
        let line = sources.get(position.source).line_of(position.offset);
        let number: &mut usize = here.entry((position.source, line, problem.clone())).or_default();
        *number += 1;
        match told.entry((sources.written_at(position), problem, *number)) {
            Entry::Vacant(entry) => {
                entry.insert((kept.len(), 0usize));
                kept.push(diagnostic);
            }
            Entry::Occupied(mut entry) => entry.get_mut().1 += 1,
        }
    }
    for (first, further) in told.into_values().filter(|&(_, further)| further > 0) {
        let expansions = if further == 1 { "expansion" } else { "expansions" };
        kept[first].notes.push(format!("the same is so in {further} further {expansions} of this line"));
    }
    kept
}

impl FromIterator<Diagnostic> for Diagnostics {
    fn from_iter<I: IntoIterator<Item = Diagnostic>>(diagnostics: I) -> Self {
        let mut collection = Diagnostics::default();
        collection.extend(diagnostics);
        collection
    }
}

impl Extend<Diagnostic> for Diagnostics {
    fn extend<I: IntoIterator<Item = Diagnostic>>(&mut self, diagnostics: I) {
        diagnostics.into_iter().for_each(|diagnostic| self.push(diagnostic));
    }
}

/// A place as the way to it from a given file, so that an included or expanded text sorts where it was asked for.
fn path(sources: &SourceMap, position: Position) -> Vec<Position> {
    let mut path: Vec<_> = sources.ancestry(position.source).map(|(_, span)| span.position()).collect();
    path.reverse();
    path.push(position);
    path
}
