//! Bounds on what a program makes of itself by expansions and other files, so that a mistake ends with an error and not
//! with all memory in use.

use crate::source::{Code, Diagnostic, Span};

/// How deep includes and expansions may nest together.
const DEEPEST: usize = 100;

/// How many lines all expansions of a program may come to.
const MOST_LINES: usize = 1_000_000;

/// How many bytes all expansions, included and embedded files of a program may come to.
const MOST_BYTES: usize = 64 << 20;

/// How many times a program may read a file.
const MOST_FILES: usize = 10_000;

/// What is about to be read or made.
#[derive(Clone, Copy, Debug)]
pub(super) enum Claim {
    /// So many lines of an expansion; one without a line counts as one, because it takes its time too.
    Lines(usize),
    /// So many bytes of an expansion, an included or an embedded file.
    Bytes(usize),
    /// A file.
    File,
    /// A text in as many others.
    Text(usize),
}

/// What has been claimed so far.
#[derive(Debug, Default)]
pub(super) struct Bounds {
    lines: usize,
    bytes: usize,
    files: usize,
}

impl Bounds {
    /// Counts a claim; the problem, if it goes past its bound.
    pub fn claim(&mut self, span: Span, claim: Claim) -> Option<Diagnostic> {
        let counted = |count: &mut usize, more: usize, most: usize| {
            *count = count.saturating_add(more);
            *count > most
        };
        let past = match claim {
            Claim::Lines(lines) => counted(&mut self.lines, lines.max(1), MOST_LINES),
            Claim::Bytes(bytes) => counted(&mut self.bytes, bytes, MOST_BYTES),
            Claim::File => counted(&mut self.files, 1, MOST_FILES),
            Claim::Text(depth) => depth >= DEEPEST,
        };
        past.then(|| passed(span, claim))
    }
}

#[cold]
fn passed(span: Span, claim: Claim) -> Diagnostic {
    let (headline, label, help) = match claim {
        Claim::Lines(_) => (
            format!("expansions come to more than {MOST_LINES} lines"),
            "this one goes past the bound",
            "look for a repetition in a repetition with a larger count than was meant",
        ),
        Claim::Bytes(_) => (
            format!("expansions, included and embedded files come to more than {} MiB", MOST_BYTES >> 20),
            "this one goes past the bound",
            "look for an argument that grows with every call, or a file that is read again and again",
        ),
        Claim::File => (
            format!("more than {MOST_FILES} files are included or embedded"),
            "this one goes past the bound",
            "look for files that include each other's parts again and again",
        ),
        Claim::Text(_) => (
            format!("includes and expansions are nested more than {DEEPEST} deep"),
            "the one that is one too many",
            "a macro that calls itself needs an IF that ends it",
        ),
    };
    Diagnostic::error(Code::ExpansionBound, headline).at(span, label).with_help(help)
}
