//! `tape`: programs on tape, back from it, and as a picture.

mod framing;
pub(in crate::cli) mod images;
mod picture;
mod read;
pub(in crate::cli) mod verdicts;
mod write;

use std::path::Path;

use clap::{Args, Subcommand};

use super::files;
use super::report::Report;
use crate::source::{Diagnostics, Origin, SourceMap};
use crate::tape::framing::{Framing, bundled, load, unknown};

/// Write programs on a tape, read them back, draw the tape
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright tape write chimes.asm --framing blocks -o chimes.tape\n  \
    coldwright tape read chimes.tape --framing blocks -o chimes-again.hex")]
pub struct Tape {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Write(write::Write),
    Read(read::Read),
    Picture(picture::Picture),
    Framing(framing::Show),
}

impl Tape {
    pub(super) fn run(self, report: &mut Report) {
        match self.command {
            Command::Write(command) => command.run(report),
            Command::Read(command) => command.run(report),
            Command::Picture(command) => command.run(report),
            Command::Framing(command) => command.run(report),
        }
    }
}

/// The framing that an option names: a bundled one, or a file whose name ends with `.toml`. Its problems are reported.
pub(in crate::cli) fn load_framing(name: &str, report: &mut Report) -> Option<Framing> {
    if !Path::new(name).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml")) {
        let found = bundled(name);
        if found.is_none() {
            report.problem(unknown(name));
        }
        return found;
    }
    let bytes = files::read(Path::new(name)).map_err(|problem| report.problem(problem)).ok()?;
    let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
    let source = sources.add(name, bytes, Origin::Given);
    let framing = load(&sources, source, &mut problems);
    report.problems(problems, &sources);
    framing
}
