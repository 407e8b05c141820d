//! `audio`: tapes as sound, back from it, and as a picture of it.

mod heard;
mod picture;
mod read;
mod write;

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use clap::{Args, Subcommand};
use indicatif::{ProgressBar, ProgressStyle};

use super::files;
use super::report::Report;
use crate::audio::{self, Modulation, ModulationFault, PRESETS, Preset, ReadError};
use crate::source::{Code, Diagnostic};

/// Write a tape as sound, read recordings back, draw what was recorded
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright audio write chimes.tape --framing blocks -o chimes.wav\n  \
    coldwright audio read chimes.wav --framing blocks -o chimes.hex")]
pub struct Audio {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Write(write::Write),
    Read(read::Read),
    Picture(picture::Picture),
}

impl Audio {
    pub(super) fn run(self, report: &mut Report) {
        match self.command {
            Command::Write(command) => command.run(report),
            Command::Read(command) => command.run(report),
            Command::Picture(command) => command.run(report),
        }
    }
}

/// What a tape sounds like: a published pair of tones, or changes to it.
#[derive(Args, Debug)]
struct ToneOptions {
    /// The published pair of tones: byte-300, byte-1200, bell-103-originate, bell-103-answer, v21-originate, v21-answer
    #[arg(long, value_name = "PRESET", value_parser = preset, default_value = "byte-300")]
    preset: &'static Preset,
    /// Another tone for 1, in Hz
    #[arg(long, value_name = "HZ")]
    mark: Option<f64>,
    /// Another tone for 0, in Hz
    #[arg(long, value_name = "HZ")]
    space: Option<f64>,
    /// Another rate, in bits a second
    #[arg(long, value_name = "RATE")]
    baud: Option<f64>,
    /// Another number of stop bits
    #[arg(long, value_name = "COUNT")]
    stop_bits: Option<u8>,
}

impl ToneOptions {
    fn modulation(&self) -> Result<Modulation, Diagnostic> {
        let published = self.preset.modulation;
        let own = Modulation::new(
            self.mark.unwrap_or(published.mark_hz()),
            self.space.unwrap_or(published.space_hz()),
            self.baud.unwrap_or(published.baud()),
            self.stop_bits.unwrap_or(published.stop_bits()),
        );
        own.map_err(|fault: ModulationFault| Diagnostic::error(Code::SoundUnfit, fault.to_string()))
    }
}

fn preset(name: &str) -> Result<&'static Preset, String> {
    let names = || PRESETS.map(|preset| preset.name).join(", ");
    Preset::named(name).ok_or_else(|| format!("expected one of {}", names()))
}

/// Reads a recording with a progress bar on a terminal.
fn listen(path: &Path, modulation: &Modulation, report: &Report) -> Result<audio::Reading, Diagnostic> {
    let file = BufReader::new(files::open(path)?);
    let bar = progress(report);
    let heard = audio::read(file, modulation, |at| {
        if let Some(of) = at.of {
            bar.set_length(of as u64);
        }
        bar.set_position(at.seconds as u64);
    });
    bar.finish_and_clear();
    heard.map_err(|error| unreadable(path, &error))
}

fn unreadable(path: &Path, error: &ReadError) -> Diagnostic {
    let code = if matches!(error, ReadError::Input(_)) { Code::FileUnreadable } else { Code::RecordingUnreadable };
    let problem = Diagnostic::error(code, format!("`{}`: {error}", path.display()));
    match error {
        ReadError::Header(_) => problem.with_help("save the recording as WAV without compression"),
        ReadError::RateTooLow { .. } => problem.with_help("record again at a higher sample rate"),
        ReadError::Input(_) | ReadError::Span { .. } => problem,
    }
}

/// A bar in seconds of sound; it is seen only on a terminal.
fn progress(report: &Report) -> ProgressBar {
    if report.json() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(0);
    if let Ok(style) = ProgressStyle::with_template("{bar:32.white} {pos} of {len} s of sound, {eta} left") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar
}

/// A time in a recording: minutes, seconds and milliseconds.
fn clock(seconds: f64) -> String {
    let thousandths = (seconds * 1000.0).round() as u64;
    format!("{}:{:02}.{:03}", thousandths / 60_000, thousandths / 1000 % 60, thousandths % 1000)
}

/// A recording to look into.
fn open(path: &Path) -> Result<BufReader<File>, Diagnostic> {
    files::open(path).map(BufReader::new)
}
