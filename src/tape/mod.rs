//! `tape`: programs on tape, back from it, and as a picture.

mod framing;
pub(crate) mod images;
mod picture;
mod read;
pub(crate) mod stretches;
pub(crate) mod verdicts;
mod write;

use clap::{Args, Subcommand};

use super::report::Report;

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
