//! What each bus cycle does on the board, and what is noticed of it.

use super::board::Board;
use super::incident::{Incident, What};
use super::memory::{UNDRIVEN, mark};
use super::records::{Arrival, Output, StackUse, Strays};
use super::serial::Taken;
use super::wiring::{Sink, Source};
use crate::cpu::Bus;
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;

/// The most outputs that are kept.
const MOST_OUTPUTS: usize = 1 << 20;

impl Board {
    #[cold]
    fn note(&mut self, what: What) {
        self.incidents.note(Incident { what, pc: self.pc, at: self.moves_at });
    }

    #[inline]
    fn watch_fetch(&mut self, address: Address, byte: u8) {
        let marks = self.memory.marks(address);
        if marks & (mark::KNOWN | mark::DATA | mark::ARRIVED | mark::PROGRAM) != self.runs {
            self.watch_opcode(address, marks);
        }
        // `LXI SP` and `SPHL`.
        if byte == 0o061 || byte == 0o371 {
            self.watch_stack_set();
        }
    }

    /// The stack pointer is loaded: what was pushed before is given up.
    #[cold]
    fn watch_stack_set(&mut self) {
        if let Some(present) = self.stack.present {
            for at in 0..present.depth().saturating_add(present.above) {
                self.memory.set_mark(present.lowest.wrapping_add(at), mark::STACKED, false);
            }
        }
        self.stack.spoilt = None;
        (self.stack.loaded, self.stack.set_by) = (Some(self.pc), Some(self.pc));
    }

    #[cold]
    fn watch_opcode(&mut self, address: Address, marks: u16) {
        if marks & (mark::KNOWN | mark::RAM | mark::ROM) == 0 && self.incidents.borne {
            // Where there is no memory the bus reads what nothing drives, every time.
        } else if marks & mark::KNOWN == 0 {
            self.note(What::ExecutesUnloaded(address));
        } else if marks & mark::ARRIVED != 0 {
            self.note(What::ExecutesEarly(address));
        } else if marks & mark::DATA != 0 {
            self.note(What::ExecutesData(address));
        } else if marks & mark::PROGRAM == 0 && self.runs & mark::PROGRAM != 0 {
            self.note(What::ExecutesStray(address));
        }
    }

    fn watch_push(&mut self, address: Address) {
        let stack = &mut self.stack;
        if stack.loaded.take().is_some() {
            stack.present = Some(StackUse::set(address, self.pc));
        }
        let Some(present) = &mut stack.present else {
            return self.note(What::StackUnset);
        };
        let reached = present.pushed(address, self.pc);
        *present = reached;
        let deepest = stack.deepest.filter(|deepest| deepest.depth() >= reached.depth()).unwrap_or(reached);
        let above = stack.deepest.map_or(reached.above, |deepest| deepest.above.max(reached.above));
        stack.deepest = Some(StackUse { above, ..deepest });
        if stack.spoilt.is_some_and(|(spoilt, _)| spoilt == address) {
            stack.spoilt = None;
        }
        self.memory.set_mark(address, mark::STACKED, true);
    }

    fn watch_pop(&mut self, address: Address) {
        let marks = self.memory.marks(address);
        if self.stack.loaded.is_none() && self.stack.present.is_none() {
            self.note(What::StackUnset);
        } else if marks & (mark::RAM | mark::ROM) == 0 {
            self.note(What::StackNowhere(address));
        } else if self.stack.spoilt.is_some_and(|(spoilt, _)| spoilt == address) {
            self.note(What::StackSpoilt(address));
        }
        self.memory.set_mark(address, mark::STACKED, false);
    }

    #[cold]
    fn watch_read(&mut self, address: Address, marks: u16) {
        if marks & mark::KNOWN == 0 {
            self.note(What::ReadsUnloaded(address));
        } else if matches!(address.0.wrapping_sub(self.pc.0), 1 | 2) && self.kind == CycleKind::Read {
            // The second or third byte of the instruction was replaced by what is being loaded.
            self.note(What::ExecutesEarly(address));
        }
    }

    #[cold]
    fn watch_write(&mut self, address: Address, marks: u16) {
        let pushes = self.kind == CycleKind::StackWrite;
        self.note(match marks {
            marks if marks & mark::ROM != 0 => What::WritesRom(address),
            marks if marks & mark::RAM == 0 && pushes => What::StackNowhere(address),
            marks if marks & mark::RAM == 0 => What::WritesNowhere(address),
            _ if pushes => What::StackOverwrites(address),
            _ => What::Overwrites(address),
        });
    }

    /// A byte is stored over one that was pushed and not yet popped, by what is being loaded.
    #[cold]
    fn watch_stacked(&mut self, address: Address) {
        self.memory.set_mark(address, mark::STACKED, false);
        self.stack.spoilt.get_or_insert((address, self.pc));
    }

    /// A byte is stored where nothing of the chain lies.
    #[cold]
    fn watch_stray(&mut self, address: Address) {
        let strays = self.strays.get_or_insert(Strays { low: address, high: address, count: 0 });
        strays.low = strays.low.min(address);
        strays.high = strays.high.max(address);
        strays.count += 1;
    }

    /// A byte is in its place: the first and the last of the program that is being loaded are timed.
    #[cold]
    fn note_arrival(&mut self) {
        let (at, count) = (self.moves_at, self.memory.arrived());
        let first = self.arrival.map_or(at, |arrival| arrival.first);
        self.arrival = Some(Arrival { first, last: at, count });
    }

    fn read_data(&mut self, serial: usize) -> u8 {
        if !self.stations[serial].is_set_up() {
            self.note(What::PollsUnset { serial });
        }
        let before = self.stations[serial].status();
        let (byte, fresh) = self.stations[serial].read_data(self.moves_at, self.pc);
        if !fresh {
            self.counts.in_vain += 1;
            self.note(What::ReadsNothing { serial });
        }
        if fresh || self.stations[serial].status() != before {
            self.changed();
        }
        byte
    }

    fn read_disk(&mut self, disk: usize, role: usize) -> u8 {
        let byte = self.disks[disk].input(role, self.moves_at);
        self.disk_changed(disk);
        self.look_ahead();
        byte
    }

    /// The wait states for which a port holds the processor that reads it.
    #[cold]
    fn hold(&mut self, port: u8) -> TStates {
        let Source::Disk(disk, role) = self.wiring.sources[usize::from(port)] else { return TStates(0) };
        self.settle(self.moves_at);
        let held = self.disks[disk].held_until(role, self.moves_at);
        self.disk_changed(disk);
        let Some(until) = held else {
            self.note(What::HeldForever { port });
            return TStates(0);
        };
        TStates(until.0 - std::mem::replace(&mut self.moves_at, until).0)
    }

    fn record(&mut self, port: u8, byte: u8) {
        if self.outputs.len() < MOST_OUTPUTS {
            self.outputs.push(Output { at: self.moves_at, port, byte, pc: self.pc });
        }
    }

    fn write_data(&mut self, serial: usize, byte: u8) {
        match self.stations[serial].write_data(byte, self.moves_at) {
            Taken::Free => {}
            Taken::Over => self.note(What::SentOver { serial }),
            Taken::Not => self.note(What::NotSent { serial }),
            Taken::Held => self.note(What::HeldBack { serial }),
        }
        self.changed();
    }
}

impl Bus for Board {
    #[inline]
    fn begin(&mut self, kind: CycleKind, address: Option<u16>, at: TStates) -> TStates {
        self.kind = kind;
        self.moves_at = TStates(at.0 + 2);
        match (kind, address) {
            (CycleKind::Input, Some(port)) if self.holds => self.hold(port.to_le_bytes()[0]),
            _ => TStates(0),
        }
    }

    #[inline]
    fn read(&mut self, address: u16) -> u8 {
        let address = Address(address);
        let byte = self.memory.byte(address);
        if self.kind == CycleKind::Fetch {
            self.watch_fetch(address, byte);
        } else {
            let marks = self.memory.marks(address);
            if self.kind == CycleKind::StackRead {
                self.watch_pop(address);
            }
            if marks & (mark::KNOWN | mark::ARRIVED) != mark::KNOWN {
                self.watch_read(address, marks);
            }
        }
        byte
    }

    #[inline]
    fn write(&mut self, address: u16, byte: u8) {
        let address = Address(address);
        let pushes = self.kind == CycleKind::StackWrite;
        if pushes {
            self.watch_push(address);
        }
        let marks = self.memory.marks(address);
        let changes = byte != self.memory.byte(address);
        let stacked = pushes && marks & mark::RUNNING != 0;
        let kept = marks & (mark::NEEDED | mark::ARRIVED) != 0 && changes;
        if marks & mark::RAM == 0 || stacked || kept {
            self.watch_write(address, marks);
        } else if !pushes {
            if marks & (mark::STACKED | mark::PAYLOAD) == mark::STACKED | mark::PAYLOAD {
                self.watch_stacked(address);
            } else if marks & (mark::RUNNING | mark::PROGRAM | mark::PAYLOAD) == 0 {
                self.watch_stray(address);
            }
        }
        let arrived = self.memory.arrived();
        self.changes += u64::from(self.memory.store(address, byte));
        if self.memory.arrived() != arrived {
            self.note_arrival();
        }
    }

    fn input(&mut self, port: u8) -> u8 {
        self.settle(self.moves_at);
        self.counts.inputs += 1;
        self.last_input = Some((port, self.pc));
        let byte = self.input_at(port);
        self.last_reads[usize::from(port)] = (byte, self.pc);
        byte
    }

    fn output(&mut self, port: u8, byte: u8) {
        self.settle(self.moves_at);
        match self.wiring.sinks[usize::from(port)] {
            Sink::Control(serial) => {
                if self.stations[serial].control(byte, self.moves_at, self.pc) {
                    self.note(What::CutOff { serial });
                }
                self.changed();
            }
            Sink::Data(serial) => self.write_data(serial, byte),
            Sink::Disk(disk, role) => {
                self.disks[disk].output(role, byte, self.moves_at);
                self.disk_changed(disk);
            }
            Sink::Recorded => {
                self.changes += u64::from(self.latch(port, byte));
                self.record(port, byte);
            }
            // What the machine file does not describe may move something all the same.
            Sink::Nothing => {
                self.changes += u64::from(self.latch(port, byte));
                self.note(What::OutputUnknown(port));
                self.record(port, byte);
            }
        }
    }
}

impl Board {
    /// A port takes a byte; says whether that counts as a change.
    fn latch(&mut self, port: u8, byte: u8) -> bool {
        self.latched[usize::from(port)].replace(byte) != Some(byte) || !self.latches
    }

    #[inline]
    fn input_at(&mut self, port: u8) -> u8 {
        match self.wiring.sources[usize::from(port)] {
            Source::Fixed(byte) => {
                self.fixed_read[usize::from(port)] = true;
                byte
            }
            Source::Sense => self.sense,
            Source::Status(serial) => {
                if !self.stations[serial].is_set_up() {
                    self.note(What::PollsUnset { serial });
                }
                self.stations[serial].status()
            }
            Source::Data(serial) => self.read_data(serial),
            Source::Disk(disk, role) => self.read_disk(disk, role),
            Source::Nothing => {
                self.note(What::InputUnknown(port));
                UNDRIVEN
            }
        }
    }
}
