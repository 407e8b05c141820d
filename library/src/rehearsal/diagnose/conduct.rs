//! What a program did wrong: where it went, what it wrote over, where it stopped.

use super::Scene;
use crate::notation::Address;
use crate::rehearsal::incident::{Incident, What};
use crate::source::{Code, Diagnostic};

impl Scene<'_> {
    pub(super) fn incident(&self, incident: Incident) -> Diagnostic {
        let Incident { what, pc, .. } = incident;
        match what {
            What::ExecutesUnloaded(address) => {
                let why = match self.machine.board.memory.is_ram(address) {
                    true => "where nothing was ever loaded",
                    false => "where there is no memory",
                };
                self.astray(Code::RanUnloaded, address, why)
            }
            What::ExecutesStray(address) => {
                self.astray(Code::RanStray, address, "where no program of the chain has an instruction")
            }
            What::ExecutesData(address) => {
                let headline = format!("`{}` runs into data at `{}`", self.runs.name, self.address(address));
                self.at(Diagnostic::error(Code::RanData, headline), pc, "no instruction begins here")
            }
            What::ExecutesEarly(address) => self.early(address),
            What::WritesRom(address) => self.wrote_rom(address, pc),
            What::Overwrites(address) => {
                let headline = format!(
                    "`{}` writes over `{}` of `{}`, which is still needed",
                    self.runs.name,
                    self.address(address),
                    self.owner(address)
                );
                self.at(Diagnostic::error(Code::WroteNeeded, headline), pc, "by this instruction")
            }
            What::StackUnset => self.stack_unset(pc),
            What::StackNowhere(address) => self.stack_nowhere(address, pc),
            What::StackOverwrites(address) => self.stack_overwrites(address, pc),
            What::StackSpoilt(_) => self.stack_spoilt(pc),
            What::HeldForever { port } => self.held_for_ever(port, pc),
            // The others do not stop a run.
            What::ReadsUnloaded(_)
            | What::WritesNowhere(_)
            | What::InputUnknown(_)
            | What::OutputUnknown(_)
            | What::Overrun { .. }
            | What::ReadsNothing { .. }
            | What::Garbled { .. }
            | What::PollsUnset { .. }
            | What::NotSent { .. }
            | What::SentOver { .. }
            | What::HeldBack { .. }
            | What::CutOff { .. }
            | What::Disk { .. } => {
                let headline = format!("`{}` cannot go on", self.runs.name);
                self.at(Diagnostic::error(Code::RanStray, headline), pc, "here")
            }
        }
    }

    /// The port of the requests of a controller, read while none can come.
    fn held_for_ever(&self, port: u8, pc: Address) -> Diagnostic {
        let port = self.notation().byte(port);
        let headline =
            format!("port `{port}` holds `{}` for ever: its controller will ask for nothing", self.runs.name);
        let problem = self.at(Diagnostic::error(Code::NeverEnds, headline), pc, "here the processor waits");
        problem.with_note("no command is being done, or the disk that it is about has stopped").with_help(
            "give the command before this port is read, and do not read it once more when the command has ended",
        )
    }

    fn wrote_rom(&self, address: Address, pc: Address) -> Diagnostic {
        let headline = format!("`{}` writes to ROM at `{}`", self.runs.name, self.address(address));
        let problem = self.at(Diagnostic::error(Code::WroteRom, headline), pc, "by this instruction");
        let board = &self.machine.board;
        if !board.deepest_stack().is_some_and(|stack| board.memory.is_rom(stack.lowest)) {
            return problem;
        }
        let problem = self.and_at(problem, board.stack_set_by(), "the stack pointer was loaded here");
        let top = self.top_of_memory();
        problem.with_help(format!("the stack lies in ROM: load SP with the first address above free RAM{top}"))
    }

    /// The program left all programs: the last instruction of one that ran is what matters.
    fn astray(&self, code: Code, address: Address, why: &str) -> Diagnostic {
        let before = self.machine.board.instruction_before();
        let opcode = self.machine.board.memory.byte(before);
        let (name, place) = (&self.runs.name, self.address(address));
        let headline = match opcode {
            // `RST n` is 11nnn111.
            opcode if opcode & 0o307 == 0o307 && address.0 == u16::from(opcode & 0o070) => {
                format!("`{name}` calls `{place}` by `RST {}`, {why}", opcode >> 3 & 7)
            }
            _ => format!("`{name}` went to `{place}`, {why}"),
        };
        let problem = self.at(Diagnostic::error(code, headline), before, "it came from here");
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

    /// The processor halted before the next stage was started.
    pub(super) fn halted(&self) -> Diagnostic {
        let pc = Address(self.machine.cpu.registers.pc.wrapping_sub(1));
        let label = self.runs.image.nearest_label(pc).map(|(symbol, _)| format!(" at `{}`", symbol.name));
        let label = label.unwrap_or_default();
        let mut problem = match self.machine.cpu.interrupts_enabled() {
            false => {
                let headline = format!("`{}` stopped{label}", self.runs.name);
                self.at(Diagnostic::error(Code::StoppedEarly, headline), pc, "halted here")
            }
            true => {
                let headline = format!("`{}` halts for ever{label}: no device makes an interrupt", self.runs.name);
                self.at(Diagnostic::error(Code::StoppedEarly, headline), pc, "waits for an interrupt here")
                    .with_note("interrupts are enabled, and the rehearsal plays none")
                    .with_help("wait by reading a status port, or rehearse what comes before the halt only")
            }
        };
        if let Some(output) = self.machine.board.outputs().last() {
            let notation = self.notation();
            let port = self.plan.machine.ports.outputs.get(&output.port).map_or("", |port| port.name.as_str());
            let text =
                format!("it put {} out to port {} {port}", notation.byte(output.byte), notation.byte(output.port));
            problem = problem.with_note(text.trim_end());
        }
        problem
    }
}
