//! `tape picture`: the tape drawn to scale, to be read or to be cut.

use std::path::PathBuf;

use clap::Args;

use super::{stretches, verdicts};
use crate::files;
use crate::framings::load_framing;
use crate::notation_options::NotationOptions;
use crate::outputs::Outputs;
use crate::pages::{PaperWord, add_drawing};
use crate::report::Report;
use coldwright::drawing::Drawing;
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{Framing, Noise, Slips, Stretch, StretchKind, Verdict, decode};
use coldwright::tape::picture::{Label, to_cut, to_read};

/// Draw a tape to scale, to be read or to be cut
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright tape picture chimes.tape --framing blocks -o chimes.pdf\n  \
    coldwright tape picture chimes.tape --cut -o chimes.svg\n\n\
    Print at 100 per cent, then measure: ten frames are one inch.")]
pub struct Picture {
    /// The tape, one byte a frame; `-` reads standard input
    tape: PathBuf,
    /// Where to draw it, by extension: .pdf, .html, .svg (a file a page); may be given several times
    #[arg(short, long = "output", value_name = "FILE", required = true)]
    outputs: Vec<PathBuf>,
    /// Name what stands where, as this framing reads it
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// Outlines of the holes and nothing else, in exact millimetres
    #[arg(long, conflicts_with_all = ["framing", "paper"])]
    cut: bool,
    /// The title; else the tape's file name
    #[arg(long, value_name = "TEXT")]
    title: Option<String>,
    /// The paper of pages for reading
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
        let framing = match &self.framing {
            Some(name) => match load_framing(name, self.notation, report) {
                Some(framing) => Some(framing),
                None => return,
            },
            None => None,
        };
        let tape = match files::read(&self.tape) {
            Ok(tape) => tape,
            Err(problem) => return report.problem(problem),
        };
        if tape.is_empty() {
            let headline = format!("`{}` holds no frame", self.tape.display());
            return report.problem(Diagnostic::error(Code::TapeUnfit, headline));
        }
        if files::is_recording(&tape) {
            let headline = format!("`{}` is a recording, and not the frames of a tape", self.tape.display());
            let help = "`coldwright audio picture` draws it";
            return report.problem(Diagnostic::error(Code::FormatUnknown, headline).with_help(help));
        }
        let drawing = match self.draw(&tape, framing.as_ref()) {
            Ok(drawing) => drawing,
            Err(problem) => return report.problem(problem),
        };
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

    fn draw(&self, tape: &[u8], framing: Option<&Framing>) -> Result<Drawing, Diagnostic> {
        let name = self.tape.file_name().unwrap_or_default().to_string_lossy();
        let title = self.title.as_deref().unwrap_or(&name);
        if self.cut {
            return to_cut(tape, title);
        }
        let labels = framing.map_or(Vec::new(), |framing| labels(framing, tape, self.notation));
        to_read(tape, title, &labels, self.paper.size(), self.notation)
    }
}

fn labels(framing: &Framing, tape: &[u8], notation: Notation) -> Vec<Label> {
    let reading = decode(framing, tape);
    let label = |stretch: &Stretch| {
        let range = stretch.range.clone();
        let plain = |text: String| Label { range: range.clone(), text, heavy: false, ring: None };
        match &stretch.kind {
            StretchKind::Filler => plain(format!("filler{}", stretches::flaws(reading.flaws_in(&stretch.range)))),
            StretchKind::Noise(noise) => {
                Label { heavy: *noise == Noise::Unexplained, ..plain(format!("noise{}", stretches::explained(*noise))) }
            }
            StretchKind::Lettering(text) => plain(format!("\"{text}\"")),
            StretchKind::Block { program, block } => {
                let block = &reading.programs[*program].blocks[*block];
                let words: Vec<_> = verdicts::line(block, notation).split_whitespace().map(str::to_owned).collect();
                Label { heavy: !block.is_good(), ring: ring(&block.verdict), ..plain(words.join(" ")) }
            }
        }
    };
    reading.stretches.iter().map(label).collect()
}

/// The wrong bit that explains a damaged block.
fn ring(verdict: &Verdict) -> Option<(usize, u8)> {
    match verdict {
        Verdict::Bad { slips: Slips::One(slip), .. } => Some((slip.offset, slip.track())),
        _ => None,
    }
}
