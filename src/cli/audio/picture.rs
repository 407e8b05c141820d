//! `audio picture`: the sound around a time or a block, with what was decided on it.

use std::path::PathBuf;
use std::time::Duration;

use clap::Args;

use super::tones::{ToneOptions, Tones};
use super::{clock, listen, open, unreadable};
use crate::audio::Modulation;
use crate::audio::picture::look;
use crate::cli::files::Outputs;
use crate::cli::pages::add_drawing;
use crate::cli::report::Report;
use crate::cli::tape::{load_framing, verdicts};
use crate::cli::values;
use crate::notation::Notation;
use crate::source::{Code, Diagnostic};
use crate::tape::framing::{Block, Framing};
use crate::tape::recording::Recording;
use crate::tape::sound_picture::{COLUMNS, draw};

/// Draw the sound around a time or a block: wave, bits with their edges, bytes
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright audio picture chimes.wav --at 12.5 -o look.pdf\n  \
    coldwright audio picture worn.wav --framing blocks --block 1 -o block-1.svg")]
pub struct Picture {
    /// The recording, a WAV file
    recording: PathBuf,
    #[command(flatten)]
    tones: ToneOptions,
    /// The time to look at
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, required_unless_present = "block")]
    at: Option<Duration>,
    /// Look at the least sure byte of the block of this number, of a damaged one first
    #[arg(long, value_name = "NUMBER", requires = "framing", conflicts_with = "at")]
    block: Option<u32>,
    /// The framing, to find the block
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// How much is shown, up to 60 seconds; else twelve characters
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    span: Option<Duration>,
    /// Where to draw it, by extension: .pdf, .html, .svg; may be given several times
    #[arg(short, long = "output", value_name = "FILE", required = true)]
    outputs: Vec<PathBuf>,
    /// How addresses and bytes are written: octal, split or hex
    #[arg(long, value_name = "NOTATION", value_parser = values::notation, default_value = "octal")]
    notation: Notation,
}

/// What is looked at.
struct Focus {
    seconds: f64,
    about: String,
}

impl Picture {
    pub(super) fn run(self, report: &mut Report) {
        if let Err(problem) = self.draw(report) {
            report.problem(problem);
        }
    }

    fn draw(&self, report: &mut Report) -> Result<(), Diagnostic> {
        let Some(Tones { modulation, .. }) = self.tones.resolve(report) else { return Ok(()) };
        let framing = match &self.framing {
            Some(name) => match load_framing(name, report) {
                Some(framing) => Some(framing),
                None => return Ok(()),
            },
            None => None,
        };
        let focus = match (self.block, &framing) {
            (Some(number), Some(framing)) => self.block(number, framing, &modulation, report)?,
            _ => {
                let seconds = self.at.map_or(0.0, |at| at.as_secs_f64());
                Focus { seconds, about: format!("around {}", clock(seconds)) }
            }
        };
        let span = self.span.map_or(12.0 * modulation.character_seconds(), |span| span.as_secs_f64());
        // In the middle of the second of four rows, not where the line is broken.
        let from = (focus.seconds - span * 3.0 / 8.0).max(0.0);
        let picture = look(open(&self.recording)?, &modulation, from, from + span, COLUMNS);
        let picture = picture.map_err(|error| unreadable(&self.recording, &error))?;
        let title = self.recording.file_name().unwrap_or_default().to_string_lossy();
        let drawing = draw(&picture, &title, &focus.about, Some(focus.seconds), self.notation);
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            add_drawing(&mut outputs, path, || drawing.clone(), "")?;
        }
        outputs.commit()
    }

    /// The least sure byte of a block.
    fn block(
        &self,
        number: u32,
        framing: &Framing,
        modulation: &Modulation,
        report: &Report,
    ) -> Result<Focus, Diagnostic> {
        let recording = Recording::new(framing, listen(&self.recording, modulation, report)?);
        let numbered = |block: &&Block| block.number == Some(number);
        let found = recording.reading.blocks().filter(numbered).min_by_key(|block| block.is_good());
        let Some(block) = found else {
            let headline = format!("no block {number} was found on `{}`", self.recording.display());
            return Err(Diagnostic::error(Code::TapeDamaged, headline)
                .with_help("`coldwright audio read --framing` tells what was found and when; look there with `--at`"));
        };
        let bytes = recording.heard.bytes.get(block.range.clone()).unwrap_or_default();
        let weakest = bytes.iter().min_by(|one, other| one.margin().total_cmp(&other.margin()));
        let seconds = weakest.map_or(0.0, |byte| (byte.from + byte.to) / 2.0);
        let words: Vec<_> = verdicts::line(block, self.notation).split_whitespace().map(str::to_owned).collect();
        Ok(Focus { seconds, about: format!("the least sure byte of {}, at {}", words.join(" "), clock(seconds)) })
    }
}
