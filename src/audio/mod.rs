//! `audio`: tapes as sound, back from it, and as a picture of it.

mod heard;
pub mod listen;
mod picture;
mod read;
pub mod tones;
mod write;

use clap::{Args, Subcommand};

use super::report::Report;

/// Write a tape as sound, read recordings back, draw what was recorded
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright audio write chimes.tape --framing blocks -o chimes.wav\n  \
    coldwright audio read chimes.wav --framing blocks -o chimes.hex")]
pub struct Audio {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Write(write::Write),
    Read(read::Read),
    Picture(picture::Picture),
}

impl Audio {
    pub(super) fn run(self, report: &mut Report) {
        match self.command {
            Command::Write(command) => command.run(report),
            Command::Read(command) => command.run(report),
            Command::Picture(command) => command.run(report),
        }
    }
}
