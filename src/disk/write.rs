//! `disk write`: images into the areas of a disk.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use crate::files;
use crate::input::{ProgramOptions, load_image};
use crate::layouts::load_layout;
use crate::notation_options::NotationOptions;
use crate::outputs::{Outputs, is_standard_output};
use crate::report::Report;
use coldwright::disk::write::{Program, Written, formatted, put};
use coldwright::disk::{Disk, Form, Layout};
use coldwright::notation::{Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap, nearest};

/// Write programs into the areas of a disk
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk write boot=chimes.asm --layout holes-32 -o chimes.disk\n  \
    coldwright disk write program=chimes.asm --layout holes-32 --onto chimes.disk -o both.disk")]
pub struct Write {
    /// An area of the layout and its program: an assembly source, or an image of any format. Without any, a blank disk
    #[arg(value_name = "AREA=FILE", value_parser = placed)]
    programs: Vec<Placed>,
    #[command(flatten)]
    options: ProgramOptions,
    /// The layout: a bundled one (see `disk layout`) or a file that ends with .toml
    #[arg(long, value_name = "LAYOUT", default_value = "holes-32")]
    layout: String,
    /// Where to write the disk, its sectors by track and number; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Keep what this disk has outside of the areas that are written
    #[arg(long, value_name = "DISK")]
    onto: Option<PathBuf>,
    /// Write the data of each sector alone, without marks, numbers and checks
    #[arg(long, conflicts_with = "onto")]
    data_alone: bool,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

/// A program and the name of its area.
#[derive(Clone, Debug)]
struct Placed {
    area: String,
    path: PathBuf,
}

fn placed(text: &str) -> Result<Placed, String> {
    match text.split_once('=') {
        Some((area, path)) if !area.is_empty() && !path.is_empty() => {
            Ok(Placed { area: area.to_owned(), path: path.into() })
        }
        _ => Err("expected the name of an area, `=` and a file, as in `boot=loader.asm`".to_owned()),
    }
}

impl Write {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let Some(layout) = load_layout(&self.layout, self.notation, report) else { return };
        let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
        let disk = match self.disk(&layout) {
            Ok(disk) => Some(disk),
            Err(problem) => {
                problems.push(problem);
                None
            }
        };
        let mut disk = disk.unwrap_or_else(|| formatted(&layout, Form::Whole));
        let written = self.put(&layout, &mut disk, &mut sources, &mut problems);
        let said = self.said(&layout, &disk, &written, report.json());
        let mut outputs = Outputs::default();
        if !problems.has_errors() {
            outputs.add(&self.output, disk.into_bytes());
        }
        if outputs.finish(problems, &sources, report) && !is_standard_output(&self.output) {
            report.print(said);
        }
    }

    /// The disk to be written on.
    fn disk(&self, layout: &Layout) -> Result<Disk, Diagnostic> {
        match &self.onto {
            Some(path) => Disk::from_bytes(layout, files::read(path)?),
            None => Ok(formatted(layout, if self.data_alone { Form::Data } else { Form::Whole })),
        }
    }

    fn put<'a>(
        &'a self,
        layout: &Layout,
        disk: &mut Disk,
        sources: &mut SourceMap,
        problems: &mut Diagnostics,
    ) -> Vec<(&'a Placed, Written)> {
        let mut written = Vec::new();
        for (at, placed) in self.programs.iter().enumerate() {
            let (image, found) = load_image(&placed.path, &self.options, sources);
            problems.append(found);
            let Some(area) = layout.area(&placed.area) else {
                problems.push(unknown_area(layout, &placed.area));
                continue;
            };
            if self.programs[..at].iter().any(|other| other.area == placed.area) {
                let headline = format!("two programs are for the area `{}`", placed.area);
                problems.push(Diagnostic::error(Code::DiskUnfit, headline).with_help("one area holds one program"));
                continue;
            }
            let Some(image) = image else { continue };
            let name = placed.path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
            match put(layout, disk, &Program { name: &name, image: &image, area }, self.notation) {
                Ok(done) => {
                    if image.entry.is_some() && !done.carries_entry {
                        let headline = format!("the entry of `{name}` is not on the disk");
                        let note = format!("`{}` has no field for it: the loader must know it", layout.name);
                        problems.push(Diagnostic::note(Code::DiskUnfit, headline).with_note(note));
                    }
                    written.push((placed, done));
                }
                Err(found) => problems.append(found),
            }
        }
        written
    }

    fn said(&self, layout: &Layout, disk: &Disk, written: &[(&Placed, Written)], json: bool) -> String {
        let bytes = disk.sectors() * disk.form.cell(layout);
        let form = match disk.form {
            Form::Whole => "whole sectors",
            Form::Data => "the data of each sector alone",
        };
        if json {
            let programs: Vec<_> = written
                .iter()
                .map(|(placed, it)| json!({ "area": placed.area, "sectors": it.sectors.len(), "bytes": it.bytes }))
                .collect();
            let whole = disk.form == Form::Whole;
            let object = json!({ "layout": layout.name, "bytes": bytes, "whole": whole, "programs": programs });
            return format!("{object}\n");
        }
        let mut out = String::new();
        for (placed, it) in written {
            let (first, last) = (it.sectors.first(), it.sectors.last());
            let place = |spot: Option<&(coldwright::record::Spot, _, _)>| {
                spot.map(|(spot, _, _)| super::verdicts::place(*spot, self.notation)).unwrap_or_default()
            };
            let _ = writeln!(
                out,
                "{}: {} in {}, from {} to {}",
                placed.area,
                counted(it.bytes, "byte"),
                counted(it.sectors.len(), "sector"),
                place(first),
                place(last)
            );
        }
        let _ = writeln!(out, "{bytes} bytes: {} sectors by track and number, {form}", disk.sectors());
        out
    }
}

/// What is said of an area that the layout does not have.
pub(super) fn unknown_area(layout: &Layout, name: &str) -> Diagnostic {
    let names: Vec<_> = layout.areas.iter().map(|area| area.name.as_str()).collect();
    let problem = Diagnostic::error(Code::DiskUnfit, format!("layout `{}` has no area `{name}`", layout.name));
    match nearest(name, names.iter().copied()) {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None if names.is_empty() => problem.with_help("it has none: add an `[[area]]` to the layout file"),
        None => problem.with_help(format!("it has: {}", names.join(", "))),
    }
}
