//! How a command that needs no machine writes addresses and bytes: as an option says, or as the machine file does.

use std::path::PathBuf;

use clap::Args;

use super::report::Report;
use super::sockets::read_machine;
use super::values;
use coldwright::notation::Notation;
use coldwright::source::SourceMap;

/// The notation, or a machine file that has it.
#[derive(Args, Clone, Debug, Default)]
pub struct NotationOptions {
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says, or octal
    #[arg(long, value_name = "NOTATION", value_parser = values::notation)]
    notation: Option<Notation>,
    /// The machine file, whose panel says how addresses and bytes are written
    #[arg(long, value_name = "FILE")]
    machine: Option<PathBuf>,
}

impl NotationOptions {
    /// The notation; `None` if the machine file has mistakes, which are reported.
    pub fn resolve(&self, report: &mut Report) -> Option<Notation> {
        let Some(path) = &self.machine else { return Some(self.notation.unwrap_or_default()) };
        let mut sources = SourceMap::default();
        match read_machine(path, &mut sources) {
            Ok(machine) => Some(self.notation.unwrap_or(machine.panel.notation)),
            Err(problems) => {
                report.problems(problems, &sources);
                None
            }
        }
    }
}
