//! `tape read`: the bytes of a tape back to images, with a verdict for every block.

use std::fmt::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::{Value, json};

use super::images::Images;
use super::{load_framing, verdicts};
use crate::cli::files;
use crate::cli::outputs::{Outputs, is_standard_output};
use crate::cli::report::Report;
use crate::cli::values;
use crate::notation::{Notation, counted};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};
use crate::tape::framing::{Contradiction, Framing, ProgramRead, Reading, StretchKind, decode, merge};

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
    /// How addresses and bytes are written: octal, split or hex
    #[arg(long, value_name = "NOTATION", value_parser = values::notation, default_value = "octal")]
    notation: Notation,
}

/// What the tapes told.
struct Found {
    readings: Vec<Reading>,
    programs: Vec<ProgramRead>,
    contradictions: Vec<Contradiction>,
}

impl Read {
    pub(super) fn run(self, report: &mut Report) {
        let Some(framing) = load_framing(&self.framing, report) else { return };
        let Some(found) = self.read(&framing, report) else { return };
        if !self.outputs.iter().any(|output| is_standard_output(output)) {
            report.print(if report.json() { json(&found) } else { self.text(&found) });
        }
        let whole = !found.programs.is_empty()
            && found.programs.iter().all(ProgramRead::is_whole)
            && found.contradictions.is_empty();
        let mut problems = Diagnostics::default();
        if !whole {
            problems.push(self.damage(&found));
        }
        let mut sources = SourceMap::default();
        let mut outputs = Outputs::default();
        if whole || self.partial {
            let made_from = self.tapes[0].display().to_string();
            let images = Images { programs: &found.programs, made_from, notation: self.notation, fill: self.fill };
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
        let mut readings = Vec::new();
        for path in &self.tapes {
            let tape = files::read(path).map_err(|problem| report.problem(problem)).ok()?;
            readings.push(decode(framing, &tape));
        }
        if let [reading] = &readings[..] {
            let programs = reading.programs.clone();
            return Some(Found { readings, programs, contradictions: Vec::new() });
        }
        let merged = merge(framing, &readings);
        Some(Found { readings, programs: merged.programs, contradictions: merged.contradictions })
    }

    fn text(&self, found: &Found) -> String {
        let mut out = String::new();
        for (path, reading) in self.tapes.iter().zip(&found.readings) {
            let frames = reading.stretches.last().map_or(0, |last| last.range.end);
            let _ = writeln!(out, "{}: {}", path.display(), counted(frames, "frame"));
            out += &verdicts::stretches(reading, self.notation);
        }
        if found.readings.len() > 1 {
            let _ = writeln!(out, "{} readings merged:", found.readings.len());
        }
        for (index, program) in found.programs.iter().enumerate() {
            out += &verdicts::program(program, index, self.notation);
        }
        for contradiction in &found.contradictions {
            out += &verdicts::contradiction(contradiction, self.notation);
        }
        out
    }

    fn damage(&self, found: &Found) -> Diagnostic {
        let names: Vec<_> = self.tapes.iter().map(|path| format!("`{}`", path.display())).collect();
        let names = names.join(", ");
        if found.programs.is_empty() {
            let headline = format!("no block of `{}` was found on {names}", self.framing);
            return Diagnostic::error(Code::TapeDamaged, headline)
                .with_help("is it this framing? `coldwright tape framing` lists them");
        }
        let blocks = || found.programs.iter().flat_map(|program| &program.blocks);
        let good = blocks().filter(|block| block.is_good()).count();
        let damaged = blocks().count() - good;
        let missing: usize = found.programs.iter().map(|program| program.missing.len()).sum();
        let headline = format!("{names} could not be read whole: {good} good, {damaged} damaged, {missing} missing");
        let problem = Diagnostic::error(Code::TapeDamaged, headline);
        match self.partial || self.outputs.is_empty() {
            true => problem.with_help("read the tape again and give all readings together: they are merged"),
            false => problem
                .with_note("no image was written")
                .with_help("read the tape again and give all readings together, or take what is good with `--partial`"),
        }
    }
}

fn json(found: &Found) -> String {
    let readings: Vec<_> = found.readings.iter().map(reading_json).collect();
    let programs: Vec<_> = found.programs.iter().map(verdicts::program_json).collect();
    format!("{}\n", json!({ "readings": readings, "programs": programs, "contradictions": found.contradictions.len() }))
}

fn reading_json(reading: &Reading) -> Value {
    let noise = reading.stretches.iter().filter(|stretch| matches!(stretch.kind, StretchKind::Noise));
    let noise: Vec<_> = noise.map(|it| json!({ "start": it.range.start, "end": it.range.end })).collect();
    json!({ "programs": reading.programs.iter().map(verdicts::program_json).collect::<Vec<_>>(), "noise": noise })
}
