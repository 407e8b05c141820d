//! `disk picture`: a layout drawn, with what a disk of it has.

use std::path::PathBuf;

use clap::Args;

use crate::files;
use crate::layouts::load_layout;
use crate::notation_options::NotationOptions;
use crate::outputs::Outputs;
use crate::pages::{PaperWord, add_drawing};
use crate::report::Report;
use coldwright::disk::picture::{Subject, draw};
use coldwright::disk::{Disk, read};
use coldwright::notation::Notation;

/// Draw a disk: its holes and sectors at their angles, its areas, and what stands where
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk picture --layout holes-32 -o holes.pdf\n  \
    coldwright disk picture chimes.disk --layout holes-32 -o chimes.svg")]
pub struct Picture {
    /// The disk file, whose sectors are judged; without it the layout alone is drawn. `-` reads standard input
    #[arg(value_name = "DISK")]
    disk: Option<PathBuf>,
    /// The layout: a bundled one (see `disk layout`) or a file that ends with .toml
    #[arg(long, value_name = "LAYOUT", default_value = "holes-32")]
    layout: String,
    /// Where to draw it, by extension: .pdf, .html, .svg (a file a page); may be given several times
    #[arg(short, long = "output", value_name = "FILE", required = true)]
    outputs: Vec<PathBuf>,
    /// The title; else the disk's file name, or the layout's name
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// The paper of the pages
    #[arg(long, value_enum, default_value = "a4")]
    paper: PaperWord,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

impl Picture {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let Some(layout) = load_layout(&self.layout, self.notation, report) else { return };
        let disk = self.disk.as_ref().map(|path| files::read(path).and_then(|bytes| Disk::from_bytes(&layout, bytes)));
        let disk = match disk.transpose() {
            Ok(disk) => disk,
            Err(problem) => return report.problem(problem),
        };
        let (reading, crc) = (disk.as_ref().map(|disk| read::read(&layout, disk)), disk.as_ref().map(Disk::crc));
        let name = self.disk.as_ref().and_then(|path| Some(path.file_name()?.to_string_lossy().into_owned()));
        let title = self.title.clone().or(name).unwrap_or_else(|| layout.name.clone());
        let subject =
            Subject { layout: &layout, reading: reading.as_ref(), crc, title: &title, notation: self.notation };
        let drawing = draw(&subject, self.paper.size());
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            if let Err(problem) = add_drawing(&mut outputs, path, || &drawing, "") {
                return report.problem(problem);
            }
        }
        if let Err(problem) = outputs.commit(report) {
            report.problem(problem);
        }
    }
}
