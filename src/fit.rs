//! `fit`: whether an image fits its ROM sockets.

use std::path::{Path, PathBuf};

use clap::Args;

use super::files;
use super::input::{ProgramOptions, load};
use super::outputs::Outputs;
use super::report::Report;
use super::shorten::could_save;
use super::sockets::{SocketMap, SocketOptions};
use coldwright::image::Image;
use coldwright::notation::counted;
use coldwright::rom::{self, Fit as Figures};
use coldwright::source::{Code, Diagnostic, SourceMap};

/// Measure an image against ROM sockets: used, free, and every byte that does not fit
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright fit rooster.hex --socket U7=2704@0o177000\n  \
    coldwright fit rooster.hex --socket U7=2704@0o177000 --spare 16 --against last-week.json")]
pub struct Fit {
    /// The program: an assembly source or an image of any format; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    options: ProgramOptions,
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
}

impl Fit {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let (map, mut problems) = self.sockets.resolve(&mut sources);
        let (image, said) = load(&self.file, &self.options, &mut sources);
        problems.append(said);
        let before = self.against.as_deref().map(saved).transpose().map_err(|problem| problems.push(problem));
        if let (Some(map), Some(image), Ok(before)) = (map, image, before) {
            let (figures, said) = rom::fit(&image.image, &map.sockets, self.spare, map.notation);
            problems.append(said);
            if !figures.fits && image.from_source {
                problems.extend(self.shorter());
            }
            let image = image.image;
            self.print(&figures, before.as_ref(), &image, &map, report);
            if let Some(path) = &self.output {
                let mut outputs = Outputs::default();
                outputs.add(path, json_line(&figures));
                problems.extend(outputs.commit(report).err());
            }
        }
        report.problems(problems, &sources);
    }

    /// What could be saved of a source that does not fit.
    fn shorter(&self) -> Option<Diagnostic> {
        if self.file == Path::new(files::STREAM) {
            return None;
        }
        let saves = could_save(&self.file, self.options.source()).filter(|&saves| saves > 0)?;
        let headline = format!("{} of `{}` could be saved", counted(saves, "byte"), self.file.display());
        let problem =
            Diagnostic::note(Code::CouldBeShorter, headline).with_note("each change is proved to change nothing else");
        Some(problem.with_help(format!("`coldwright shorten {}` shows where", self.file.display())))
    }

    fn print(&self, figures: &Figures, before: Option<&Figures>, image: &Image, map: &SocketMap, report: &mut Report) {
        let changes = before.map(|before| rom::changes(before, figures));
        if report.json() {
            report.print(json_line(figures));
            if let Some(changes) = &changes {
                report.print(json_line(&serde_json::json!({ "changes": changes })));
            }
            return;
        }
        report.print(rom::fit_text(figures, image, &map.sockets, map.notation, self.routines));
        if let Some(changes) = &changes {
            report.print(format!("\nsince then:\n{}", rom::changes_text(changes)));
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
