//! How near reads came to losing a character, and whether chips are set up for the lines that they sit on.

use super::chain::Run;
use super::outcome::{LineMargin, Mismatch};
use super::places::source_of;
use super::records::LineUse;
use super::serial::{Format, Frame, I8251, Mc6850, RefusalCause, SerialChip};
use crate::project::{Chip, Home, Id, Serial, Stage};
use crate::source::{Code, Diagnostic, Severity};

/// How a chip's set-up and its line differ.
enum Difference {
    /// In the number of stop bits alone.
    StopBits,
    /// In what makes a character another.
    Characters,
    /// In how long a bit takes.
    Speed,
}

impl Run<'_> {
    /// Keeps the margins of the stage that ran.
    pub fn measure(&mut self) {
        let stack = self.machine.board.deepest_stack();
        let board = &self.machine.board;
        let lines = self.plan.machine.serial.iter().filter_map(|serial| Some((serial, serial.line?))).enumerate();
        let margins = lines.filter_map(|(number, (serial, line))| {
            let character_states = board.character_states(number);
            let margin = board.margin(number)?;
            Some(LineMargin { line: serial.name.clone(), format: line.to_string(), character_states, margin })
        });
        let tightest = margins.min_by(|first, second| first.margin.per_cent.total_cmp(&second.margin.per_cent));
        if let Some(stage) = self.outcome.stages.last_mut() {
            stage.stack = stack;
            stage.margin = tightest;
        }
    }

    /// Compares how the stage that ran left the chips with what their lines carry. Other stop bits are heard all the same:
    /// a warning to who sends, and a line of the report for who does not. Whatever else differs is the cause of what came
    /// of it, and takes its place.
    ///
    /// # Errors
    /// The difference, with what came of it, or else what was the problem before.
    pub fn compare_formats(
        &mut self,
        place: usize,
        next: Option<Id<Stage>>,
        done: Result<(), Box<Diagnostic>>,
    ) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let runs = &plan.stages[self.start.stages[place]];
        let listens = next.and_then(|next| match plan.stages[next].home {
            Home::Tape { tape, .. } => Some(plan.tapes[tape].serial),
            _ => None,
        });
        let mut station = 0;
        for (number, serial) in plan.machine.serial.numbered() {
            let Some(line) = serial.line else { continue };
            let used = self.machine.board.line_use(station);
            let sends = !self.machine.board.sent(station).is_empty();
            station += 1;
            if listens != Some(number) && used.read == 0 && !sends {
                continue;
            }
            if let Some(problem) = self.refused(runs, serial, used) {
                return Err(Box::new(with_consequence(problem, done)));
            }
            let Some(frame) = used.frame else { continue };
            if self.compared.insert(number, frame) == Some(frame) {
                continue;
            }
            match difference(frame, serial, Format::from(line)) {
                None => {}
                Some(Difference::StopBits) if !sends => self.note_mismatch(serial, frame),
                Some(Difference::StopBits) => {
                    let problem = self.other_stop_bits(runs, serial, used, frame);
                    self.outcome.problems.push(problem);
                }
                Some(Difference::Characters) => {
                    let problem = self.other_characters(runs, serial, used, frame);
                    return Err(Box::new(with_consequence(problem, done)));
                }
                Some(Difference::Speed) => {
                    let problem = self.other_speed(runs, serial, used, frame);
                    return Err(Box::new(with_consequence(problem, done)));
                }
            }
        }
        done
    }

    /// Who only listens is not hurt by other stop bits; the report says so.
    fn note_mismatch(&mut self, serial: &Serial, frame: Frame) {
        let format = serial.line.map(|line| line.to_string()).unwrap_or_default();
        if let Some(stage) = self.outcome.stages.last_mut() {
            stage.mismatch = Some(Mismatch { line: serial.name.clone(), set: frame.format.to_string(), format });
        }
    }

    /// A problem at the instruction that set a chip up.
    fn set_up(&self, headline: String, runs: &Stage, used: LineUse) -> Diagnostic {
        let problem = Diagnostic::error(Code::FormatDiffers, headline);
        let place = used.set_by.and_then(|pc| source_of(self.plan, runs, pc));
        match place {
            Some(span) => problem.at(span, "it was set up here"),
            None => problem.at(runs.span, "this stage sets it up"),
        }
    }

    fn refused(&self, runs: &Stage, serial: &Serial, used: LineUse) -> Option<Diagnostic> {
        let refusal = used.refusal?;
        let word = self.plan.machine.panel.notation.byte(refusal.word);
        let (name, chip) = (&runs.name, &serial.name);
        let (headline, why) = match refusal.why {
            RefusalCause::Synchronous => (
                format!("`{name}` sets `{chip}` to synchronous operation with the mode word `{word}`"),
                "bits 1 and 0 of the mode word are zero: the chip looks for sync characters, and no tape or line of a \
                 chain has them",
            ),
            RefusalCause::NoStopBit => (
                format!("`{name}` gives `{chip}` the mode word `{word}`, which asks for no stop bit"),
                "bits 7 and 6 of the mode word are zero, which the data sheet calls invalid",
            ),
        };
        let help = self.suits(serial, "give the chip a mode word of asynchronous operation");
        Some(self.set_up(headline, runs, used).with_note(why).with_help(help))
    }

    /// What to do, with the byte that sets a chip up for its line as the machine file has it.
    fn suits(&self, serial: &Serial, otherwise: &str) -> String {
        let Some(line) = serial.line else { return otherwise.to_owned() };
        let suits = |chip: &mut dyn SerialChip, before: &[u8], byte: u8| {
            before.iter().for_each(|&byte| chip.control(byte));
            chip.control(byte);
            chip.frame() == Some(Frame { format: Format::from(line), divisor: serial.clock })
        };
        let (byte, what) = match serial.chip {
            Chip::Mc6850 => {
                // A byte of two ones resets it; the three high bits are for interrupts and RTS.
                let byte = (0..0o40).find(|&byte| suits(&mut Mc6850::default(), &[0o003], byte));
                (byte, "the control byte, with interrupts off and RTS on,")
            }
            Chip::I8251 => ((0..=u8::MAX).find(|&byte| suits(&mut I8251::default(), &[], byte)), "the mode word"),
            Chip::Uart(_) => return otherwise.to_owned(),
        };
        let clock = serial.clock;
        match byte {
            Some(byte) => {
                let byte = self.plan.machine.panel.notation.byte(byte);
                format!("{otherwise}: {what} for {line} with a clock of {clock} times the speed is `{byte}`")
            }
            None => format!("{otherwise}: no byte sets this chip to {line} with a clock of {clock} times the speed"),
        }
    }

    fn other_stop_bits(&self, runs: &Stage, serial: &Serial, used: LineUse, frame: Frame) -> Diagnostic {
        let line = serial.line.map(|line| line.to_string()).unwrap_or_default();
        let headline =
            format!("`{}` sets `{}` to `{}`, and the line is `{line}`", runs.name, serial.name, frame.format);
        let mut problem = self.set_up(headline, runs, used);
        problem.severity = Severity::Warning;
        let more = serial.line.is_some_and(|line| frame.format.stop_halves > Format::from(line).stop_halves);
        let sends = match more {
            true => "what it sends has longer stops than the line asks for, which takes more time",
            false => "what it sends has shorter stops than the line asks for: a printing machine may need them",
        };
        problem
            .with_note("it hears all the same: a receiver looks at the first stop bit only")
            .with_note(sends)
            .with_help(
                self.suits(serial, "set the chip to the format of the line, or correct `line` in the machine file"),
            )
    }

    fn other_characters(&self, runs: &Stage, serial: &Serial, used: LineUse, frame: Frame) -> Diagnostic {
        let line = serial.line.map(|line| line.to_string()).unwrap_or_default();
        let headline =
            format!("`{}` sets `{}` to `{}`, and the line is `{line}`", runs.name, serial.name, frame.format);
        self.set_up(headline, runs, used).with_help(self.suits(
            serial,
            "set the chip to the data bits and the parity of the line, or correct `line` in the machine file",
        ))
    }

    fn other_speed(&self, runs: &Stage, serial: &Serial, used: LineUse, frame: Frame) -> Diagnostic {
        let (name, chip) = (&runs.name, &serial.name);
        let headline = format!(
            "`{name}` makes `{chip}` divide its clock by `{}`, and the clock is `{}` times the speed of the line",
            frame.divisor, serial.clock
        );
        let speed = serial.line.map_or(0.0, |line| f64::from(line.speed.hundredths()) / 100.0);
        let heard = speed * f64::from(serial.clock) / f64::from(frame.divisor);
        self.set_up(headline, runs, used)
            .with_note(format!("so it hears and sends at {heard} baud, and the line runs at {speed} baud"))
            .with_help(
                self.suits(
                    serial,
                    "change the divisor in the byte that sets the chip up, or `clock` in the machine file",
                ),
            )
    }
}

fn difference(frame: Frame, serial: &Serial, line: Format) -> Option<Difference> {
    let set = frame.format;
    if frame.divisor != serial.clock && !matches!(serial.chip, Chip::Uart(_)) {
        Some(Difference::Speed)
    } else if (set.data, set.parity) != (line.data, line.parity) {
        Some(Difference::Characters)
    } else {
        (set.stop_halves != line.stop_halves).then_some(Difference::StopBits)
    }
}

fn with_consequence(problem: Diagnostic, done: Result<(), Box<Diagnostic>>) -> Diagnostic {
    match done {
        Ok(()) => problem.with_note("the program went on all the same"),
        Err(consequence) => problem.with_note(format!("what came of it: {}", consequence.headline)),
    }
}
