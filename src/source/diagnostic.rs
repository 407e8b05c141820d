//! A problem as data. How it looks is the renderers' business.

use super::code::Code;
use super::place::Span;

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
