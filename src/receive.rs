//! `receive`: what comes through a serial port, into a file.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;
use indicatif::ProgressBar;
use serde_json::json;

use super::capture::Capture;
use super::files;
use super::outputs::is_standard_output;
use super::port::{Port, PortOptions, READER_OFF, READER_ON};
use super::progress::{Counted, bar};
use super::report::Report;
use super::stop::{heed, is_stopped};
use super::values;
use coldwright::cautions::{self, When};
use coldwright::notation::counted;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::summary::spell;

/// Capture what comes through a serial port into a file
#[derive(Args, Debug)]
#[command(after_help = format!("Examples:\n  \
    coldwright receive --port /dev/ttyUSB0 --line \"300 8N2\" -o chimes.tape\n  \
    coldwright receive --port /dev/ttyUSB0 --line \"110 8N2\" --start-reader --quiet 30 -o chimes.tape\n\n\
    It ends when the line has been quiet for a while, when enough has come, or with Ctrl-C. What comes is written at once \
    into FILE.part, which takes the place of FILE at the end; whatever happens before, it is there.\n\n{}",
    cautions::lines(&[When::Line])))]
pub struct Receive {
    #[command(flatten)]
    port: PortOptions,
    /// Where to write what comes, one byte a character; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// End after so many seconds without a character, once the first has come
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, default_value = "5")]
    quiet: Duration,
    /// Give up if no first character comes for so many seconds
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, default_value = "120")]
    patience: Duration,
    /// End after so many bytes
    #[arg(long, value_name = "COUNT")]
    bytes: Option<u64>,
    /// Start the reader of the other end with DC1 (021), stop it at the end with DC3 (023)
    #[arg(long)]
    start_reader: bool,
}

impl Receive {
    pub(super) fn run(self, report: &mut Report) {
        if let Err(problem) = self.receive(report) {
            report.problem(problem);
        }
    }

    fn receive(&self, report: &mut Report) -> Result<(), Diagnostic> {
        // The output comes first: where nothing can be kept, nothing is asked for.
        let mut capture = Capture::begin(&self.output)?;
        let _heed = heed();
        let mut port = match self.port.open() {
            Ok(port) => port,
            Err(problem) => return capture.end().and(Err(problem)),
        };
        if let Some(part) = capture.part() {
            report.mention(&format!("what comes is kept in `{}`", part.display()));
        }
        let bar = match self.bytes {
            Some(count) => bar(Counted::Bytes, count, report.json()),
            None if report.json() => ProgressBar::hidden(),
            None => ProgressBar::no_length(),
        };
        let start = Instant::now();
        let outcome = self.capture(&mut port, &mut capture, &bar);
        bar.finish_and_clear();
        let count = capture.count();
        let kept = capture.end()?;
        match outcome {
            Err(problem) if count == 0 => Err(problem.with_note("nothing had come")),
            Err(problem) => {
                Err(problem.with_note(format!("{} had come, and are in {kept}", counted(count as usize, "byte"))))
            }
            Ok(()) => {
                if !is_standard_output(&self.output) {
                    report.print(self.done(count, start.elapsed(), report.json()));
                }
                Ok(())
            }
        }
    }

    fn done(&self, count: u64, time: Duration, json: bool) -> String {
        if json {
            return format!(
                "{}\n",
                json!({ "received": count, "seconds": time.as_secs_f64(), "stopped": is_stopped() })
            );
        }
        let how = if is_stopped() { ", then stopped" } else { "" };
        format!("{} received from {} in {}{how}\n", counted(count as usize, "byte"), self.port.port, spell(time))
    }

    /// Keeps what comes until the end.
    fn capture(&self, port: &mut Port, capture: &mut Capture, bar: &ProgressBar) -> Result<(), Diagnostic> {
        if self.start_reader {
            port.write(&[READER_ON], self.patience, &mut 0)?;
        }
        let outcome = self.keep_all(port, capture, bar);
        if self.start_reader {
            port.part_with(READER_OFF);
        }
        outcome
    }

    fn keep_all(&self, port: &mut Port, capture: &mut Capture, bar: &ProgressBar) -> Result<(), Diagnostic> {
        let most = self.bytes.unwrap_or(u64::MAX).min(files::LARGEST);
        let mut since = Instant::now();
        while !is_stopped() && capture.count() < most {
            let mut buffer = [0; 1024];
            let room = (most - capture.count()).min(buffer.len() as u64) as usize;
            let count = port.read(&mut buffer[..room])?;
            if count > 0 {
                capture.keep(&buffer[..count])?;
                bar.set_position(capture.count());
                since = Instant::now();
            } else if capture.count() == 0 && since.elapsed() > self.patience {
                let headline = format!("`{}` is silent for {} seconds", port.name(), self.patience.as_secs_f64());
                return Err(Diagnostic::error(Code::LineAnswer, headline)
                    .with_help("is the other end sending, at this speed? Raise `--patience` to wait longer"));
            } else if capture.count() > 0 && since.elapsed() > self.quiet {
                return Ok(());
            }
        }
        if capture.count() == files::LARGEST && self.bytes != Some(files::LARGEST) && !is_stopped() {
            let headline = format!("{} MiB came, and it goes on", files::LARGEST >> 20);
            return Err(Diagnostic::error(Code::TransferStopped, headline));
        }
        Ok(())
    }
}
