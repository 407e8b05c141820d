//! `audio write`: the bytes of a tape as sound.

use std::io::{BufWriter, Write as _};
use std::ops::Range;
use std::path::PathBuf;
use std::time::Duration;

use clap::{Args, ValueEnum};
use serde_json::json;

use super::listen::follow;
use super::tones::{ToneOptions, Tones};
use crate::files;
use crate::framings::{load_framing, not_whole};
use crate::outputs::{Staged, is_standard_output};
use crate::progress::{Counted, bar};
use crate::report::Report;
use crate::stop::{Stoppable, heed, is_stopped, stopped};
use crate::values;
use coldwright::audio::{self, Channels, Depth, Pauses, Shape, Sound, WriteError, Written};
use coldwright::cautions::{self, When};
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{Reading, decode};
use coldwright::tape::summary::spell;

/// Write a tape as sound, for a recorder or straight into the machine
#[derive(Args, Debug)]
#[command(after_help = format!("Examples:\n  coldwright audio write chimes.tape -o chimes.wav\n  \
    coldwright audio write chimes.tape --preset byte-1200 --framing blocks --gap 0.5 -o fast.wav\n\n{}",
    cautions::lines(&[When::Sound])))]
pub struct Write {
    /// The tape, one byte a frame; `-` reads standard input
    tape: PathBuf,
    #[command(flatten)]
    tones: ToneOptions,
    /// Rest on mark between the blocks of this framing; without it the tape is one block
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// Mark tone before the first block; else as the machine file or the preset asks for
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    leader: Option<Duration>,
    /// Mark tone between two blocks; else as the machine file or the preset asks for
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, requires = "framing")]
    gap: Option<Duration>,
    /// Mark tone behind the last block; else as the machine file or the preset asks for
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds)]
    trailer: Option<Duration>,
    /// The shape of the tones
    #[arg(long, value_enum, default_value = "sine")]
    shape: ShapeWord,
    /// Samples a second
    #[arg(long, value_name = "HZ", default_value = "44100")]
    rate: u32,
    /// Peak level in dB against full scale
    #[arg(long, value_name = "DB", default_value = "-6", allow_negative_numbers = true)]
    level: f64,
    /// Bits of a sample; 32 is floating point
    #[arg(long, value_name = "BITS", value_enum, default_value = "16")]
    width: Width,
    /// One channel, or which of two sound
    #[arg(long, value_enum, default_value = "mono")]
    channel: ChannelWord,
    /// Where to write the WAV file; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
}

/// Shapes by their words.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum ShapeWord {
    /// A pure tone
    Sine,
    /// Steep but shaped edges, for decks that want them
    Square,
}

/// Widths by their bits.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Width {
    #[value(name = "8")]
    Bits8,
    #[value(name = "16")]
    Bits16,
    #[value(name = "24")]
    Bits24,
    #[value(name = "32")]
    Float32,
}

/// Channels by their words.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum ChannelWord {
    /// One channel
    Mono,
    /// Two channels, the right one silent
    Left,
    /// Two channels, the left one silent
    Right,
    /// Two channels with the same sound
    Both,
}

impl Write {
    pub(super) fn run(self, report: &mut Report) {
        if let Err(problem) = self.write(report) {
            report.problem(problem);
        }
    }

    fn write(&self, report: &mut Report) -> Result<(), Diagnostic> {
        let Some(tones) = self.tones.resolve(report) else { return Ok(()) };
        let tones = Tones { pauses: self.pauses(&tones.pauses), ..tones };
        let framing = match &self.framing {
            Some(name) => match load_framing(name, Notation::default(), report) {
                Some(framing) => Some(framing),
                None => return Ok(()),
            },
            None => None,
        };
        let tape = files::read(&self.tape)?;
        if tape.is_empty() {
            let headline = format!("`{}` is empty: there is nothing to sound", self.tape.display());
            return Err(Diagnostic::error(Code::SoundUnfit, headline));
        }
        if files::is_recording(&tape) {
            let headline = format!("`{}` is a recording already", self.tape.display());
            let help = "give it a tape: `coldwright audio read` gets one from a recording";
            return Err(Diagnostic::error(Code::SoundUnfit, headline).with_help(help));
        }
        let reading = framing.as_ref().map(|framing| decode(framing, &tape));
        if let Some(problem) = framing
            .as_ref()
            .zip(reading.as_ref())
            .and_then(|(framing, reading)| not_whole(&self.tape, framing, reading))
        {
            report.problem(problem);
        }
        let blocks = blocks(reading.as_ref(), &tape);
        let parts: Vec<&[u8]> = blocks.iter().map(|block| &tape[block.clone()]).collect();
        let written = self.sound(&parts, &tones, report)?;
        if !is_standard_output(&self.output) {
            report.print(self.summary(&tones, tape.len(), parts.len(), written, report.json()));
        }
        Ok(())
    }

    fn sound(&self, blocks: &[&[u8]], tones: &Tones, report: &Report) -> Result<Written, Diagnostic> {
        let heed = heed();
        let mut staged = Staged::new(&self.output)?;
        let bar = bar(Counted::Sound, 0, report.json());
        let written = {
            let mut out = BufWriter::with_capacity(1 << 18, Stoppable(staged.writer()));
            let written = audio::write(&mut out, blocks, &tones.modulation, &tones.pauses, &self.shaped(), |at| {
                follow(&bar, at);
            });
            written.and_then(|written| out.flush().map(|()| written).map_err(WriteError::Output))
        };
        bar.finish_and_clear();
        // A pipe may wait for whoever reads it: a stop is not to be noted then, but to end it.
        drop(heed);
        match written {
            Ok(_) if is_stopped() => Err(stopped().with_note("no recording was written")),
            Ok(written) => staged.place().map(|()| written),
            Err(_) if is_stopped() => Err(stopped().with_note("no recording was written")),
            Err(WriteError::Output(error)) => Err(staged.refuse(&error)),
            Err(error) => Err(Diagnostic::error(Code::SoundUnfit, error.to_string())),
        }
    }

    fn pauses(&self, usual: &Pauses) -> Pauses {
        let or = |own: Option<Duration>, usual: f64| own.map_or(usual, |own| own.as_secs_f64());
        Pauses {
            leader: or(self.leader, usual.leader),
            gap: or(self.gap, usual.gap),
            trailer: or(self.trailer, usual.trailer),
        }
    }

    fn shaped(&self) -> Sound {
        Sound {
            sample_rate: self.rate,
            level_dbfs: self.level,
            depth: match self.width {
                Width::Bits8 => Depth::Bits8,
                Width::Bits16 => Depth::Bits16,
                Width::Bits24 => Depth::Bits24,
                Width::Float32 => Depth::Float32,
            },
            channels: match self.channel {
                ChannelWord::Mono => Channels::Mono,
                ChannelWord::Left => Channels::Left,
                ChannelWord::Right => Channels::Right,
                ChannelWord::Both => Channels::Both,
            },
            shape: match self.shape {
                ShapeWord::Sine => Shape::Sine,
                ShapeWord::Square => Shape::Square,
            },
        }
    }

    fn summary(&self, tones: &Tones, bytes: usize, blocks: usize, written: Written, json: bool) -> String {
        let Tones { modulation, pauses } = tones;
        let (mark, space, baud) = (modulation.mark_hz(), modulation.space_hz(), modulation.baud());
        let stop_bits = modulation.stop_bits();
        if json {
            let object = json!({
                "bytes": bytes, "blocks": blocks, "mark_hz": mark, "space_hz": space, "baud": baud,
                "stop_bits": stop_bits, "leader": pauses.leader, "gap": pauses.gap, "trailer": pauses.trailer,
                "sample_rate": self.rate, "level_db": self.level, "samples": written.samples, "seconds": written.seconds,
            });
            return format!("{object}\n");
        }
        let stops = if stop_bits == 1 { "stop bit" } else { "stop bits" };
        let parts =
            if blocks == 1 { String::new() } else { format!(" in {blocks} parts, {} s between them", pauses.gap) };
        format!(
            "{}: {bytes} bytes{parts}\nmark {mark} Hz, space {space} Hz, {baud} baud, {stop_bits} {stops}\n\
             plays {}, {} s of leader and {} s of trailer included\n\
             {}",
            self.output.display(),
            spell(Duration::from_secs_f64(written.seconds)),
            pauses.leader,
            pauses.trailer,
            cautions::lines(&[When::Sound]),
        )
    }
}

/// The parts between which the tone rests: up to the end of each block, with what precedes it.
fn blocks(reading: Option<&Reading>, tape: &[u8]) -> Vec<Range<usize>> {
    let ends = reading.iter().flat_map(|reading| reading.blocks().map(|block| block.range.end));
    let mut parts = Vec::new();
    let mut start = 0;
    for end in ends {
        parts.push(start..end);
        start = end;
    }
    if start < tape.len() {
        parts.push(start..tape.len());
    }
    parts
}
