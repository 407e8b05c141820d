//! What a play comes to, by comparison with the good start.

use super::ending::{ending, listings};
use super::good::{Good, Mark, Shown, watched};
use super::look::{Look, look};
use super::outcome::{Cells, End, Ending, Rest};
use super::player::{Counts, Going, Pause};
use super::scene::{Props, Runs, Scene};
use super::wires::Wires;
use crate::isa::{TStates, decode};
use crate::notation::Address;
use crate::rehearsal::Stop;

/// The opcode of `OUT`.
const OUT: u8 = 0o323;

/// A play that is to be judged.
pub struct Case<'a> {
    pub scene: &'a Scene,
    pub props: &'a Props,
    pub good: &'a Good,
}

impl Case<'_> {
    /// What a play comes to that has come to the last stage, or has stopped before it.
    pub fn judge<W: Counts>(&self, mut going: Going, pause: Pause, watcher: &mut W) -> Ending {
        match pause {
            Pause::Payload => self.at_payload(going, watcher),
            Pause::Stopped(stop) => {
                let seen = self.look(&mut going, stop);
                let end = self.end_before_payload(&going, &seen);
                let cells = self.cells(&going);
                ending(self.scene, self.props, &going, seen, (end, cells))
            }
            Pause::Moment => {
                let seen = self.look(&mut going, Stop::Deadline);
                ending(self.scene, self.props, &going, seen, (End::Stops, self.cells(&going)))
            }
        }
    }

    fn look(&self, going: &mut Going, stop: Stop) -> Look {
        look(&mut going.machine, &self.props.wires, stop)
    }

    /// The last stage is about to run: it is watched, unless everything that it uses is as in the good start.
    fn at_payload<W: Counts>(&self, mut going: Going, watcher: &mut W) -> Ending {
        let (act, entry) = (&self.good.act, self.good.entry());
        let found = |going: &Going, at: Address| going.find(&self.props.wires, at);
        let is_wrong = |at: &&Address| found(&going, **at) != entry.machine.board.memory.byte(**at);
        let bytes = act.uses.iter().filter(is_wrong).count();
        let cells = self.cells(&going);
        if bytes == 0 && self.goes_on_like_the_good(&going) {
            let tapes = self.good.ending.tapes.clone();
            let listings = listings(self.scene, &self.props.wires, &going);
            return Ending { cells, tapes, listings, ..self.good.ending.clone() };
        }
        let mark = Mark::here(&going, self.props.setup.serial.len());
        let begin = going.machine.cpu.clock.0;
        let time = watched(self.props.setup.clock_hz).0;
        let time = if act.stop.is_some() { time * 5 / 2 } else { time };
        let stop = going.stretch(TStates(begin + time), watcher);
        let shown = Shown::since(&going, &mark);
        let seen = self.look(&mut going, stop);
        let end = self.end_at_payload(&going, &seen, stop, &shown, bytes);
        ending(self.scene, self.props, &going, seen, (end, cells))
    }

    /// Whether all on which the last program hangs is as in the good start, so that it does the same.
    fn goes_on_like_the_good(&self, going: &Going) -> bool {
        let (entry, setup) = (self.good.entry(), &self.props.setup);
        let (cpu, good) = (&going.machine.cpu, &entry.machine.cpu);
        let listens = |port: &u8| {
            let serial = setup.serial.iter().any(|serial| serial.status == *port || serial.data_in == *port);
            serial || setup.disks.iter().any(|disk| disk.controller.inputs().contains(port))
        };
        self.props.wires == Wires::default()
            && setup.clock_hz == self.good.props.setup.clock_hz
            && !self.good.act.reads.iter().any(listens)
            && (cpu.registers, cpu.interrupts_enabled()) == (good.registers, good.interrupts_enabled())
            && going.machine.board.sense == entry.machine.board.sense
            && going.has_shown_the_same(entry)
    }

    fn end_at_payload(&self, going: &Going, seen: &Look, stop: Stop, shown: &Shown, bytes: usize) -> End {
        let act = &self.good.act;
        if let Some(at) = self.complaint(going, seen) {
            return End::Told { at };
        }
        if matches!(seen.rest, Rest::Noise { .. } | Rest::Held { .. }) {
            return End::Stops;
        }
        let rests = matches!(stop, Stop::Halted | Stop::Endless { .. });
        // A good start has shown something by now: nobody takes this for one.
        let is_mute = *shown == Shown::nothing(shown.lines.len()) && act.little != *shown;
        if (rests && act.stop.is_none()) || (is_mute && bytes > 0) {
            return End::Stops;
        }
        let wires = &self.props.wires;
        let differs = |at: &Address| going.find(wires, *at) != act.last.machine.board.memory.byte(*at);
        let same = match act.stop {
            Some(_) => seen.rest == self.good.ending.rest && *shown == act.much && !act.leaves.iter().any(differs),
            None => shown.begins(&act.much) && act.little.begins(shown),
        };
        let sense = self.scene.sense_port.is_some_and(|port| act.reads.contains(&port));
        let same = same && !(sense && going.machine.board.sense != act.last.machine.board.sense);
        if bytes == 0 && same { End::Starts } else { End::Silent { bytes, acts: !same, astray: false } }
    }

    /// What comes of a play whose last stage was not entered as it should be.
    fn end_before_payload(&self, going: &Going, seen: &Look) -> End {
        if let Some(at) = self.complaint(going, seen) {
            return End::Told { at };
        }
        let Some(payload) = self.scene.stage(self.scene.last()) else { return End::Stops };
        let inside = |at: Address| payload.image.byte(at).is_some();
        let is_in_payload = match seen.rest {
            Rest::RunsOn => inside(Address(going.machine.cpu.registers.pc)),
            rest => rest == self.good.ending.rest,
        };
        // It looks as if it had been started, and was so somewhere else.
        let stays_so = self.good.act.stop.is_some() || matches!(seen.rest, Rest::RunsOn);
        if is_in_payload && stays_so && going.place < self.scene.last() {
            let entry = &self.good.entry().machine.board.memory;
            let wrong = |at: &&Address| going.find(&self.props.wires, **at) != entry.byte(**at);
            let bytes = self.good.act.uses.iter().filter(wrong).count();
            return End::Silent { bytes, acts: true, astray: true };
        }
        End::Stops
    }

    /// Where a program of the chain complains: it stays, or puts something out, at instructions that are as they were built
    /// and that no good start runs.
    fn complaint(&self, going: &Going, seen: &Look) -> Option<Address> {
        let is_own = |at: Address| !self.good.way.runs(at) && self.is_as_built(going, at);
        if let Some(first) = seen.runs.first().filter(|_| seen.runs.iter().all(|&at| is_own(at))) {
            return Some(*first);
        }
        let puts_out = |at: Address| going.machine.board.memory.byte(at) == OUT;
        let outputs = going.machine.board.outputs().iter().map(|output| output.pc);
        outputs.into_iter().find(|&at| puts_out(at) && is_own(at))
    }

    /// Whether an instruction of a stage stands at an address, as it was built.
    fn is_as_built(&self, going: &Going, at: Address) -> bool {
        let stands = |stage: &Runs| {
            let Some(opcode) = stage.image.byte(at) else { return false };
            let is_opcode = stage.code.as_ref().is_none_or(|code| code.is_opcode(at));
            let length = u16::from(decode(opcode).length);
            let same = |offset: u16| {
                let address = at.wrapping_add(offset);
                stage.image.byte(address) == Some(going.find(&self.props.wires, address))
            };
            is_opcode && (0..length).all(same)
        };
        self.scene.stages.iter().any(stands)
    }

    /// Where memory differs from what the good start has when its last stage is entered.
    fn cells(&self, going: &Going) -> Cells {
        let entry = &self.good.entry().machine.board.memory;
        let mut cells = Cells::default();
        for &at in &self.good.chain {
            let found = going.find(&self.props.wires, at);
            if found != entry.byte(at) {
                cells.push(at, found);
            }
        }
        cells
    }
}
