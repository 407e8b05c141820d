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
    /// A text that mends it in place of what the primary label covers.
    pub instead: Option<String>,
    /// The words that may stand at the primary label, where they can be counted.
    pub known: Vec<String>,
}

impl Diagnostic {
    fn new(severity: Severity, code: Code, headline: impl Into<String>) -> Self {
        let headline = fitted(headline.into());
        Diagnostic {
            code,
            severity,
            headline,
            primary: None,
            related: Vec::new(),
            notes: Vec::new(),
            help: None,
            instead: None,
            known: Vec::new(),
        }
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
        self.primary = Some(Label { span, text: fitted(text.into()) });
        self
    }

    /// Points at another place that matters.
    pub fn and_at(mut self, span: Span, text: impl Into<String>) -> Self {
        self.related.push(Label { span, text: fitted(text.into()) });
        self
    }

    /// Adds a fact.
    pub fn with_note(mut self, note: impl Into<String>) -> Self {
        self.notes.push(fitted(note.into()));
        self
    }

    /// Asks whether a word that is near was meant, which may then stand in place of the guilty spot.
    pub fn with_near(self, near: &str) -> Self {
        self.with_help(format!("did you mean `{near}`?")).with_instead(near)
    }

    /// Gives the text that would mend it in place of the guilty spot.
    pub fn with_instead(mut self, text: impl Into<String>) -> Self {
        self.instead = Some(text.into());
        self
    }

    /// Lists the words that may stand at the guilty spot.
    pub fn with_known<'a>(mut self, words: impl IntoIterator<Item = &'a str>) -> Self {
        self.known = words.into_iter().map(str::to_owned).collect();
        self
    }

    /// Says what would mend it.
    pub fn with_help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(fitted(help.into()));
        self
    }
}

/// The longest text between backquotes that is shown whole, in bytes: longer than any name that a person would type.
const LONGEST_QUOTED: usize = 240;

/// The longest text outside of backquotes, in bytes.
const LONGEST_PART: usize = 4000;

/// A text of a diagnostic, in which a word of a source that is too long to be read keeps its two ends only.
fn fitted(text: String) -> String {
    if text.len() <= LONGEST_QUOTED {
        return text;
    }
    let parts = text.split('`').enumerate().map(|(at, part)| {
        let most = if at % 2 == 1 { LONGEST_QUOTED } else { LONGEST_PART };
        if part.len() <= most {
            return part.to_owned();
        }
        let front: String = part.chars().take(most / 3).collect();
        let back: Vec<_> = part.chars().rev().take(most / 8).collect();
        format!("{front}...{}", back.iter().rev().collect::<String>())
    });
    parts.collect::<Vec<_>>().join("`")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_without_end_keeps_its_two_ends() {
        let long = format!("{}Z", "é".repeat(5_000_000));
        let problem = Diagnostic::error(Code::SymbolUndefined, format!("`{long}` is not defined")).with_help(long);
        assert!(problem.headline.starts_with("`éé") && problem.headline.ends_with("éZ` is not defined"));
        assert!(problem.headline.len() < 300 && problem.help.is_some_and(|help| help.len() < 5000));
        let whole = format!("`{}` {}", "A".repeat(LONGEST_QUOTED), "B".repeat(LONGEST_PART - 1));
        assert_eq!(Diagnostic::note(Code::SymbolTwice, whole.clone()).headline, whole);
    }
}
