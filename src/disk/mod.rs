//! `disk`: programs on a disk, back from it, and as a picture.

mod interleave;
mod layout;
mod picture;
mod read;
mod verdicts;
mod write;

use clap::{Args, Subcommand};

use super::report::Report;

/// Write programs on a disk, read them back, draw the disk
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk write boot=chimes.asm --layout holes-32 -o chimes.disk\n  \
    coldwright disk read chimes.disk --layout holes-32 --area boot -o chimes-again.hex")]
pub struct Disk {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Write(write::Write),
    Read(read::Read),
    Picture(picture::Picture),
    Layout(layout::Show),
    Interleave(interleave::Interleave),
}

impl Disk {
    pub(super) fn run(self, report: &mut Report) {
        match self.command {
            Command::Write(command) => command.run(report),
            Command::Read(command) => command.run(report),
            Command::Picture(command) => command.run(report),
            Command::Layout(command) => command.run(report),
            Command::Interleave(command) => command.run(report),
        }
    }
}
