//! `fit`: whether an image fits its ROM sockets.

use std::path::{Path, PathBuf};

use clap::Args;

use super::files::{self, Outputs};
use super::report::Report;
use super::sockets::{SocketOptions, notation};
use crate::notation::{Notation, parse_number};
use crate::rom::{self, Fit as Figures};
use crate::source::{Code, Diagnostic};

/// Measure an image against ROM sockets: used, free, the largest routines, and every byte that does not fit
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright fit rooster.hex --socket U7=2704@0o177000\n  \
    coldwright fit rooster.hex --socket U7=2704@0o177000 --spare 16 --against last-week.json")]
pub struct Fit {
    /// The image
    image: PathBuf,
    /// The address of the first byte, for a raw binary
    #[arg(long, value_parser = parse_number, value_name = "ADDRESS", default_value = "0")]
    origin: u16,
    #[command(flatten)]
    sockets: SocketOptions,
    /// Demand so many free bytes in every socket
    #[arg(long, value_name = "BYTES", default_value_t = 0)]
    spare: usize,
    /// Compare with figures saved earlier, and say what grew and what shrank
    #[arg(long, value_name = "FILE")]
    against: Option<PathBuf>,
    /// Save the figures as JSON
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    /// Routines to list for each socket
    #[arg(long, value_name = "COUNT", default_value_t = 8)]
    routines: usize,
    /// How to write addresses: octal, split or hex
    #[arg(long, value_parser = notation, default_value = "octal")]
    notation: Notation,
}

impl Fit {
    pub(super) fn run(self, report: &mut Report) {
        let sockets = self.sockets.resolve(report);
        let image = super::rom_input::load(&self.image, self.origin, report);
        let before = self.against.as_deref().map(|path| saved(path).map_err(|problem| report.problem(problem)));
        let (Some(sockets), Some((image, sources)), Ok(before)) = (sockets, image, before.transpose()) else { return };
        let (figures, problems) = rom::fit(&image, &sockets, self.spare, self.notation);
        let changes = before.map(|before| rom::changes(&before, &figures));
        let saved = json_line(&figures);
        if report.json() {
            report.print(&saved);
            if let Some(changes) = &changes {
                report.print(json_line(&serde_json::json!({ "changes": changes })));
            }
        } else {
            report.print(rom::fit_text(&figures, &image, &sockets, self.notation, self.routines));
            if let Some(changes) = &changes {
                report.print(format!("\nsince then:\n{}", rom::changes_text(changes)));
            }
        }
        report.problems(problems, &sources);
        if let Some(path) = self.output {
            let mut outputs = Outputs::default();
            outputs.add(path, saved);
            if let Err(problem) = outputs.commit() {
                report.problem(problem);
            }
        }
    }
}

/// A value as one line of JSON.
fn json_line(value: &impl serde::Serialize) -> String {
    // Plain data with string keys always serialises.
    serde_json::to_string(value).map(|line| line + "\n").unwrap_or_default()
}

fn saved(path: &Path) -> Result<Figures, Diagnostic> {
    let bytes = files::read(path)?;
    // Only the first line: `fit --json --against` prints the changes on a second one.
    let line = bytes.split(|&byte| byte == b'\n').next().unwrap_or_default();
    serde_json::from_slice(line).map_err(|error| {
        let headline = format!("`{}` holds no saved figures of a fit", path.display());
        Diagnostic::error(Code::SavedUnreadable, headline)
            .with_note(format!("{error}"))
            .with_help("save them with `coldwright fit ... -o FILE`")
    })
}
