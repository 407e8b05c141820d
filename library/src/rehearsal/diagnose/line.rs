//! What went wrong on a serial line: a character lost, a wait that does not end, a port where nothing is.

use std::collections::BTreeSet;

use super::Scene;
use crate::notation::{Address, counted};
use crate::project::Reel;
use crate::rehearsal::incident::{Incident, What};
use crate::rehearsal::round::Round;
use crate::source::{Code, Diagnostic};

/// The most bytes of a port that are named.
const MOST_SHOWN: usize = 3;

impl Scene<'_> {
    /// A stage that got nowhere reads a port where nothing is.
    pub(super) fn unwired(&self) -> Option<Diagnostic> {
        let unknown = |incident: &Incident| match incident.what {
            What::InputUnknown(port) => Some((port, incident.pc)),
            _ => None,
        };
        let (port, pc) = self.incidents().find_map(unknown)?;
        let shown = self.notation().byte(port);
        let headline = format!("`{}` gets nowhere: it reads port `{shown}`, where nothing is wired", self.runs.name);
        let problem = self.at(Diagnostic::error(Code::PortUnwired, headline), pc, "by this instruction");
        Some(problem.with_help("correct the number of the port"))
    }

    /// A character that carried something was lost, although the program reads the line.
    pub(super) fn lost_character(&self) -> Option<Diagnostic> {
        let (roll, serial) = (self.roll?, self.serial()?);
        let used = self.machine.board.line_use(serial);
        if used.read == 0 || self.in_vain() > used.read {
            return None;
        }
        let lost = |incident: &Incident| match incident.what {
            What::Overrun { serial: at, character } if at == serial && self.matters(&roll.reel, character) => {
                Some((character, incident.pc))
            }
            _ => None,
        };
        let (character, pc) = self.incidents().find_map(lost)?;
        let interface = &self.plan.machine.serial[self.plan.tapes[roll.reel.tape].serial];
        let headline = format!(
            "`{}` lost frame `{}` of the tape `{}`",
            self.runs.name,
            character - self.first,
            self.plan.tapes[roll.reel.tape].name
        );
        let problem = Diagnostic::error(Code::CharacterLost, headline);
        let problem = self.at(problem, pc, "running when the next character was complete");
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

    /// The program goes round without end, and no port that it reads makes it leave.
    pub(super) fn circles(&self, pc: Address, round: &Round) -> Diagnostic {
        let name = &self.runs.name;
        let ports: Vec<_> = round.reads.iter().map(|port| format!("`{}`", self.notation().byte(*port))).collect();
        let shown = |(port, bytes): (&u8, &BTreeSet<u8>)| {
            let bytes: Vec<_> = bytes.iter().map(|byte| format!("`{}`", self.notation().byte(*byte))).collect();
            let bytes = if bytes.len() > MOST_SHOWN { "changing bytes".into() } else { bytes.join(" and ") };
            format!("{bytes} at port `{}`", self.notation().byte(*port))
        };
        let shows: Vec<_> = round.shows.iter().map(shown).collect();
        let headline = match ports.as_slice() {
            [] if shows.is_empty() => format!("`{name}` goes round for ever and does nothing"),
            [] => format!("`{name}` goes round for ever and only shows {}", shows.join(" and ")),
            _ => format!(
                "`{name}` goes round for ever: it reads port {}, and decides nothing by it",
                ports.join(" and ")
            ),
        };
        let problem = self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "in this loop");
        if ports.is_empty() { problem } else { problem.with_help("test what was read, and leave the loop by a branch") }
    }

    /// The program waits for these bits of a port, and nothing more will come.
    pub(super) fn waits(&self, port: u8, bits: u8) -> Diagnostic {
        let pc = self.machine.board.last_reader(port);
        let notation = self.notation();
        let shown = notation.byte(port);
        let name = &self.runs.name;
        let error = |headline: String| self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it waits here");
        let known = self.plan.machine.ports.inputs.get(&port).cloned().unwrap_or_default();
        let Some(serial) = self.serial_of(port) else {
            return error(format!("`{name}` waits for ever at port `{shown}`, `{}`", known.name));
        };
        if let Some(problem) = self.deaf(port, bits) {
            return problem;
        }
        let used = self.machine.board.line_use(serial);
        let listens = self.listens(port, bits);
        if used.is_waiting || !listens {
            let problem = match used.is_waiting {
                true => error(format!("`{name}` does not see that a character waits at port `{shown}`")),
                false => error(format!("`{name}` waits for ever at port `{shown}`, and not for a character")),
            };
            let problem = problem
                .with_note(format!("the bits of the port: {}", known.bit_words()))
                .with_help("look whether the right bit is tested, and whether a one or a zero means yes");
            return if listens { problem } else { problem.with_note(looks_at(bits)) };
        }
        self.tape_is_over(pc, serial)
    }

    /// The program waits at a port for a chip that will never hear anything.
    pub(super) fn deaf(&self, port: u8, bits: u8) -> Option<Diagnostic> {
        let used = self.machine.board.line_use(self.serial_of(port)?);
        let pc = self.machine.board.last_reader(port);
        let name = &self.runs.name;
        let listens = self.listens(port, bits);
        let error = |headline: String| self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it waits here");
        if used.is_off && listens {
            let problem = error(format!("`{name}` waits for a character from a chip whose receiver is off"));
            return Some(
                self.and_at(problem, used.set_by, "the chip was set up here")
                    .with_help("switch the receiver on: bit 2 of the command word that follows the mode word"),
            );
        }
        let what = if listens { "for a character from" } else { "to send to" };
        (used.frame.is_none() && !used.is_off).then(|| {
            error(format!("`{name}` waits {what} a chip that was never set up"))
                .with_help("reset the chip and give it a format first")
        })
    }

    /// Whether a program that looks at these bits of a status port looks whether a character has come. Where only several
    /// bits together would make it go on, it is taken to.
    fn listens(&self, port: u8, bits: u8) -> bool {
        let serial = self.plan.machine.serial.iter().find(|serial| serial.line.is_some() && serial.status == port);
        bits == 0 || serial.is_none_or(|serial| bits & serial.received() != 0)
    }

    /// The program used a chip that was never set up, and goes on as if it were.
    pub(super) fn unset(&self) -> Option<Diagnostic> {
        let unset = |incident: &Incident| match incident.what {
            What::PollsUnset { serial } => Some((serial, "asks", incident.pc)),
            What::NotSent { serial } => Some((serial, "sends to", incident.pc)),
            _ => None,
        };
        let is_unset = |(serial, ..): &(usize, &str, Address)| {
            let used = self.machine.board.line_use(*serial);
            used.frame.is_none() && !used.is_off && used.refusal.is_none()
        };
        let (serial, verb, pc) = self.incidents().filter_map(unset).find(is_unset)?;
        let mut lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        let interface = &lines.nth(serial)?.name;
        let headline = format!("`{}` {verb} `{interface}`, a chip that was never set up", self.runs.name);
        let problem = self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "by this instruction");
        Some(problem.with_help("reset the chip and give it a format first"))
    }

    /// A character of the machine's own that never left it, or not whole.
    pub(super) fn sent_over(&self) -> Option<Diagnostic> {
        let lost = |incident: &Incident| {
            let (serial, how, help) = match incident.what {
                What::SentOver { serial } => (
                    serial,
                    " before it can take more: a character is lost",
                    "wait until the status says that the transmitter's buffer is empty",
                ),
                What::CutOff { serial } => (
                    serial,
                    " and resets it before the character has left: it is lost",
                    "wait until the transmitter is empty before the chip is reset",
                ),
                What::HeldBack { serial } if self.machine.board.line_use(serial).holds_back => (
                    serial,
                    ", whose transmitter is off: nothing leaves it",
                    "switch the transmitter on: bit 0 of the command word that follows the mode word",
                ),
                What::NotSent { serial } if self.machine.board.line_use(serial).refusal.is_some() => (
                    serial,
                    ", which is set up for no start-stop characters: nothing leaves it",
                    "give the chip a mode word of asynchronous operation",
                ),
                _ => return None,
            };
            Some((serial, how, help, incident.pc))
        };
        let (serial, how, help, pc) = self.incidents().find_map(lost)?;
        let mut lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        let interface = &lines.nth(serial)?.name;
        let headline = format!("`{}` sends to `{interface}`{how}", self.runs.name);
        let problem = self.at(Diagnostic::warning(Code::CharacterLost, headline), pc, "by this instruction");
        Some(problem.with_help(help))
    }

    /// The interface with a line whose status is read at a port.
    fn serial_of(&self, port: u8) -> Option<usize> {
        let mut lines = self.plan.machine.serial.iter().filter(|serial| serial.line.is_some());
        lines.position(|serial| serial.status == port)
    }

    fn tape_is_over(&self, pc: Address, serial: usize) -> Diagnostic {
        let name = &self.runs.name;
        let Some((loaded, roll)) = self.loaded.zip(self.roll) else {
            let headline = format!("`{name}` waits for a character, and none will come");
            return self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "it waits here");
        };
        let (tape, whole) = (&self.plan.tapes[roll.reel.tape].name, loaded.image.len());
        let arrived = self.machine.board.arrival().map_or(0, |arrival| arrival.count);
        let headline = match arrived {
            arrived if arrived == whole => {
                format!("all of `{}` was read, and `{name}` waits for more of the tape `{tape}`", loaded.name)
            }
            arrived => format!(
                "the tape `{tape}` is over, and `{name}` has stored `{arrived}` of {} of `{}`",
                counted(whole, "byte"),
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
        let were = if read == 1 { "was" } else { "were" };
        problem.with_note(format!("{} {were} read from the line so far", counted(read, "character")))
    }
}

/// The bits of a port by which a program decides, none of which shows that a character was received.
fn looks_at(bits: u8) -> String {
    let bits: Vec<_> = (0..8).rev().filter(|bit| bits >> bit & 1 == 1).map(|bit| bit.to_string()).collect();
    let word = if bits.len() == 1 { "bit" } else { "bits" };
    format!("it looks at {word} {}, which shows no character", bits.join(" and "))
}
