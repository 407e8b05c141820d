//! A problem as data. How it looks is the renderers' business.

use std::collections::HashSet;

use super::code::Code;
use super::map::{Position, SourceMap, Span};

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The work failed.
    Error,
    /// The work was done, and something in it bites at the bench.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word that stands before the code.
    pub const fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

/// A span with what is to be said of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What, in a few words.
    pub text: String,
}

/// One problem: what it is, where, and how to mend it.
///
/// Headlines are lower case, without a final stop, with the offending value in backquotes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// The stable code, by which `explain` finds its page.
    pub code: Code,
    /// How bad it is.
    pub severity: Severity,
    /// The problem in one line.
    pub headline: String,
    /// The guilty spot and what was expected there; none where a whole file or option is meant.
    pub primary: Option<Label>,
    /// Other places that matter.
    pub related: Vec<Label>,
    /// Facts that help to understand.
    pub notes: Vec<String>,
    /// What would mend it.
    pub help: Option<String>,
}

impl Diagnostic {
    fn new(severity: Severity, code: Code, headline: impl Into<String>) -> Self {
        let headline = headline.into();
        Diagnostic { code, severity, headline, primary: None, related: Vec::new(), notes: Vec::new(), help: None }
    }

    /// An error.
    pub fn error(code: Code, headline: impl Into<String>) -> Self {
        Self::new(Severity::Error, code, headline)
    }

    /// A warning.
    pub fn warning(code: Code, headline: impl Into<String>) -> Self {
        Self::new(Severity::Warning, code, headline)
    }

    /// A note.
    pub fn note(code: Code, headline: impl Into<String>) -> Self {
        Self::new(Severity::Note, code, headline)
    }

    /// Points at the guilty spot, saying what was expected there.
    pub fn at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.primary = Some(Label { span, text: text.into() });
        self
    }

    /// Points at another place that matters.
    pub fn and_at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.related.push(Label { span, text: text.into() });
        self
    }

    /// Adds a fact.
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// Says what would mend it.
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// The problems of a run, each once, in the order of the source, up to a limit of errors.
#[derive(Clone, Debug, Default)]
pub struct Diagnostics {
    list: Vec<Diagnostic>,
    has_errors: bool,
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
        }
    }

    /// Adds all problems of another collection.
    pub fn append(&mut self, other: Diagnostics) {
        self.extend(other.list);
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
    /// problem, so two that say the same and go back to the same place in a file are one.
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
        self.list
    }
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
