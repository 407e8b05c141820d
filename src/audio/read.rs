//! `audio read`: recordings of a tape back to its bytes, and through a framing to images.

use std::ops::Range;
use std::path::{Path, PathBuf};
use std::time::Duration;

use clap::Args;
use serde_json::json;

use super::heard;
use super::listen::{clock, cut_short, listen};
use super::tones::{ToneOptions, Tones};
use crate::files;
use crate::framings::load_framing;
use crate::outputs::Outputs;
use crate::report::Report;
use crate::tape::images::Images;
use crate::tape::stretches::Bounds;
use crate::tape::verdicts;
use crate::values;
use coldwright::audio;
use coldwright::notation::{Notation, counted};
use coldwright::source::{Code, Diagnostic, Diagnostics, Severity, SourceMap};
use coldwright::tape::framing::{End, Framing, Merged, Part, ProgramRead, Reading, merge};
use coldwright::tape::recording::Recording;
use coldwright::tape::splice::splice;

/// Read recordings of a tape back to its bytes, or through a framing to images
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright audio read chimes.wav -o chimes.tape\n  \
    coldwright audio read worn.wav again.wav --framing blocks -o chimes.hex")]
pub struct Read {
    /// WAV files of any rate, width and number of channels; several recordings of one tape are merged block by block; `-`
    /// reads standard input
    #[arg(required = true)]
    recordings: Vec<PathBuf>,
    #[command(flatten)]
    tones: ToneOptions,
    /// The framing: a bundled one (see `tape framing`) or a file that ends with .toml
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// Where to write: the bytes of the tape if the name ends with .tape, else an image, which needs the framing
    #[arg(short, long = "output", value_name = "FILE")]
    outputs: Vec<PathBuf>,
    /// Leave out what comes before this time, such as another program of another framing
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    from: Option<Duration>,
    /// Leave out what comes after this time
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    to: Option<Duration>,
    /// Write what is good even if other blocks are damaged or missing
    #[arg(long)]
    partial: bool,
    /// Byte for the gaps in a raw binary; without it, gaps are refused
    #[arg(long, value_name = "BYTE", value_parser = values::byte, requires = "framing")]
    fill: Option<u8>,
    /// Print all that was heard of a recording, however much it is
    #[arg(long)]
    all: bool,
    /// How addresses and bytes are written: octal, split or hex; else as the machine file says
    #[arg(long = "notation", value_name = "NOTATION", value_parser = values::notation)]
    written: Option<Notation>,
    #[arg(skip)]
    notation: Notation,
}

impl Read {
    pub(super) fn run(mut self, report: &mut Report) {
        self.notation = self.written.or_else(|| self.tones.notation()).unwrap_or_default();
        if let Err(problem) = self.read(report) {
            report.problem(problem);
        }
    }

    fn read(&self, report: &mut Report) -> Result<(), Diagnostic> {
        self.refuse_what_needs_a_framing()?;
        let Some(Tones { modulation, .. }) = self.tones.resolve(report) else { return Ok(()) };
        let framing = match &self.framing {
            Some(name) => match load_framing(name, self.notation, report) {
                Some(framing) => Some(framing),
                None => return Ok(()),
            },
            None => None,
        };
        let mut all = Vec::new();
        for path in &self.recordings {
            let heard = listen(path, files::open(path)?, &modulation, report)?.within(self.span());
            if heard.bytes.is_empty() {
                let headline = format!("no byte was heard on `{}`", path.display());
                let problem = Diagnostic::error(Code::RecordingUnreadable, headline);
                return Err(
                    problem.with_help("is it this pair of tones? `coldwright audio read --help` lists the presets")
                );
            }
            all.push(heard);
        }
        let cut: Vec<_> =
            self.recordings.iter().zip(&all).filter_map(|(path, heard)| self.cut_short(path, heard)).collect();
        match framing {
            Some(framing) => self.framed(&framing, all, cut, report),
            None => all.into_iter().for_each(|heard| self.plain(&heard, &cut, report)),
        }
        Ok(())
    }

    /// What is said of a recording that ends before its header says, unless nothing was wanted of what is behind.
    fn cut_short(&self, path: &Path, heard: &audio::Reading) -> Option<Diagnostic> {
        cut_short(path, &heard.facts).filter(|_| self.span().end > heard.facts.seconds())
    }

    fn span(&self) -> Range<f64> {
        let seconds = |time: Option<Duration>, usual: f64| time.map_or(usual, |time| time.as_secs_f64());
        seconds(self.from, 0.0)..seconds(self.to, f64::INFINITY)
    }

    fn refuse_what_needs_a_framing(&self) -> Result<(), Diagnostic> {
        let refuse = |headline: String| {
            Err(Diagnostic::error(Code::SoundUnfit, headline).with_help("name the framing, as in `--framing blocks`"))
        };
        if self.recordings.len() > 1 && self.framing.is_none() {
            let headline = "several recordings are merged block by block, which needs a framing";
            return Err(Diagnostic::error(Code::SoundUnfit, headline)
                .with_help("name the framing, as in `--framing blocks`, or read one recording at a time"));
        }
        if let Some(output) = self.outputs.iter().find(|output| !is_tape(output) && self.framing.is_none()) {
            return refuse(format!("`{}` is no tape, and an image needs a framing", output.display()));
        }
        Ok(())
    }

    /// A recording without a framing: what was heard, as it came.
    fn plain(&self, heard: &audio::Reading, cut: &[Diagnostic], report: &mut Report) {
        let name = self.recordings[0].display().to_string();
        report.print(if report.json() {
            format!("{}\n", json!({ "recordings": [heard::json(&name, heard, None)] }))
        } else {
            heard::carriers(&name, heard) + &heard::runs(heard, Bounds::of(self.all))
        });
        let doubtful = heard.bytes.iter().filter(|byte| byte.is_doubtful()).count();
        let mut problems = Diagnostics::default();
        // Without a framing nothing tells whether what is there is all.
        problems.extend(cut.iter().cloned().map(|problem| self.not_written(problem)));
        if doubtful > 0 {
            let headline = format!("`{name}` was heard with doubt: {doubtful} of {} bytes", heard.bytes.len());
            let problem = Diagnostic::error(Code::TapeDamaged, headline);
            let kept = self.partial || self.outputs.is_empty();
            let problem = if kept { problem } else { problem.with_note("no tape was written") };
            problems.push(match kept {
                _ if 2 * doubtful > heard.bytes.len() => problem.with_help(OTHER_TONES),
                true => problem.with_help("with `--framing` the checks of the tape tell what is right"),
                false => problem.with_help(
                    "with `--framing` the checks of the tape tell what is right; `--partial` takes the bytes as they are",
                ),
            });
        }
        let mut outputs = Outputs::default();
        if doubtful == 0 && cut.is_empty() || self.partial {
            self.outputs.iter().for_each(|path| outputs.add(path, heard.values()));
        }
        self.deliver(outputs, problems, &SourceMap::default(), report);
    }

    /// A problem for which nothing is written but with `--partial`, as an error.
    fn not_written(&self, problem: Diagnostic) -> Diagnostic {
        let problem = Diagnostic { severity: Severity::Error, ..problem };
        match self.partial || self.outputs.is_empty() {
            true => problem,
            false => problem.with_note("no tape was written; `--partial` takes what is there"),
        }
    }

    fn framed(&self, framing: &Framing, all: Vec<audio::Reading>, cut: Vec<Diagnostic>, report: &mut Report) {
        let recordings: Vec<_> = all.into_iter().map(|heard| Recording::new(framing, heard)).collect();
        let merged = merged(framing, &recordings);
        report.print(if report.json() { self.json(&recordings, &merged) } else { self.text(&recordings, &merged) });
        let mut problems = Diagnostics::default();
        problems.extend(cut);
        problems.extend(verdicts::doubts(&merged, self.notation));
        let whole = merged.is_whole();
        if !whole {
            problems.push(self.damage(&merged, &recordings));
        }
        let (mut sources, mut outputs) = (SourceMap::default(), Outputs::default());
        if whole || self.partial {
            let (tapes, images): (Vec<PathBuf>, Vec<PathBuf>) =
                self.outputs.iter().cloned().partition(|it| is_tape(it));
            for path in tapes {
                let tape = match &recordings[..] {
                    [recording] => recording.tape.clone(),
                    several => splice(framing, &merged, several),
                };
                outputs.add(path, tape);
            }
            let made_from = self.recordings[0].display().to_string();
            let programs = Images { programs: &merged.programs, made_from, notation: self.notation, fill: self.fill };
            programs.add(&images, &mut sources, &mut problems, &mut outputs);
        }
        self.deliver(outputs, problems, &sources, report);
    }

    /// Puts outputs in place: what is good was asked for with `--partial`, whatever else is not.
    fn deliver(&self, outputs: Outputs, mut problems: Diagnostics, sources: &SourceMap, report: &mut Report) {
        if !self.partial {
            outputs.finish(problems, sources, report);
            return;
        }
        if let Err(problem) = outputs.commit(report) {
            problems.push(problem);
        }
        report.problems(problems, sources);
    }

    fn text(&self, recordings: &[Recording], merged: &Merged) -> String {
        let mut out = String::new();
        for (path, recording) in self.recordings.iter().zip(recordings) {
            out += &heard::carriers(&path.display().to_string(), &recording.heard);
            out += &heard::blocks(recording, Bounds::of(self.all), self.notation);
        }
        if recordings.len() > 1 {
            out += &format!("{} recordings merged:\n", recordings.len());
        }
        out += &verdicts::merged(merged, self.notation);
        out
    }

    fn json(&self, recordings: &[Recording], merged: &Merged) -> String {
        let heard = self
            .recordings
            .iter()
            .zip(recordings)
            .map(|(path, recording)| heard::json(&path.display().to_string(), &recording.heard, Some(recording)));
        let programs: Vec<_> = merged.programs.iter().map(verdicts::program_json).collect();
        let object = json!({
            "recordings": heard.collect::<Vec<_>>(), "programs": programs, "contradictions": merged.contradictions.len(),
            "unlike": merged.unlike.len(), "apart": merged.apart.len(), "twice": merged.twice.len(),
            "whole": merged.is_whole(),
        });
        format!("{object}\n")
    }

    fn damage(&self, merged: &Merged, recordings: &[Recording]) -> Diagnostic {
        let names: Vec<_> = self.recordings.iter().map(|path| format!("`{}`", path.display())).collect();
        let names = names.join(", ");
        if merged.programs.is_empty() {
            let headline =
                format!("no block of `{}` was found on {names}", self.framing.as_deref().unwrap_or_default());
            let problem = Diagnostic::error(Code::TapeDamaged, headline);
            let heard = || recordings.iter().flat_map(|recording| &recording.heard.bytes);
            return match 2 * heard().filter(|byte| byte.is_doubtful()).count() > heard().count() {
                true => problem.with_note("most bytes were heard with doubt").with_help(OTHER_TONES),
                false => problem.with_help("is it this framing? `coldwright tape framing` lists them"),
            };
        }
        let headline = format!("{names} could not be read whole");
        let lost = merged.programs.iter().enumerate().map(|(index, program)| lost(index, program, self.notation));
        let strays = if merged.has_strays() { strays(recordings) } else { Vec::new() };
        let blocks = merged.programs.iter().flat_map(|program| &program.blocks);
        let mut frames = recordings.iter().flat_map(|recording| &recording.tape);
        let is_blank = frames.all(|frame| frame & 0o200 == 0);
        let on_track_8 = verdicts::on_track_8(blocks, is_blank).map(str::to_owned);
        let notes = lost.flatten().chain(strays).chain(on_track_8).chain(verdicts::objections(merged, self.notation));
        let problem = notes.fold(Diagnostic::error(Code::TapeDamaged, headline), Diagnostic::with_note);
        if !merged.contradictions.is_empty() {
            return problem.with_help("give recordings of one tape together, and leave out what is of another");
        }
        match self.partial || self.outputs.is_empty() {
            true => problem.with_help("play the tape again and give all recordings together: they are merged"),
            false => problem.with_note("nothing was written").with_help(
                "play the tape again and give all recordings together, or take what is good with `--partial`",
            ),
        }
    }
}

/// What is said where most bytes were heard with doubt.
const OTHER_TONES: &str = "is it this pair of tones, at this speed? `coldwright audio read --help` lists the presets";

/// One recording is taken as it is, several are merged block by block.
fn merged(framing: &Framing, recordings: &[Recording]) -> Merged {
    if let [recording] = recordings {
        return Merged::from(&recording.reading);
    }
    let readings: Vec<Reading> = recordings.iter().map(|recording| recording.reading.clone()).collect();
    merge(framing, &readings)
}

/// What nothing explains, by its time.
fn strays(recordings: &[Recording]) -> Vec<String> {
    let of = |recording: &Recording| {
        verdicts::strays(&recording.reading, |range| {
            let bytes = counted(range.len(), "byte");
            match recording.hearing(range) {
                Some(hearing) => format!("{bytes} at {} to {}", clock(hearing.from), clock(hearing.to)),
                None => bytes,
            }
        })
    };
    recordings.iter().flat_map(of).take(MOST_STRAYS).collect()
}

/// Stretches that nothing explains of which the places are told.
const MOST_STRAYS: usize = 8;

/// What of a program is lost, by name.
fn lost(index: usize, program: &ProgramRead, notation: Notation) -> Option<String> {
    let damaged =
        program.blocks.iter().filter(|block| !block.is_good()).map(|block| match (block.part, block.number) {
            (Part::Head, _) => "its head".into(),
            (Part::End, _) => "its end".into(),
            (Part::Block, number) => verdicts::block_name(number, block.base(), notation),
        });
    let missing = program.missing.iter().map(|number| format!("block {number}"));
    let end = (program.end == End::Absent).then(|| "its end".into());
    let head = program.lacks_head.then(|| "its head".into());
    let lost: Vec<String> = head.into_iter().chain(damaged).chain(missing).chain(end).collect();
    let shown = lost.iter().take(20).cloned().collect::<Vec<_>>().join(", ");
    let more = if lost.len() > 20 { format!(" and {} more", lost.len() - 20) } else { String::new() };
    (!lost.is_empty()).then(|| format!("lost of program {}: {shown}{more}", index + 1))
}

fn is_tape(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("tape"))
}
