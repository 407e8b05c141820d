//! `tape read`: the bytes of a tape back to images, with a verdict for every block.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::{Value, json};

use super::images::Images;
use super::stretches::{self, Bounds};
use super::verdicts;
use crate::files;
use crate::framings::load_framing;
use crate::notation_options::NotationOptions;
use crate::outputs::{Outputs, is_standard_output};
use crate::report::Report;
use crate::values;
use coldwright::notation::{Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};
use coldwright::tape::framing::{Framing, Merged, ProgramRead, Reading, Short, StretchKind, decode, merge, short};

/// Read a tape back to images, with a verdict for every block
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright tape read chimes.tape --framing blocks -o chimes.hex\n  \
    coldwright tape read first.tape second.tape third.tape --framing blocks -o chimes.hex")]
pub struct Read {
    /// The tape, one byte a frame; several readings of one tape are merged block by block; `-` reads standard input
    #[arg(required = true, value_name = "TAPE")]
    tapes: Vec<PathBuf>,
    /// The framing: a bundled one (see `tape framing`) or a file that ends with .toml
    #[arg(long, value_name = "FRAMING", default_value = "blocks")]
    framing: String,
    /// Write the program as an image, its format chosen by the extension; several programs are numbered: FILE-1, FILE-2
    #[arg(short, long = "output", value_name = "FILE")]
    outputs: Vec<PathBuf>,
    /// Write the good blocks even if others are damaged or missing
    #[arg(long)]
    partial: bool,
    /// Byte for the gaps in a raw binary; without it, gaps are refused
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    fill: Option<u8>,
    /// Print every stretch of a tape, however many there are
    #[arg(long)]
    all: bool,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

/// What the tapes told, each and together.
struct Found {
    readings: Vec<Reading>,
    /// Of each reading, the leader and gaps that are shorter than described.
    shorts: Vec<Vec<Short>>,
    /// No frame has a hole in track 8.
    is_blank_in_8: bool,
    merged: Merged,
}

impl Read {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let Some(framing) = load_framing(&self.framing, self.notation, report) else { return };
        let Some(found) = self.read(&framing, report) else { return };
        if !self.outputs.iter().any(|output| is_standard_output(output)) {
            report.print(if report.json() { json(&found) } else { self.text(&found) });
        }
        let whole = found.merged.is_whole();
        let mut problems = Diagnostics::default();
        problems.extend(verdicts::doubts(&found.merged, self.notation));
        if !whole {
            problems.push(self.damage(&found));
        }
        let mut sources = SourceMap::default();
        let mut outputs = Outputs::default();
        if whole || self.partial {
            let made_from = self.tapes[0].display().to_string();
            let images =
                Images { programs: &found.merged.programs, made_from, notation: self.notation, fill: self.fill };
            images.add(&self.outputs, &mut sources, &mut problems, &mut outputs);
        }
        if whole || !self.partial {
            outputs.finish(problems, &sources, report);
            return;
        }
        // What is good was asked for, whatever else is not.
        if let Err(problem) = outputs.commit(report) {
            problems.push(problem);
        }
        report.problems(problems, &sources);
    }

    fn read(&self, framing: &Framing, report: &mut Report) -> Option<Found> {
        let (mut readings, mut shorts, mut is_blank_in_8) = (Vec::new(), Vec::new(), true);
        for path in &self.tapes {
            let tape = files::read(path).map_err(|problem| report.problem(problem)).ok()?;
            if files::is_recording(&tape) {
                report.problem(recording(path, &self.framing));
                return None;
            }
            is_blank_in_8 &= tape.iter().all(|frame| frame & 0o200 == 0);
            let reading = decode(framing, &tape);
            shorts.push(short(framing, &reading));
            readings.push(reading);
        }
        let merged = if let [reading] = &readings[..] { Merged::from(reading) } else { merge(framing, &readings) };
        Some(Found { readings, shorts, is_blank_in_8, merged })
    }

    fn text(&self, found: &Found) -> String {
        let mut out = String::new();
        for ((path, reading), shorts) in self.tapes.iter().zip(&found.readings).zip(&found.shorts) {
            let frames = reading.stretches.last().map_or(0, |last| last.range.end);
            let _ = writeln!(out, "{}: {}", path.display(), counted(frames, "frame"));
            out += &stretches::stretches(reading, Bounds::of(self.all), self.notation);
            out += &stretches::shorter(shorts);
        }
        if found.readings.len() > 1 {
            let _ = writeln!(out, "{} readings merged:", found.readings.len());
        }
        out += &verdicts::merged(&found.merged, self.notation);
        out
    }

    fn damage(&self, found: &Found) -> Diagnostic {
        let names: Vec<_> = self.tapes.iter().map(|path| format!("`{}`", path.display())).collect();
        let names = names.join(", ");
        let programs = &found.merged.programs;
        if programs.is_empty() {
            let headline = format!("no block of `{}` was found on {names}", self.framing);
            return Diagnostic::error(Code::TapeDamaged, headline)
                .with_help("is it this framing? `coldwright tape framing` lists them");
        }
        let blocks = || programs.iter().flat_map(|program| &program.blocks);
        let good = blocks().filter(|block| block.is_good()).count();
        let damaged = blocks().count() - good;
        let missing: usize = programs.iter().map(|program| program.missing.len()).sum();
        let headline = format!("{names} could not be read whole: {good} good, {damaged} damaged, {missing} missing");
        let strays = if found.merged.has_strays() { self.strays(found) } else { Vec::new() };
        let looks = if strays.is_empty() { "" } else { "look at the tape there; " };
        let mut problem = strays
            .iter()
            .take(MOST_STRAYS)
            .fold(Diagnostic::error(Code::TapeDamaged, headline), |it, note| it.with_note(note));
        if strays.len() > MOST_STRAYS {
            problem = problem.with_note(format!("and {} more", counted(strays.len() - MOST_STRAYS, "such place")));
        }
        problem = verdicts::objections(&found.merged, self.notation).into_iter().fold(problem, Diagnostic::with_note);
        let is_whole_but_for_strays =
            |program: &ProgramRead| ProgramRead { strays: Vec::new(), ..program.clone() }.is_whole();
        if !strays.is_empty() && programs.iter().all(is_whole_but_for_strays) {
            problem =
                problem.with_note("if that is a label or a splice, nothing is lost: `--partial` writes what was read");
        }
        if let Some(note) = verdicts::on_track_8(blocks(), found.is_blank_in_8) {
            problem = problem.with_note(note);
        }
        let written = self.partial || self.outputs.is_empty();
        if !written {
            problem = problem.with_note("no image was written");
        }
        problem.with_help(match written {
            _ if !found.merged.contradictions.is_empty() => {
                "give readings of one tape together, and leave out what is of another".into()
            }
            _ if good == 0 => {
                "is it this framing? `coldwright tape framing` lists them; else read the tape again, and give all \
                 readings together: they are merged"
                    .into()
            }
            true => format!("{looks}read the tape again and give all readings together: they are merged"),
            false => format!(
                "{looks}read the tape again and give all readings together, or take what is good with `--partial`"
            ),
        })
    }

    /// What nothing explains, on each tape.
    fn strays(&self, found: &Found) -> Vec<String> {
        let tapes = self.tapes.iter().zip(&found.readings);
        let notes = tapes.flat_map(|(path, reading)| {
            let of = if self.tapes.len() > 1 { format!(" of `{}`", path.display()) } else { String::new() };
            verdicts::strays(reading, |range| match range.len() {
                1 => format!("frame {}{of}", range.start),
                _ => format!("frames {} to {}{of}", range.start, range.end - 1),
            })
        });
        notes.collect()
    }
}

/// What is said of a recording that is given for the frames of a tape.
fn recording(path: &Path, framing: &str) -> Diagnostic {
    let shown = path.display();
    Diagnostic::error(Code::FormatUnknown, format!("`{shown}` is a recording, and not the frames of a tape"))
        .with_help(format!("`coldwright audio read {shown} --framing {framing}` listens to it"))
}

/// Places that are named; more of them are counted.
const MOST_STRAYS: usize = 5;

fn json(found: &Found) -> String {
    let readings: Vec<_> =
        found.readings.iter().zip(&found.shorts).map(|(reading, shorts)| reading_json(reading, shorts)).collect();
    let merged = &found.merged;
    let programs: Vec<_> = merged.programs.iter().map(verdicts::program_json).collect();
    let object = json!({
        "readings": readings, "programs": programs, "contradictions": merged.contradictions.len(),
        "unlike": merged.unlike.len(), "apart": merged.apart.len(), "twice": merged.twice.len(),
        "whole": merged.is_whole(),
    });
    format!("{object}\n")
}

fn reading_json(reading: &Reading, shorts: &[Short]) -> Value {
    let noise = reading.stretches.iter().filter_map(|stretch| match stretch.kind {
        StretchKind::Noise(noise) => Some((&stretch.range, noise)),
        _ => None,
    });
    let noise = noise
        .map(|(range, noise)| json!({ "start": range.start, "end": range.end, "is": verdicts::noise_word(noise) }));
    json!({
        "programs": reading.programs.iter().map(verdicts::program_json).collect::<Vec<_>>(),
        "noise": noise.collect::<Vec<_>>(), "shorter": shorts.iter().map(stretches::short_json).collect::<Vec<_>>(),
        "flaws": reading.flaws, "unexplained": reading.strays.iter().map(verdicts::stray_json).collect::<Vec<_>>(),
    })
}
