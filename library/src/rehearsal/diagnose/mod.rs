//! Why a stage did not get where it should: the cause, the instruction, and what would mend it.

mod conduct;
mod drive;
mod line;
mod stack;
mod verdict;

use super::cast;
use super::hand::Differs;
use super::incident::{Incident, What};
use super::machine::{Machine, Stop};
use super::memory::UNDRIVEN;
use super::places::source_of;
use super::round::Round;
use super::tapes::{self, Played, Roll};
use super::words;
use crate::isa::TStates;
use crate::notation::{Address, Notation, counted};
use crate::project::{self, Home, Plan, Stage};
use crate::source::{Code, Diagnostic, Severity};

/// What there is to look at when a run has stopped.
pub struct Scene<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The machine as it stopped.
    pub machine: &'a Machine,
    /// The stage that ran.
    pub runs: &'a Stage,
    /// The stage that it was to load or to start.
    pub loaded: Option<&'a Stage>,
    /// The tape that it was to read.
    pub roll: Option<&'a Roll>,
    /// The number of that tape's first character on its line.
    pub first: usize,
    /// The frame of that tape at which the stage that runs began to listen.
    pub from: usize,
    /// How many incidents there were before.
    pub seen: usize,
    /// When the stage was started.
    pub began: TStates,
    /// Instructions of a stage that are played at most.
    pub most: u64,
}

/// The end of a stage that was to load or start another.
///
/// # Errors
/// Why it did not.
pub fn loading(scene: &Scene, stop: Stop) -> Result<(), Box<Diagnostic>> {
    let problem = match (scene.lost_character(), stop) {
        (Some(problem), _) => problem,
        (None, Stop::Reached(_)) => {
            match scene.loaded.and_then(|stage| wrong_byte(scene.machine, scene.notation(), stage)) {
                Some(problem) => problem,
                None => return Ok(()),
            }
        }
        (None, stop) => scene.unwired().unwrap_or_else(|| scene.stopped(stop)),
    };
    Err(Box::new(scene.with_drive(scene.with_background(problem))))
}

/// The end of the time for which the last stage was watched.
///
/// # Errors
/// What it did wrong.
pub fn watching(scene: &Scene, stop: Stop) -> Result<(), Box<Diagnostic>> {
    let problem = match stop {
        Stop::Incident(incident) => Some(scene.incident(incident)),
        Stop::Endless { port, .. } => {
            let waits = Round::of(scene.machine).waits_at(port);
            waits.and_then(|(port, bits)| scene.deaf(port, bits)).or_else(|| scene.unset())
        }
        Stop::GivenUp => Some(scene.given_up()),
        _ => scene.unset(),
    };
    let lost = || scene.sent_over().map(|problem| Diagnostic { severity: Severity::Error, ..problem });
    let problem = problem.or_else(|| scene.drive_mishap()).or_else(lost);
    problem.map_or(Ok(()), |problem| Err(Box::new(problem)))
}

/// What a stage did that did no harm to the start, and will to something else; `done` is what came of the stage.
pub fn warnings(scene: &Scene, done: &Result<(), Box<Diagnostic>>) -> Vec<Diagnostic> {
    // Of the last stage it is an error, and of one that failed it may be the cause: both are told there.
    let unset = scene.unset().filter(|_| scene.loaded.is_some() && done.is_ok());
    let misused = scene.drive_mishap().filter(|_| done.is_ok());
    let unset = unset.into_iter().chain(misused).map(|problem| Diagnostic { severity: Severity::Warning, ..problem });
    let lost = scene.sent_over().filter(|_| scene.loaded.is_some());
    unset.chain(lost).chain(scene.stored_nowhere().filter(|_| done.is_ok())).collect()
}

/// The lights differ from the sheet while a stage is deposited.
pub fn differs(stage: &Stage, machine: &project::Machine, differs: Differs) -> Diagnostic {
    let notation = machine.panel.notation;
    let Differs { address, expected, found } = differs;
    let headline = format!(
        "`{}` was deposited at `{}`, and the lights show `{}`",
        notation.byte(expected),
        notation.address(address),
        notation.byte(found)
    );
    Diagnostic::error(Code::ByteWrong, headline).at(stage.span, "while this stage was verified")
}

/// The first byte of a stage that is not in memory as it should be when the stage starts.
pub fn wrong_byte(machine: &Machine, notation: Notation, stage: &Stage) -> Option<Diagnostic> {
    let memory = &machine.board.memory;
    let bytes = stage.image.extents().flat_map(|extent| {
        extent.bytes.iter().enumerate().map(move |(at, &byte)| (extent.base.wrapping_add(at as u16), byte))
    });
    let mut wrong = bytes.filter(|&(address, byte)| memory.byte(address) != byte);
    let (address, byte) = wrong.next()?;
    let more = wrong.count() as u64;
    let headline = format!(
        "`{}` was started with `{}` at `{}` instead of `{}`",
        stage.name,
        notation.byte(memory.byte(address)),
        notation.address(address),
        notation.byte(byte)
    );
    let span = stage.made_by(address).map_or(stage.span, |place| place.span());
    let problem = Diagnostic::error(Code::ByteWrong, headline).at(span, "this should be there");
    Some(match more {
        0 => problem,
        1 => problem.with_note("1 more byte is wrong"),
        more => problem.with_note(format!("{more} more bytes are wrong")),
    })
}

impl Scene<'_> {
    fn notation(&self) -> Notation {
        self.plan.machine.panel.notation
    }

    fn address(&self, address: Address) -> String {
        self.notation().address(address).to_string()
    }

    /// A problem at an instruction, or at the stage if the instruction has no source.
    fn at(&self, problem: Diagnostic, pc: Address, text: &str) -> Diagnostic {
        match source_of(self.plan, self.runs, pc) {
            Some(span) => problem.at(span, text),
            None => problem.at(self.runs.span, format!("{text}, at {}", self.address(pc))),
        }
    }

    /// The same problem, with another instruction that matters.
    fn and_at(&self, problem: Diagnostic, pc: Option<Address>, text: &str) -> Diagnostic {
        match pc.map(|pc| (pc, source_of(self.plan, self.runs, pc))) {
            Some((_, Some(span))) => problem.and_at(span, text),
            Some((pc, None)) => problem.with_note(format!("{text}, at {}", self.address(pc))),
            None => problem,
        }
    }

    /// The stage that has a byte at an address.
    fn owner(&self, address: Address) -> &str {
        let holds = |stage: &&&Stage| stage.image.byte(address).is_some();
        let near = [Some(self.runs), self.loaded];
        let near = near.iter().flatten().find(holds).map(|stage| stage.name.as_str());
        let any = || self.plan.stages.iter().find(|stage| stage.image.byte(address).is_some());
        near.or_else(|| any().map(|stage| stage.name.as_str())).unwrap_or("another stage")
    }

    /// How often received data were read although no character waited.
    fn in_vain(&self) -> u64 {
        self.machine.board.counts().in_vain
    }

    /// What happened while the stage ran.
    fn incidents(&self) -> impl Iterator<Item = &Incident> {
        self.machine.board.incidents().iter().skip(self.seen)
    }

    fn serial(&self) -> Option<usize> {
        let tape = self.roll?.reel.tape;
        Some(cast::station(&self.plan.machine, self.plan.tapes[tape].serial))
    }

    fn stopped(&self, stop: Stop) -> Diagnostic {
        match stop {
            Stop::Incident(incident) => self.incident(incident),
            Stop::Halted => self.halted(),
            Stop::Endless { pc, port } => {
                let round = Round::of(self.machine);
                match round.waits_at(port) {
                    Some((port, bits)) => self.waits(port, bits),
                    None => self.circles(pc, &round),
                }
            }
            Stop::GivenUp => self.given_up(),
            Stop::Deadline | Stop::Reached(_) => {
                let headline = format!("`{}` is not done after {}", self.runs.name, counted(self.plan.limit, "second"));
                let pc = Address(self.machine.cpu.registers.pc);
                self.at(Diagnostic::error(Code::TakesTooLong, headline), pc, "it was here")
                    .with_help("raise `limit` under `[chain]` if it needs more")
            }
        }
    }

    /// The bound on instructions was hit before the chain's limit.
    fn given_up(&self) -> Diagnostic {
        let (name, hertz) = (&self.runs.name, self.plan.machine.clock_hz.unwrap_or(cast::USUAL_CLOCK));
        let seconds = (self.machine.cpu.clock.0 - self.began.0) as f64 / hertz as f64;
        let (most, time) = (counted(self.most, "instruction"), words::seconds(seconds));
        let headline = format!("`{name}` was given up after {most}, {time} of the machine: it is not done");
        let pc = Address(self.machine.cpu.registers.pc);
        let share = f64::from(self.plan.limit) / seconds;
        self.at(Diagnostic::error(Code::TakesTooLong, headline), pc, "it was here")
            .with_note(format!(
                "no more are played of a stage; all of its limit, {}, would take about {share:.0} times as many",
                counted(self.plan.limit, "second")
            ))
            .with_help("look for a loop that never ends; if it only takes long, allow more with `--instructions`")
    }

    /// What else may have led to it: reads in vain, stores that went elsewhere, a tape that is not what the plan makes.
    fn with_background(&self, mut problem: Diagnostic) -> Diagnostic {
        if let Some(serial) = self.serial() {
            let used = self.machine.board.line_use(serial);
            if self.in_vain() > used.read {
                let note = format!("the data were read {} when no character waited", times(self.in_vain()));
                let help = "look whether the right status bit is tested, and whether a one or a zero means yes";
                problem = problem.with_note(note);
                problem.help.get_or_insert(help.into());
            }
        }
        problem.notes.extend(self.stored_elsewhere());
        problem.notes.extend(self.changed(Address(self.machine.cpu.registers.pc.wrapping_sub(1))));
        self.with_tape(problem)
    }

    /// The instruction at an address is no longer the one that the stage was built with.
    fn changed(&self, pc: Address) -> Option<String> {
        let (built, found) = (self.runs.image.byte(pc)?, self.machine.board.memory.byte(pc));
        let notation = self.notation();
        (self.machine.cpu.is_halted() && built != found).then(|| {
            let (place, found, built) = (notation.address(pc), notation.byte(found), notation.byte(built));
            format!("{place} holds {found} by now, and `{}` was built with {built} there", self.runs.name)
        })
    }

    /// What was stored where nothing keeps it. A program that looks for the end of memory does so on purpose.
    fn stored_nowhere(&self) -> Option<Diagnostic> {
        let (address, pc) = self.incidents().find_map(|incident| match incident.what {
            What::WritesNowhere(address) => Some((address, incident.pc)),
            _ => None,
        })?;
        let headline = format!("`{}` stores at `{}`, where there is no memory", self.runs.name, self.address(address));
        let problem = self.at(Diagnostic::warning(Code::WroteNowhere, headline), pc, "by this instruction");
        let undriven = self.notation().byte(UNDRIVEN);
        let problem = problem.with_note(format!("what is read there is taken for {undriven}, whatever was stored"));
        Some(problem.with_help(
            "if it looks for the end of memory, all is well; if not, mend the address, or `memory` in the machine file",
        ))
    }

    /// A loader that stores most of what it reads where nothing belongs has a wrong address, or a wrong tape.
    fn stored_elsewhere(&self) -> Option<String> {
        let (name, loaded) = (&self.runs.name, self.loaded?);
        let nowhere = self.incidents().find_map(|incident| match incident.what {
            What::WritesNowhere(address) => Some(address),
            _ => None,
        });
        if let Some(address) = nowhere {
            return Some(format!("`{name}` stored at {}, where there is no memory", self.address(address)));
        }
        let strays = self.machine.board.strays()?;
        let arrived = self.machine.board.arrival().map_or(0, |arrival| arrival.count);
        // What pads a page on a tape lies beside the program in its page.
        let near = loaded
            .image
            .extents()
            .any(|extent| strays.high.0 >= extent.base.0 & 0xFF00 && strays.low.0 <= extent.last().0 | 0x00FF);
        // A loader from disk has a buffer of its own.
        let is_loader = matches!(loaded.home, Home::Tape { .. });
        (is_loader && !near && arrived < loaded.image.len()).then(|| {
            let (low, high) = (self.address(strays.low), self.address(strays.high));
            let range = if low == high { format!("at {low}") } else { format!("between {low} and {high}") };
            format!("`{name}` stored {range}, where nothing of the chain belongs")
        })
    }

    fn with_tape(&self, mut problem: Diagnostic) -> Diagnostic {
        let Some((roll, loaded)) = self.roll.zip(self.loaded) else { return problem };
        let given = matches!(roll.played, Played::GivenFrames | Played::GivenRecording);
        let Home::Tape { framing, .. } = &loaded.home else { return problem };
        if !given {
            return problem;
        }
        // What an earlier stage read is of another framing.
        let frames = roll.reel.bytes.get(self.from..).unwrap_or_default();
        let notes = verdict::notes(framing, (self.from, frames), loaded, self.notation());
        let is_sound = notes.is_empty();
        problem = notes.into_iter().fold(problem, Diagnostic::with_note);
        match tapes::difference(&roll.made, &roll.reel.bytes, self.notation()) {
            Some(difference) if is_sound => {
                let problem = problem
                    .with_note(difference)
                    .with_note("the tape reads whole, but holds another program than the chain makes now");
                match problem.help {
                    Some(_) => problem,
                    None => problem.with_help(
                        "was it written before the last change? Then write it anew from what `build` makes now, or \
                         rehearse the chain as it was",
                    ),
                }
            }
            Some(difference) => problem.with_note(difference),
            None => problem.with_note("the tape that was given is as the chain makes it"),
        }
    }
}

fn times(number: u64) -> String {
    if number == 1 { "once".into() } else { format!("{number} times") }
}
