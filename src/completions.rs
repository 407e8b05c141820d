//! `completions`: what a shell needs to complete the command line.

use clap::{Args, Command};
use clap_complete::Shell;

use super::report::Report;

/// Print the completions of the command line for a shell
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright completions bash > coldwright.bash\n  \
    coldwright completions fish > coldwright.fish\n\n\
    Put the file where your shell looks for completions, or source it in its start file.")]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    /// Prints them for the command line that `arguments` describes.
    pub(super) fn run(self, mut arguments: Command, report: &mut Report) {
        let mut text = Vec::new();
        clap_complete::generate(self.shell, &mut arguments, "coldwright", &mut text);
        report.print(text);
    }
}
