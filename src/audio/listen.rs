//! Listening to recordings, while a bar shows how far it has come.

use std::fs::File;
use std::io::BufReader;
use std::path::Path;

use indicatif::ProgressBar;

use crate::progress::{Counted, bar};
use crate::report::Report;
use crate::stop::{Stoppable, heed, is_stopped, stopped};
use coldwright::audio::{self, Modulation, Progress, ReadError, WavFacts};
use coldwright::source::{Code, Diagnostic};

/// Reads a recording with a progress bar on a terminal.
pub fn listen(path: &Path, file: File, modulation: &Modulation, report: &Report) -> Result<audio::Reading, Diagnostic> {
    let _heed = heed();
    let file = BufReader::new(Stoppable(file));
    let bar = bar(Counted::Sound, 0, report.json());
    let heard = audio::read(file, modulation, |at| {
        follow(&bar, at);
    });
    bar.finish_and_clear();
    match heard {
        Err(_) if is_stopped() => Err(stopped().with_note("no file was written")),
        heard => heard.map_err(|error| unreadable(path, &error)),
    }
}

/// Moves a bar to where the work has come.
pub fn follow(bar: &ProgressBar, at: Progress) {
    if let Some(of) = at.of {
        bar.set_length(of.ceil() as u64);
    }
    bar.set_position(at.seconds as u64);
}

/// What is said of a recording that cannot be read.
pub fn unreadable(path: &Path, error: &ReadError) -> Diagnostic {
    let code = if matches!(error, ReadError::Input(_)) { Code::FileUnreadable } else { Code::RecordingUnreadable };
    let problem = Diagnostic::error(code, format!("`{}`: {error}", path.display()));
    match error {
        ReadError::Header(_) => problem.with_help(
            "save it again as WAV without compression, in one or two channels; a file that is damaged or cut off has to be \
             copied or recorded again",
        ),
        ReadError::RateTooLow { .. } => problem.with_help("record again at a higher sample rate"),
        ReadError::Input(_) | ReadError::Span { .. } => problem,
    }
}

/// A time in a recording: minutes, seconds and milliseconds.
pub fn clock(seconds: f64) -> String {
    let thousandths = (seconds * 1000.0).round() as u64;
    format!("{}:{:02}.{:03}", thousandths / 60_000, thousandths / 1000 % 60, thousandths % 1000)
}

/// What is said of a recording that ends before its header says.
pub fn cut_short(path: &Path, facts: &WavFacts) -> Option<Diagnostic> {
    let told = facts.told.filter(|_| facts.is_cut_short())?;
    let told = clock(told as f64 / f64::from(facts.sample_rate));
    let headline = format!("`{}` is cut short: its header tells of {told}", path.display());
    let note = format!("{} of it is there", clock(facts.seconds()));
    let problem = Diagnostic::warning(Code::RecordingUnreadable, headline).with_note(note);
    Some(problem.with_help("copy it again, or record it again: what is behind may be lost"))
}
