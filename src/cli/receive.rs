//! `receive`: what comes through a serial port, into a file.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use clap::Args;
use indicatif::ProgressBar;
use serde_json::json;

use super::files::{self, Outputs};
use super::port::{Port, PortOptions, READER_OFF, READER_ON};
use super::progress::{Counted, bar};
use super::report::Report;
use super::stop::{heed_ctrl_c, is_stopped};
use super::values;
use crate::notation::counted;
use crate::source::{Code, Diagnostic};
use crate::tape::summary::spell;

/// Capture what comes through a serial port into a file
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright receive --port /dev/ttyUSB0 --line \"300 8N2\" -o chimes.tape\n  \
    coldwright receive --port /dev/ttyUSB0 --line \"110 8N2\" --start-reader --quiet 30 -o chimes.tape\n\n\
    It ends when the line has been quiet for a while, when enough has come, or with Ctrl-C; what has come is kept.")]
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
    bytes: Option<usize>,
    /// Start the reader of the other end with DC1 (021), stop it at the end with DC3 (023)
    #[arg(long)]
    start_reader: bool,
}

impl Receive {
    pub(super) fn run(self, report: &mut Report) {
        let mut port = match self.port.open() {
            Ok(port) => port,
            Err(problem) => return report.problem(problem),
        };
        heed_ctrl_c();
        let bar = match self.bytes {
            Some(count) => bar(Counted::Bytes, count as u64, report.json()),
            None if report.json() => ProgressBar::hidden(),
            None => ProgressBar::no_length(),
        };
        let start = Instant::now();
        let (bytes, outcome) = self.capture(&mut port, &bar);
        bar.finish_and_clear();
        let count = bytes.len();
        let mut outputs = Outputs::default();
        if count > 0 {
            outputs.add(&self.output, bytes);
        }
        if let Err(problem) = outputs.commit() {
            report.problem(problem);
        } else if let Err(problem) = outcome {
            let name = self.output.display();
            let kept = if count > 0 {
                format!("{} had come, and are in `{name}`", counted(count, "byte"))
            } else {
                "nothing had come".into()
            };
            report.problem(problem.with_note(kept));
        } else if self.output.as_os_str() != files::STREAM {
            report.print(self.done(count, start.elapsed(), report.json()));
        }
    }

    fn done(&self, count: usize, time: Duration, json: bool) -> String {
        if json {
            return format!(
                "{}\n",
                json!({ "received": count, "seconds": time.as_secs_f64(), "stopped": is_stopped() })
            );
        }
        let how = if is_stopped() { ", then stopped" } else { "" };
        format!("{} received from {} in {}{how}\n", counted(count, "byte"), self.port.port, spell(time))
    }

    /// Reads until the end, and gives back what came, with what went wrong if something did.
    fn capture(&self, port: &mut Port, bar: &ProgressBar) -> (Vec<u8>, Result<(), Diagnostic>) {
        let mut bytes = Vec::new();
        let outcome = self.read_all(port, bar, &mut bytes);
        if self.start_reader && outcome.is_ok() {
            // The reader may be gone by now; what has come is here.
            let _ = port.write(&[READER_OFF], Port::GLANCE);
        }
        if let Some(most) = self.bytes {
            bytes.truncate(most);
        }
        (bytes, outcome)
    }

    fn read_all(&self, port: &mut Port, bar: &ProgressBar, bytes: &mut Vec<u8>) -> Result<(), Diagnostic> {
        if self.start_reader {
            port.write(&[READER_ON], self.patience)?;
        }
        let mut since = Instant::now();
        while !is_stopped() && self.bytes.is_none_or(|most| bytes.len() < most) {
            let mut buffer = [0; 1024];
            let count = port.read(&mut buffer)?;
            if count > 0 {
                bytes.extend_from_slice(&buffer[..count]);
                bar.set_position(bytes.len() as u64);
                since = Instant::now();
            }
            if bytes.len() as u64 > files::LARGEST {
                let headline = format!("more than {} MiB came", files::LARGEST >> 20);
                return Err(Diagnostic::error(Code::TransferStopped, headline));
            }
            if bytes.is_empty() && since.elapsed() > self.patience {
                let headline = format!("`{}` is silent for {} seconds", port.name(), self.patience.as_secs_f64());
                return Err(Diagnostic::error(Code::LineAnswer, headline)
                    .with_help("is the other end sending, at this speed? Raise `--patience` to wait longer"));
            }
            if !bytes.is_empty() && since.elapsed() > self.quiet {
                return Ok(());
            }
        }
        Ok(())
    }
}
