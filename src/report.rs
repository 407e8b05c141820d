//! What a command says: results on standard output, problems on standard error. Printing an error and failing the run
//! are one act.

use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;

use coldwright::source::{
    Code, Diagnostic, Diagnostics, Renderer, Severity, SourceMap, Style, to_brief_line, to_json_line,
};

/// The most errors that one run prints for people and for programs, and the most warnings and notes.
const MOST: usize = 50;

/// How a run ended: the exit code of the process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ExitStatus {
    /// The work is done: 0.
    Done,
    /// The work failed, and it was said why: 1.
    Failed,
}

impl From<ExitStatus> for ExitCode {
    fn from(status: ExitStatus) -> ExitCode {
        ExitCode::from(match status {
            ExitStatus::Done => 0,
            ExitStatus::Failed => 1,
        })
    }
}

/// For whom a run says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Manner {
    /// For people: problems with the lines they stand in.
    Full,
    /// For editors and scripts that match lines: a line a problem.
    Brief,
    /// For programs: results and problems as JSON.
    Json,
}

/// Collects what a run has to say.
pub struct Report {
    manner: Manner,
    failed: bool,
}

impl Report {
    /// A report in a manner.
    pub fn new(manner: Manner) -> Self {
        Report { manner, failed: false }
    }

    /// Whether results are wanted as JSON.
    pub fn json(&self) -> bool {
        self.manner == Manner::Json
    }

    /// How the run ended so far.
    pub fn status(&self) -> ExitStatus {
        if self.failed { ExitStatus::Failed } else { ExitStatus::Done }
    }

    /// A run of its own begins: how an earlier one ended no longer counts.
    pub fn begin_anew(&mut self) {
        self.failed = false;
    }

    /// Fails the run without a further word, for a verdict that the printed result already tells.
    pub fn fail(&mut self) {
        self.failed = true;
    }

    /// Prints a result on standard output. A reader that went away ends the run quietly; a full disk is an error.
    pub fn print(&mut self, text: impl AsRef<[u8]>) {
        let mut out = io::stdout().lock();
        if let Err(error) = out.write_all(text.as_ref()).and_then(|()| out.flush()) {
            self.unprinted(&error);
        }
    }

    /// Fails the run because a result could not be printed.
    pub fn unprinted(&mut self, error: &io::Error) {
        if error.kind() != io::ErrorKind::BrokenPipe {
            let headline = format!("cannot write to standard output: {error}");
            self.problem(Diagnostic::error(Code::FileUnwritable, headline));
        }
        self.failed = true;
    }

    /// Prints a word to the person at the terminal on standard error; programs are told nothing.
    pub fn mention(&self, text: &str) {
        if !self.json() {
            // Nothing is left to tell it to when standard error fails.
            let _ = writeln!(io::stderr(), "{text}");
        }
    }

    /// Prints a problem that belongs to no text, and fails the run if it is an error.
    pub fn problem(&mut self, diagnostic: Diagnostic) {
        let mut diagnostics = Diagnostics::default();
        diagnostics.push(diagnostic);
        self.problems(diagnostics, &SourceMap::default());
    }

    /// Prints the problems of a run, and fails it if one is an error.
    pub fn problems(&mut self, diagnostics: Diagnostics, sources: &SourceMap) {
        self.failed |= diagnostics.has_errors();
        let colour = io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none();
        let mut renderer = Renderer::new(sources, Style { colour });
        let (mut out, dropped) = (String::new(), diagnostics.dropped());
        let (mut errors, mut others) = (0, 0);
        for diagnostic in diagnostics.sorted(sources) {
            let count = if diagnostic.severity == Severity::Error { &mut errors } else { &mut others };
            *count += 1;
            if *count > MOST {
                continue;
            }
            out += &match self.manner {
                Manner::Full => renderer.render(&diagnostic),
                Manner::Brief => format!("{}\n", to_brief_line(&diagnostic, sources)),
                Manner::Json => format!("{}\n", to_json_line(&diagnostic, sources)),
            };
        }
        let left_out = LeftOut { errors: errors.saturating_sub(MOST), others: others.saturating_sub(MOST), dropped };
        out += &if self.json() { left_out.json() } else { left_out.text() };
        // Nothing is left to tell it to when standard error fails.
        let _ = io::stderr().write_all(out.as_bytes());
    }
}

/// How many problems are not printed.
struct LeftOut {
    errors: usize,
    /// Warnings and notes.
    others: usize,
    /// How many were not even kept, some perhaps the same as others.
    dropped: usize,
}

impl LeftOut {
    fn text(&self) -> String {
        let mut out = String::new();
        for (count, name) in [(self.errors, "errors"), (self.others, "warnings and notes")] {
            if count > 0 {
                out += &format!("... and {count} more after the first {MOST} {name}\n");
            }
        }
        if self.dropped > 0 {
            out += &format!("... and up to {} others, which were not kept\n", self.dropped);
        }
        out
    }

    /// The last line where something was left out.
    fn json(&self) -> String {
        let LeftOut { errors, others, dropped } = *self;
        if errors + others + dropped == 0 {
            return String::new();
        }
        let counts = serde_json::json!({ "errors": errors, "warnings_and_notes": others, "not_kept": dropped });
        format!("{}\n", serde_json::json!({ "left_out": counts }))
    }
}
