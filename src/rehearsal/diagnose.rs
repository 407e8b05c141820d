//! Why a stage did not get where it should: the cause, the instruction, and what would mend it.

use super::cast;
use super::chain::lost;
use super::hand::Differs;
use super::incident::{Incident, What};
use super::machine::{Machine, Stop};
use super::verdict;
use crate::notation::{Address, Notation};
use crate::project::{self, Home, Plan, Reel, Stage};
use crate::source::{Code, Diagnostic, Span};

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
    pub reel: Option<&'a Reel>,
    /// The number of that tape's first character on its line.
    pub first: usize,
    /// The frame of that tape at which the stage that runs began to listen.
    pub from: usize,
    /// How many incidents there were before.
    pub seen: usize,
}

/// The end of a stage that was to load or start another.
///
/// # Errors
/// Why it did not.
pub fn loading(scene: &Scene, stop: Stop) -> Result<(), Box<Diagnostic>> {
    let problem = match (scene.lost_character(), stop) {
        (Some(problem), _) => problem,
        (None, Stop::Reached(_)) => match scene.wrong_byte() {
            Some(problem) => problem,
            None => return Ok(()),
        },
        (None, stop) => scene.unwired().unwrap_or_else(|| scene.stopped(stop)),
    };
    Err(Box::new(scene.with_background(problem)))
}

/// The end of the time for which the last stage was watched.
///
/// # Errors
/// What it did wrong.
pub fn watching(scene: &Scene, stop: Stop) -> Result<(), Box<Diagnostic>> {
    match stop {
        Stop::Incident(incident) => Err(Box::new(scene.incident(incident))),
        _ => Ok(()),
    }
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

impl Scene<'_> {
    fn notation(&self) -> Notation {
        self.plan.machine.panel.notation
    }

    fn address(&self, address: Address) -> String {
        self.notation().address(address).to_string()
    }

    /// The source of the instruction at an address: that of the stage that runs, or of another that has it.
    fn source(&self, pc: Address) -> Option<Span> {
        let others = self.plan.stages.iter().filter(|stage| stage.code.is_some());
        let stages = std::iter::once(self.runs).chain(others);
        stages.filter_map(|stage| self.statement(stage, pc)).next()
    }

    fn statement(&self, stage: &Stage, pc: Address) -> Option<Span> {
        let assembly = stage.assembly.as_ref()?;
        let statement = assembly.statements.iter().find(|statement| statement.location == pc.0);
        let statement = statement.filter(|statement| statement.instruction().is_some());
        statement.map(|statement| statement.span()).or_else(|| stage.made_by(pc).map(|place| place.span()))
    }

    /// A problem at an instruction, or at the stage if the instruction has no source.
    fn at(&self, problem: Diagnostic, pc: Address, text: &str) -> Diagnostic {
        match self.source(pc) {
            Some(span) => problem.at(span, text),
            None => problem.at(self.runs.span, format!("{text}, at {}", self.address(pc))),
        }
    }

    /// How often received data were read although no character waited.
    fn in_vain(&self) -> u64 {
        self.machine.board.counts().in_vain
    }

    fn serial(&self) -> Option<usize> {
        let tape = self.reel?.tape;
        Some(cast::station(&self.plan.machine, self.plan.tapes[tape].serial))
    }

    /// A stage that got nowhere reads a port where nothing is.
    fn unwired(&self) -> Option<Diagnostic> {
        let unknown = |incident: &Incident| match incident.what {
            What::InputUnknown(port) => Some((port, incident.pc)),
            _ => None,
        };
        let (port, pc) = self.machine.board.incidents().iter().skip(self.seen).find_map(unknown)?;
        let shown = self.notation().byte(port);
        let headline = format!("`{}` gets nowhere: it reads port `{shown}`, where nothing is wired", self.runs.name);
        let problem = self.at(Diagnostic::error(Code::PortUnwired, headline), pc, "by this instruction");
        Some(problem.with_help("correct the number of the port"))
    }

    /// A character that carried something was lost, although the program reads the line.
    fn lost_character(&self) -> Option<Diagnostic> {
        let (reel, serial) = (self.reel?, self.serial()?);
        let used = self.machine.board.line_use(serial);
        if used.read == 0 || self.in_vain() > used.read {
            return None;
        }
        let incidents = self.machine.board.incidents().iter().skip(self.seen);
        let matters = |incident: &&Incident| {
            lost(incident.what).is_some_and(|(at, character)| at == serial && self.matters(reel, character))
        };
        let incident = incidents.into_iter().find(matters)?;
        let (_, character) = lost(incident.what)?;
        let interface = &self.plan.machine.serial[self.plan.tapes[reel.tape].serial];
        let headline = format!(
            "`{}` lost character `{}` of the tape `{}`",
            self.runs.name,
            character - self.first,
            self.plan.tapes[reel.tape].name
        );
        let problem = Diagnostic::error(Code::CharacterLost, headline);
        let problem = self.at(problem, incident.pc, "running when the next character was complete");
        let states = self.machine.board.character_states(serial);
        let line = interface.line.map(|line| line.to_string()).unwrap_or_default();
        Some(
            problem
                .with_note(format!(
                    "a character of `{line}` takes {states:.0} T-states; it must be read before the next is complete"
                ))
                .with_help("shorten the way from read to read, slow the line, or let the framing leave gaps"),
        )
    }

    /// Whether a character of a line is part of something on the tape.
    fn matters(&self, reel: &Reel, character: usize) -> bool {
        let Some(frame) = character.checked_sub(self.first) else { return false };
        if reel.given { reel.bytes.get(frame).is_some_and(|&byte| byte != 0) } else { reel.stage_of(frame).is_some() }
    }

    /// The first byte of the loaded stage that is not in memory as it should be.
    fn wrong_byte(&self) -> Option<Diagnostic> {
        let loaded = self.loaded?;
        let memory = &self.machine.board.memory;
        let bytes = loaded.image.extents().flat_map(|extent| {
            extent.bytes.iter().enumerate().map(move |(at, &byte)| (extent.base.wrapping_add(at as u16), byte))
        });
        let mut wrong = bytes.filter(|&(address, byte)| memory.byte(address) != byte);
        let (address, byte) = wrong.next()?;
        let more = wrong.count();
        let notation = self.notation();
        let headline = format!(
            "`{}` was started with `{}` at `{}` instead of `{}`",
            loaded.name,
            notation.byte(memory.byte(address)),
            notation.address(address),
            notation.byte(byte)
        );
        let span = loaded.made_by(address).map_or(loaded.span, |place| place.span());
        let problem = Diagnostic::error(Code::ByteWrong, headline).at(span, "this should be there");
        Some(match more {
            0 => problem,
            more => problem.with_note(format!("{more} more bytes are wrong")),
        })
    }

    fn stopped(&self, stop: Stop) -> Diagnostic {
        match stop {
            Stop::Incident(incident) => self.incident(incident),
            Stop::Halted => self.halted(),
            Stop::Endless { pc, port: Some(port) } => self.waits(pc, port),
            Stop::Endless { pc, port: None } => {
                let headline = format!("`{}` goes round for ever and does nothing", self.runs.name);
                self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "in this loop")
            }
            Stop::Deadline | Stop::Reached(_) => {
                let headline = format!("`{}` is not done after `{}` seconds", self.runs.name, self.plan.limit);
                let pc = Address(self.machine.cpu.registers.pc);
                self.at(Diagnostic::error(Code::TakesTooLong, headline), pc, "it was here")
                    .with_help("raise `limit` under `[chain]` if it needs more")
            }
        }
    }

    fn halted(&self) -> Diagnostic {
        let pc = Address(self.machine.cpu.registers.pc.wrapping_sub(1));
        let label = self.runs.image.nearest_label(pc).map(|(symbol, _)| format!(" at `{}`", symbol.name));
        let headline = format!("`{}` stopped{}", self.runs.name, label.unwrap_or_default());
        let mut problem = self.at(Diagnostic::error(Code::StoppedEarly, headline), pc, "halted here");
        if let Some(output) = self.machine.board.outputs().last() {
            let notation = self.notation();
            let port = self.plan.machine.ports.outputs.get(&output.port).map_or("", |port| port.name.as_str());
            let text =
                format!("it put {} out to port {} {port}", notation.byte(output.byte), notation.byte(output.port));
            problem = problem.with_note(text.trim_end());
        }
        problem
    }

    /// The program waits at a port, and nothing more will come.
    fn waits(&self, pc: Address, port: u8) -> Diagnostic {
        let notation = self.notation();
        let shown = notation.byte(port);
        let name = &self.runs.name;
        let error = |headline: String| self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it waits here");
        let known = self.plan.machine.ports.inputs.get(&port).cloned().unwrap_or_default();
        let Some(serial) = self.serial_of(port) else {
            return error(format!("`{name}` waits for ever at port `{shown}`, `{}`", known.name));
        };
        let used = self.machine.board.line_use(serial);
        if used.frame.is_none() {
            return error(format!("`{name}` waits for a character from a chip that was never set up"))
                .with_help("reset the chip and give it a format first");
        }
        if used.is_waiting {
            return error(format!("`{name}` does not see that a character waits at port `{shown}`"))
                .with_note(format!("the bits of the port: {}", known.bit_words()))
                .with_help("look whether the right bit is tested, and whether a one or a zero means yes");
        }
        self.tape_is_over(pc, serial)
    }

    /// The interface with a line whose status is read at a port.
    fn serial_of(&self, port: u8) -> Option<usize> {
        let mut lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        lines.position(|serial| serial.status == port)
    }

    fn tape_is_over(&self, pc: Address, serial: usize) -> Diagnostic {
        let name = &self.runs.name;
        let Some((loaded, reel)) = self.loaded.zip(self.reel) else {
            let headline = format!("`{name}` waits for a character, and none will come");
            return self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it waits here");
        };
        let (tape, whole) = (&self.plan.tapes[reel.tape].name, loaded.image.len());
        let arrived = self.machine.board.arrival().map_or(0, |arrival| arrival.count);
        let headline = match arrived {
            arrived if arrived == whole => {
                format!("all of `{}` was read, and `{name}` waits for more of the tape `{tape}`", loaded.name)
            }
            arrived => format!(
                "the tape `{tape}` is over, and `{name}` has stored `{arrived}` of `{whole}` bytes of `{}`",
                loaded.name
            ),
        };
        let problem = self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it still waits here");
        let problem = match arrived == whole {
            true => {
                problem.with_note("nothing told the loader that it has everything: is the end of the tape missing?")
            }
            false => problem,
        };
        let read = self.machine.board.line_use(serial).read;
        problem.with_note(format!("{read} characters were read from the line so far"))
    }

    fn incident(&self, incident: Incident) -> Diagnostic {
        let Incident { what, pc, .. } = incident;
        let name = &self.runs.name;
        let error = |code, headline: String, text: &str| self.at(Diagnostic::error(code, headline), pc, text);
        match what {
            What::ExecutesUnloaded(address) => self.astray(
                Code::RanUnloaded,
                format!("`{name}` went to `{}`, where nothing was ever loaded", self.address(address)),
            ),
            What::ExecutesStray(address) => self.astray(
                Code::RanStray,
                format!(
                    "`{name}` went to `{}`, where no program of the chain has an instruction",
                    self.address(address)
                ),
            ),
            What::ExecutesData(address) => error(
                Code::RanData,
                format!("`{name}` runs into data at `{}`", self.address(address)),
                "this is no instruction",
            ),
            What::ExecutesEarly(address) => self.early(address),
            What::WritesRom(address) => {
                let problem = error(
                    Code::WroteRom,
                    format!("`{name}` writes to ROM at `{}`", self.address(address)),
                    "by this instruction",
                );
                let in_rom = self
                    .machine
                    .board
                    .deepest_stack()
                    .is_some_and(|stack| self.machine.board.memory.is_rom(stack.lowest));
                if in_rom {
                    problem.with_help("the stack lies in ROM: load SP with an address above RAM that is free")
                } else {
                    problem
                }
            }
            What::Overwrites(address) => {
                let stage = self.plan.stages.iter().find(|stage| stage.image.byte(address).is_some());
                let whose = stage.map_or("another stage", |stage| stage.name.as_str());
                let headline =
                    format!("`{name}` writes over `{}` of `{whose}`, which is still needed", self.address(address));
                error(Code::WroteNeeded, headline, "by this instruction")
            }
            What::StackUnset => error(
                Code::StackUnset,
                format!("`{name}` uses the stack before it has one"),
                "this pushes to wherever SP happens to point",
            )
            .with_help("begin with `LXI SP`"),
            other => error(Code::RanStray, format!("`{name}`: {other:?}"), "here"),
        }
    }

    /// The program left all programs: the last instruction of one that ran is what matters.
    fn astray(&self, code: Code, headline: String) -> Diagnostic {
        let problem = Diagnostic::error(code, headline);
        let problem = self.at(problem, self.machine.board.instruction_before(), "it came from here");
        match self.loaded {
            Some(loaded) => {
                problem.with_note(format!("`{}` was to be started at {}", loaded.name, self.address(loaded.entry)))
            }
            None => problem,
        }
    }

    fn early(&self, address: Address) -> Diagnostic {
        let (name, loaded) = (&self.runs.name, self.loaded.map_or("the next stage", |stage| stage.name.as_str()));
        let place = self.address(address);
        if self.runs.image.byte(address).is_some() {
            let headline =
                format!("`{name}` was overwritten at `{place}` by what it loads, `{loaded}`, and went on there");
            let problem =
                self.at(Diagnostic::error(Code::WroteNeeded, headline), address, "this instruction was still needed");
            return problem.with_help("move the loader or what it loads");
        }
        let headline = format!("`{name}` went to `{place}` in `{loaded}`, which is not its entry");
        let problem = Diagnostic::error(Code::RanStray, headline);
        let problem = self.at(problem, self.machine.board.instruction_before(), "it came from here");
        match self.loaded {
            Some(loaded) => problem.with_note(format!("the entry is {}", self.address(loaded.entry))),
            None => problem,
        }
    }

    /// What else may have led to it: reads in vain, a tape that is not what the plan makes.
    fn with_background(&self, mut problem: Diagnostic) -> Diagnostic {
        if let Some(serial) = self.serial() {
            let used = self.machine.board.line_use(serial);
            if self.in_vain() > used.read {
                let note = format!("the data were read `{}` times when no character waited", self.in_vain());
                problem = problem
                    .with_note(note)
                    .with_help("look whether the right status bit is tested, and whether a one or a zero means yes");
            }
        }
        if let Some((reel, loaded)) = self.reel.zip(self.loaded)
            && let Home::Tape { framing, .. } = &loaded.home
            && reel.given
        {
            // What an earlier stage read is of another framing.
            for note in
                verdict::notes(framing, reel.bytes.get(self.from..).unwrap_or_default(), loaded, self.notation())
            {
                problem = problem.with_note(note);
            }
        }
        problem
    }
}
