//! `disk read`: a verdict for every sector, and the program of an area.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::verdicts;
use super::write::unknown_area;
use crate::files;
use crate::layouts::load_layout;
use crate::notation_options::NotationOptions;
use crate::outputs::{Outputs, is_standard_output};
use crate::report::Report;
use crate::tape::images::add_image;
use crate::values;
use coldwright::disk::read::{Gap, Reading, Taken, Verdict, read, take};
use coldwright::disk::{Disk, Form, Layout};
use coldwright::image::Image;
use coldwright::image::raw::Gaps;
use coldwright::notation::{Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceMap};

/// Read a disk, with a verdict for every sector, and take a program off it
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright disk read chimes.disk --layout holes-32\n  \
    coldwright disk read chimes.disk --layout holes-32 --area boot -o boot.hex")]
pub struct Read {
    /// The disk file: its sectors by track and number; `-` reads standard input
    #[arg(value_name = "DISK")]
    disk: PathBuf,
    /// The layout: a bundled one (see `disk layout`) or a file that ends with .toml
    #[arg(long, value_name = "LAYOUT", default_value = "holes-32")]
    layout: String,
    /// The area whose program is taken
    #[arg(long, value_name = "AREA", requires = "outputs")]
    area: Option<String>,
    /// Write the program as an image, its format chosen by the extension
    #[arg(short, long = "output", value_name = "FILE", requires = "area")]
    outputs: Vec<PathBuf>,
    /// Write what could be read even if sectors are damaged or missing
    #[arg(long)]
    partial: bool,
    /// Byte for the gaps in a raw binary; without it, gaps are refused
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    fill: Option<u8>,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

impl Read {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let Some(layout) = load_layout(&self.layout, self.notation, report) else { return };
        let disk = files::read(&self.disk).and_then(|bytes| Disk::from_bytes(&layout, bytes));
        let disk = match disk {
            Ok(disk) => disk,
            Err(problem) => return report.problem(problem),
        };
        let reading = read(&layout, &disk);
        if !self.outputs.iter().any(|output| is_standard_output(output)) {
            report.print(self.said(&layout, &disk, &reading, report.json()));
        }
        let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
        let mut outputs = Outputs::default();
        match &self.area {
            None if !reading.is_sound() => problems.push(self.damage(&reading)),
            None => {}
            Some(name) => match layout.area(name) {
                None => problems.push(unknown_area(&layout, name)),
                Some(area) => {
                    let taken = take(&layout, &disk, &reading, area);
                    if let Some(problem) = self.taken(name, &layout, &disk, &taken, &mut problems) {
                        if self.partial && !taken.pieces.is_empty() {
                            // What is good was asked for, whatever else is not.
                            self.images(&taken, &mut sources, &mut problems, &mut outputs);
                            let committed = outputs.commit(report);
                            problems.extend(committed.err());
                            problems.push(problem);
                            return report.problems(problems, &sources);
                        }
                        problems.push(problem);
                    } else {
                        self.images(&taken, &mut sources, &mut problems, &mut outputs);
                    }
                }
            },
        }
        outputs.finish(problems, &sources, report);
    }

    fn said(&self, layout: &Layout, disk: &Disk, reading: &Reading, json: bool) -> String {
        if json {
            let whole = disk.form == Form::Whole;
            let mut object = json!({ "layout": layout.name, "whole": whole });
            object["read"] = verdicts::json(layout, reading);
            return format!("{object}\n");
        }
        let form = match disk.form {
            Form::Whole => String::new(),
            Form::Data => "the file has the data of each sector alone: nothing proves them\n".to_owned(),
        };
        format!(
            "{}: layout `{}`\n{form}{}",
            self.disk.display(),
            layout.name,
            verdicts::text(layout, reading, self.notation)
        )
    }

    fn damage(&self, reading: &Reading) -> Diagnostic {
        let bad = reading.count(|verdict| matches!(verdict, Verdict::Damaged(..) | Verdict::Elsewhere(_)));
        let should = if bad == 1 { "is not as it should be" } else { "are not as they should be" };
        let headline = format!("{} of `{}` {should}", counted(bad, "sector"), self.disk.display());
        let problem = Diagnostic::error(Code::DiskDamaged, headline);
        match reading.count(Verdict::is_readable) {
            0 if bad > 1 => {
                problem.with_help("no sector can be read: is it this layout? `coldwright disk layout` lists them")
            }
            _ => problem.with_help("read the disk again; where one wrong bit is named, look whether it is the one"),
        }
    }

    /// Says what was taken; returns what speaks against writing it.
    fn taken(
        &self,
        name: &str,
        layout: &Layout,
        disk: &Disk,
        taken: &Taken,
        problems: &mut Diagnostics,
    ) -> Option<Diagnostic> {
        if !taken.says_its_end && taken.gaps.is_empty() {
            let headline = format!("nothing on the disk tells where the program of `{name}` ends");
            let bytes = taken.sectors * layout.data_bytes();
            let note =
                format!("what is written of the area was taken: {} of {bytes} bytes", counted(taken.sectors, "sector"));
            problems.push(Diagnostic::note(Code::DiskUnfit, headline).with_note(note));
        }
        if disk.form == Form::Data && layout.area(name).is_some_and(|area| area.load.is_none()) {
            let headline = format!("the data alone do not tell where `{name}` is loaded");
            let note = "its addresses stand in the sectors, of which the file has the data only";
            return Some(
                Diagnostic::error(Code::DiskUnfit, headline).with_note(note).with_help("read a file of whole sectors"),
            );
        }
        if taken.gaps.is_empty() {
            return None;
        }
        let bad = taken.gaps.len();
        let headline =
            format!("the program of `{name}` could not be taken whole: {} in the way", counted(bad, "place"));
        let problem =
            taken.gaps.iter().take(MOST_GAPS).fold(Diagnostic::error(Code::DiskDamaged, headline), |it, gap: &Gap| {
                it.with_note(verdicts::gap(gap, self.notation))
            });
        let problem = match bad.saturating_sub(MOST_GAPS) {
            0 => problem,
            more => problem.with_note(format!("and {more} more")),
        };
        Some(match self.partial {
            true => problem.with_help("what could be read was written; the rest is missing"),
            false => problem
                .with_note("no image was written")
                .with_help("read the disk again, or take what is good with `--partial`"),
        })
    }

    fn images(&self, taken: &Taken, sources: &mut SourceMap, problems: &mut Diagnostics, outputs: &mut Outputs) {
        let made_by = Position { source: sources.add(self.disk.display().to_string(), "", Origin::Given), offset: 0 };
        let gaps = self.fill.map_or(Gaps::Refuse, Gaps::Fill);
        let image = image(taken, made_by);
        self.outputs.iter().for_each(|path| add_image(path, &image, gaps, problems, outputs));
    }
}

/// Reasons that are named; more of them are counted.
const MOST_GAPS: usize = 10;

/// The program as an image. What two sectors carry for one address is the same, or was told.
fn image(taken: &Taken, made_by: Position) -> Image {
    let mut image = Image::default();
    image.entry = taken.entry;
    for (base, bytes) in &taken.pieces {
        for (at, &byte) in bytes.iter().enumerate() {
            let address = base.wrapping_add(at as u16);
            if image.byte(address).is_none() {
                let inserted = image.insert(address, &[byte], made_by);
                debug_assert!(inserted.is_ok(), "the address is free");
            }
        }
    }
    image
}
