//! `send`: a tape through a serial port, at the pace of whoever reads it.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use clap::{Args, ValueEnum};
use indicatif::ProgressBar;
use serde_json::json;

use super::files::{self, is_recording};
use super::framings::{load_framing, not_whole};
use super::port::{Port, PortOptions, READER_OFF, READER_ON, wait_until};
use super::progress::{Counted, bar};
use super::report::Report;
use super::stop::{heed, is_stopped, stopped};
use super::values;
use coldwright::cautions::{self, When};
use coldwright::line::{Pacing, Parity, Plan};
use coldwright::notation::{Both, Notation, counted};
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{Reading, decode};
use coldwright::tape::summary::spell;

/// Send a tape or any file through a serial port
#[derive(Args, Debug)]
#[command(after_help = format!("Examples:\n  \
    coldwright send chimes.tape --port /dev/ttyUSB0 --line \"300 8N2\"\n  \
    coldwright send chimes.tape --port /dev/ttyUSB0 --line \"300 8N2\" --from 256 --dry-run\n\n{}",
    cautions::lines(&[When::Line])))]
pub struct Send {
    /// The bytes to send; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    port: PortOptions,
    /// Rest after each character, in seconds
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, default_value = "0")]
    gap: Duration,
    /// Rest after each block, in seconds; needs the framing
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, default_value = "0", requires = "framing")]
    block_gap: Duration,
    /// The framing, to know where blocks end
    #[arg(long, value_name = "FRAMING")]
    framing: Option<String>,
    /// Wait for the other end
    #[arg(long, value_enum)]
    wait: Option<Wait>,
    /// Give up when the other end keeps waiting for so many seconds
    #[arg(long, value_name = "SECONDS", value_parser = values::seconds, default_value = "10")]
    patience: Duration,
    /// Begin at this byte, counted from 0, to go on after a stop
    #[arg(long, value_name = "BYTE", default_value = "0")]
    from: usize,
    /// Open no port; print the plan and its duration
    #[arg(long)]
    dry_run: bool,
}

/// What is waited for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Wait {
    /// DC1 (021) starts the tape, DC3 (023) stops it, as they do a tape reader
    Control,
    /// Each character comes back before the next is sent
    Echo,
}

impl Send {
    pub(super) fn run(self, report: &mut Report) {
        let bytes = match files::read(&self.file) {
            Ok(bytes) => bytes,
            Err(problem) => return report.problem(problem),
        };
        let framing = match &self.framing {
            Some(name) => match load_framing(name, Notation::default(), report) {
                Some(framing) => Some(framing),
                None => return,
            },
            None => None,
        };
        if bytes.is_empty() {
            let headline = format!("`{}` is empty: there is nothing to send", self.file.display());
            return report.problem(Diagnostic::error(Code::TransferStopped, headline));
        }
        let reading = framing.as_ref().map(|framing| decode(framing, &bytes));
        if let Some(problem) = framing
            .as_ref()
            .zip(reading.as_ref())
            .and_then(|(framing, reading)| not_whole(&self.file, framing, reading))
        {
            report.problem(problem);
        }
        if is_recording(&bytes) {
            report.problem(sent_recording(&self.file));
        }
        let blocks: Vec<_> = reading.iter().flat_map(Reading::blocks).map(|block| block.range.clone()).collect();
        let pacing = Pacing { after_character: self.gap, after_block: self.block_gap, singly: self.wait.is_some() };
        let plan = Plan::new(self.port.line, pacing, bytes.len(), blocks.iter().map(|block| block.end));
        if self.from > bytes.len() {
            let headline =
                format!("`--from {}` is behind the end: there are {}", self.from, counted(bytes.len(), "byte"));
            return report.problem(Diagnostic::error(Code::TransferStopped, headline));
        }
        if let Some(problem) = self.uncarried(&bytes) {
            return report.problem(problem);
        }
        if self.dry_run {
            return report.print(self.outline(&plan, bytes.len(), blocks.len(), report.json()));
        }
        report.mention(cautions::lines(&[When::Line]).trim_end());
        let port = match self.port.open() {
            Ok(port) => port,
            Err(problem) => return report.problem(problem),
        };
        let _heed = heed();
        let bar = bar(Counted::Bytes, bytes.len() as u64, report.json());
        bar.set_position(self.from as u64);
        let mut sender = Sender::new(port, bar, &self);
        let start = Instant::now();
        let outcome = sender.send(&bytes, &plan);
        sender.bar.finish_and_clear();
        match outcome {
            Ok(()) => report.print(self.done(bytes.len() - self.from, start.elapsed(), report.json())),
            Err(problem) => report.problem(sender.resumable(problem, bytes.len(), &blocks)),
        }
    }

    /// What is said of bytes that the line has not the bits for: the port would send others.
    fn uncarried(&self, bytes: &[u8]) -> Option<Diagnostic> {
        let line = self.port.line;
        let mut lost = bytes.iter().enumerate().skip(self.from).filter(|(_, byte)| !line.carries(**byte));
        let (at, byte) = lost.next()?;
        let headline = format!("the line `{line}` cannot carry byte {at}, `{}`", Both(*byte));
        let more = match lost.count() {
            0 => String::new(),
            1 => "; nor can it carry another".into(),
            more => format!("; nor can it carry {more} others"),
        };
        let bits = line.data_bits;
        let why = match (bits, line.parity) {
            (7, Parity::Even | Parity::Odd) => {
                format!("it has {bits} data bits, and bit 8 is not the parity that the line makes{more}")
            }
            _ => format!("it has {bits} data bits, and the byte has more{more}"),
        };
        let help = match (bits, line.parity) {
            (7, Parity::None) => "take a line of 8 data bits, or of 7 with the parity of the tape, as 7E1",
            _ => "take a line of 8 data bits",
        };
        Some(Diagnostic::error(Code::TapeUnfit, headline).with_note(why).with_help(help))
    }

    fn outline(&self, plan: &Plan, bytes: usize, blocks: usize, json: bool) -> String {
        let duration = plan.duration(self.from);
        let line = self.port.line;
        if json {
            let object = json!({
                "port": self.port.port, "line": line.to_string(), "bytes": bytes - self.from, "blocks": blocks,
                "characters_a_second": line.characters_a_second(), "seconds": duration.as_secs_f64(),
            });
            return format!("{object}\n");
        }
        let mut out = format!("{} to {} at {line}, ", counted(bytes - self.from, "byte"), self.port.port);
        out += &format!("{:.2} characters a second at most\n", line.characters_a_second());
        if blocks > 0 {
            out += &format!("{blocks} heads, blocks and ends, {:.3} s rest after each\n", self.block_gap.as_secs_f64());
        }
        if !self.gap.is_zero() {
            out += &format!("{:.3} s rest after each character\n", self.gap.as_secs_f64());
        }
        match self.wait {
            Some(Wait::Control) => out += "waits for DC1 (021), stops at DC3 (023)\n",
            Some(Wait::Echo) => out += "waits for the echo of each character\n",
            None => {}
        }
        out + &format!("{} if nothing makes it wait\n", spell(duration))
    }

    fn done(&self, sent: usize, time: Duration, json: bool) -> String {
        if json {
            return format!("{}\n", json!({ "sent": sent, "seconds": time.as_secs_f64() }));
        }
        format!("{} sent to {} in {}\n", counted(sent, "byte"), self.port.port, spell(time))
    }
}

/// A warning of a recording, whose bytes are no tape's.
fn sent_recording(path: &Path) -> Diagnostic {
    let shown = path.display();
    Diagnostic::warning(Code::FormatUnknown, format!("`{shown}` is a recording, and goes out as it is")).with_help(
        format!(
            "the bytes of the tape that was recorded: `coldwright audio read {shown} -o {}`",
            path.with_extension("tape").display()
        ),
    )
}

/// A transfer under way.
struct Sender {
    port: Port,
    bar: ProgressBar,
    wait: Option<Wait>,
    patience: Duration,
    /// Whether the reader has been started and not stopped.
    running: bool,
    /// How many bytes have gone out, those before the first one included.
    sent: usize,
    /// What is known of the last of them.
    last: Last,
}

/// What became of the last byte that went out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Last {
    /// Nothing speaks against it.
    Fine,
    /// Its echo did not come.
    Unanswered,
    /// Its echo was another byte.
    Wrong,
}

impl Sender {
    fn new(port: Port, bar: ProgressBar, send: &Send) -> Sender {
        let (wait, patience) = (send.wait, send.patience);
        Sender { port, bar, wait, patience, running: false, sent: send.from, last: Last::Fine }
    }

    /// Sends the steps of a plan from the first byte that has not gone out.
    fn send(&mut self, bytes: &[u8], plan: &Plan) -> Result<(), Diagnostic> {
        let mut due = Instant::now();
        for step in plan.steps(self.sent) {
            self.step(&bytes[step.bytes.clone()])?;
            self.bar.set_position(self.sent as u64);
            // A wait in between moves the schedule; sending never hurries to catch up.
            due = due.max(Instant::now() - plan.line_time(&step)) + plan.line_time(&step) + step.rest;
            wait_until(due);
        }
        self.port.drain(self.patience);
        if is_stopped() && self.sent < bytes.len() { Err(stopped()) } else { Ok(()) }
    }

    fn step(&mut self, bytes: &[u8]) -> Result<(), Diagnostic> {
        if self.wait == Some(Wait::Control) {
            self.wait_for_reader()?;
        }
        if is_stopped() {
            return Err(stopped());
        }
        let first = self.sent;
        self.port.write(bytes, self.patience, &mut self.sent)?;
        let gone = self.sent - first;
        if self.wait == Some(Wait::Echo) {
            self.wait_for_echo(&bytes[..gone], first)?;
        }
        if gone < bytes.len() { Err(stopped()) } else { Ok(()) }
    }

    /// Says how far it got and how to go on: at the start of the block that was cut, if blocks are known.
    fn resumable(&self, problem: Diagnostic, all: usize, blocks: &[std::ops::Range<usize>]) -> Diagnostic {
        let sent = self.sent;
        if sent == 0 {
            return problem.with_note("nothing was sent");
        }
        let were = if sent == 1 { "was" } else { "were" };
        let problem = problem.with_note(format!("{sent} of {} {were} sent", counted(all, "byte")));
        // A block is cut as well if its last byte did not come back as it was sent.
        let sure = if self.last == Last::Fine { sent } else { sent - 1 };
        let cut = blocks.iter().find(|block| block.start < sent && sure < block.end);
        let help = match (cut, self.last) {
            (Some(block), _) => format!("to go on at the start of the block that was cut: `--from {}`", block.start),
            (None, Last::Unanswered) => {
                format!("to go on: `--from {sent}`, or `--from {sure}` if byte {sure} did not arrive")
            }
            (None, Last::Wrong) => format!("to go on behind that byte: `--from {sent}`"),
            (None, Last::Fine) => format!("to go on: `--from {sent}`"),
        };
        let help = match problem.help {
            Some(before) => format!("{before}; {help}"),
            None => help,
        };
        Diagnostic { help: Some(help), ..problem }
    }

    /// Waits until the other end wants characters.
    fn wait_for_reader(&mut self) -> Result<(), Diagnostic> {
        let start = Instant::now();
        loop {
            let mut buffer = [0; 64];
            let count = if self.running && !self.port.has_input()? { 0 } else { self.port.read(&mut buffer)? };
            for &byte in &buffer[..count] {
                match byte & 0o177 {
                    READER_ON => self.running = true,
                    READER_OFF => self.running = false,
                    _ => {}
                }
            }
            if self.running || is_stopped() {
                return Ok(());
            }
            if start.elapsed() > self.patience {
                let seconds = self.patience.as_secs_f64();
                let headline =
                    format!("`{}` sent no DC1, {}, for {seconds} seconds", self.port.name(), Both(READER_ON));
                return Err(
                    Diagnostic::error(Code::LineAnswer, headline).with_help("start the loader, or raise `--patience`")
                );
            }
        }
    }

    fn wait_for_echo(&mut self, bytes: &[u8], at: usize) -> Result<(), Diagnostic> {
        let start = Instant::now();
        for (index, &expected) in bytes.iter().enumerate() {
            self.last = Last::Unanswered;
            let mut found = [0];
            while self.port.read(&mut found)? == 0 {
                if is_stopped() {
                    return Err(stopped());
                }
                if start.elapsed() > self.patience {
                    let headline = format!("`{}` did not echo byte {}", self.port.name(), at + index);
                    return Err(Diagnostic::error(Code::LineAnswer, headline)
                        .with_note(format!("waited {} seconds", self.patience.as_secs_f64()))
                        .with_help("does the loader echo? If not, leave `--wait echo` out"));
                }
            }
            self.last = Last::Fine;
            if found[0] != expected {
                self.last = Last::Wrong;
                let (expected, found) = (Both(expected), Both(found[0]));
                let headline = format!("byte {} came back as `{found}`, sent was `{expected}`", at + index);
                return Err(Diagnostic::error(Code::LineAnswer, headline)
                    .with_note("the other end may hold a wrong byte now")
                    .with_help("check speed, parity and stop bits on both ends"));
            }
        }
        Ok(())
    }
}
