//! `manual`: the manual pages, one a command.

use std::io;
use std::path::PathBuf;

use clap::{Args, Command};
use clap_mangen::Man;

use super::outputs::Outputs;
use super::report::Report;
use coldwright::notation::counted;
use coldwright::source::{Code, Diagnostic};

/// Write the manual pages, one for each command
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright manual -o man1\n  coldwright manual -o man1 --json\n\n\
    Read one with `man -l man1/coldwright.1`; put them into a folder `man1` where `man` looks.")]
pub struct Manual {
    /// The folder for the pages; made if it is not there
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
}

impl Manual {
    /// Writes the pages of the command line that `arguments` describes.
    pub(super) fn run(self, arguments: Command, report: &mut Report) {
        if let Err(problem) = self.write(arguments, report) {
            report.problem(problem);
        }
    }

    fn write(&self, arguments: Command, report: &mut Report) -> Result<(), Diagnostic> {
        let refuse = |error: io::Error| {
            Diagnostic::error(Code::FileUnwritable, format!("cannot make `{}`: {error}", self.output.display()))
        };
        let mut root = arguments.disable_help_subcommand(true);
        root.build();
        let mut pages = Vec::new();
        add_pages(&root, &mut pages).map_err(refuse)?;
        let mut outputs = Outputs::default();
        let count = pages.len();
        for (name, page) in pages {
            outputs.add(self.output.join(name), page);
        }
        outputs.commit_in(&self.output, report)?;
        report.print(match report.json() {
            true => format!("{}\n", serde_json::json!({ "folder": self.output, "pages": count })),
            false => format!("{} in `{}`\n", counted(count, "page"), self.output.display()),
        });
        Ok(())
    }
}

/// The page of a command and those of the commands below it, by the names of their files.
fn add_pages(command: &Command, pages: &mut Vec<(String, Vec<u8>)>) -> io::Result<()> {
    let man = Man::new(command.clone());
    let mut page = Vec::new();
    man.render(&mut page)?;
    pages.push((man.get_filename(), page));
    command.get_subcommands().try_for_each(|below| add_pages(below, pages))
}
