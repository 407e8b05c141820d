//! `convert`: an image from one format into others.

use std::path::PathBuf;

use clap::Args;

use super::input::{ProgramOptions, load_image};
use super::outputs::Outputs;
use super::report::Report;
use super::values;
use coldwright::image::format::Format;
use coldwright::image::raw::Gaps;
use coldwright::source::{Code, Diagnostic, SourceMap};

/// Convert an image into other formats
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright convert rooster.hex -o rooster.s19 -o rooster.bin --fill 0xFF\n  \
    coldwright convert rooster.bin --origin 0o177000 -o rooster.elf")]
pub struct Convert {
    /// The program: an assembly source or an image of any format; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    options: ProgramOptions,
    /// File to write, its format chosen by its extension; may be given several times
    #[arg(short, long, value_name = "FILE", required = true)]
    output: Vec<PathBuf>,
    /// Format of every output, whatever its name; needed for `-`, standard output
    #[arg(long, value_name = "FORMAT", value_parser = values::format)]
    to: Option<Format>,
    /// Byte for the gaps between extents in a raw binary; without it, gaps are refused
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    fill: Option<u8>,
}

impl Convert {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let (image, mut problems) = load_image(&self.file, &self.options, &mut sources);
        if image.as_ref().is_some_and(|image| image.is_empty()) {
            let headline = format!("`{}` holds no byte", self.file.display());
            problems.push(Diagnostic::warning(Code::NothingToDeposit, headline));
        }
        let gaps = self.fill.map_or(Gaps::Refuse, Gaps::Fill);
        let mut outputs = Outputs::default();
        for path in &self.output {
            let name = path.display().to_string();
            let format = match self.to.map_or_else(|| Format::for_output(&name), Ok) {
                Ok(format) => format,
                Err(problem) => {
                    problems.push(problem);
                    continue;
                }
            };
            let Some(image) = &image else { continue };
            problems.extend(format.losses(image, &name));
            match format.write(image, gaps) {
                Ok(bytes) => outputs.add(path, bytes),
                Err(problem) => problems.push(problem),
            }
        }
        outputs.finish(problems, &sources, report);
    }
}
