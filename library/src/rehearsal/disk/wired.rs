//! A controller without registers: bits of ports lead to the drive, and a program fetches byte after byte.
//!
//! What holds here is common practice. Behind a hole the controller waits for the first byte that is none of the sync's, and
//! then has a new one in every byte cell up to the next hole. One that was not fetched by then is replaced. A sector is
//! written by the record's bytes behind a sync that the controller makes; it has zero for a byte that is not given in time.
//! The number that it shows is that of the hole. Bits of a port that nothing is wired to float, and read one.

use super::controller::{Controller, Trouble};
use super::drive::Drive;
use crate::disk::{Act, Cell, Deed, Layout, Shown, Wires};
use crate::isa::TStates;

/// The role of the data port.
const DATA: usize = 0;

/// A hard-wired controller with its drive.
#[derive(Clone, Debug)]
pub struct Wired {
    wires: Wires,
    inputs: Vec<u8>,
    outputs: Vec<u8>,
    drive: Drive,
    /// What each output was last given; a controller is reset with every bit saying no.
    given: Vec<u8>,
    /// The byte that was fetched last, with its cell.
    fetched: Option<u64>,
    latch: u8,
    writing: Option<Writing>,
    /// Bytes of sync that it writes, and bytes of a record.
    sync: (u8, u64),
    record: u64,
    changes: u64,
    trouble: Vec<(TStates, Trouble)>,
}

/// A sector that is being written.
#[derive(Clone, Copy, Debug)]
struct Writing {
    /// The cell of the first byte of the record.
    first: u64,
    /// The cell that is written next.
    next: u64,
    /// The byte that was given for it.
    byte: Option<u8>,
    /// When the last byte was wanted that was not given, and which it is.
    missed: Option<(u64, TStates)>,
}

impl Wired {
    /// A controller that was just reset.
    pub fn new(wires: Wires, drive: Drive, layout: &Layout) -> Wired {
        let (inputs, outputs) = (wires.inputs(), wires.outputs());
        let idle = |port: &u8| {
            let here = wires.deeds.iter().filter(|deed| deed.wire.port == *port);
            here.fold(0, |byte, deed| deed.wire.put(byte, false))
        };
        let given = outputs.iter().map(idle).collect();
        let sync = layout
            .sync
            .last()
            .map_or((0, 0), |sync| (sync.byte, layout.sync.iter().map(|fill| fill.count as u64).sum()));
        let record = layout.record_bytes() as u64;
        Wired {
            wires,
            inputs,
            outputs,
            drive,
            given,
            fetched: None,
            latch: 0,
            writing: None,
            sync,
            record,
            changes: 0,
            trouble: Vec::new(),
        }
    }

    /// The first cell that is delivered of the stretch in which a cell lies; nothing if the head finds none there.
    fn first_delivered(&self, cell: u64) -> Option<u64> {
        let room = self.drive.stretch_cells();
        let begin = cell / room * room;
        let stretch = (cell % self.drive.cells() / room) as usize;
        let from = self.drive.diskette()?.delivered(self.drive.track(), stretch)?;
        Some(begin + from as u64)
    }

    /// The cell whose byte is held at a moment, fetched or not: the last one that has passed since the hole.
    fn held(&self, at: TStates) -> Option<u64> {
        if !self.drive.is_selected() || !self.drive.is_loaded() || self.writing.is_some() {
            return None;
        }
        let passing = self.drive.passing(at)?;
        let first = self.first_delivered(passing)?;
        passing.checked_sub(1).filter(|&held| held >= first)
    }

    /// The cell whose byte waits at a moment.
    fn waits(&self, at: TStates) -> Option<u64> {
        self.held(at).filter(|&held| self.fetched.is_none_or(|fetched| held > fetched))
    }

    fn wanted(&self, at: TStates) -> bool {
        self.writing.is_some_and(|writing| writing.byte.is_none() && self.wanted_from(writing) <= at)
    }

    /// A byte of the record is wanted from the beginning of the cell before it on.
    fn wanted_from(&self, writing: Writing) -> TStates {
        self.drive.begins(writing.next.max(writing.first).saturating_sub(1))
    }

    fn shows(&self, shown: Shown, at: TStates) -> bool {
        match shown {
            Shown::Signal(signal) => self.drive.shows(signal, at),
            Shown::Waits => self.waits(at).is_some(),
            Shown::Wanted => self.wanted(at),
            Shown::Sector(bit) => self.drive.hole(at).is_some_and(|hole| hole >> bit & 1 == 1),
        }
    }

    /// By when a bit may next change by itself.
    fn bit_changes(&self, shown: Shown, after: TStates) -> Option<TStates> {
        match shown {
            Shown::Signal(signal) => self.drive.next_change(signal, after),
            Shown::Sector(_) => self.drive.next_hole(after),
            Shown::Wanted => self.writing.map(|writing| self.drive.begins(writing.next).max(self.wanted_from(writing))),
            Shown::Waits => {
                let hears = self.drive.is_selected() && self.drive.is_loaded() && self.writing.is_none();
                let passing = self.drive.passing(after).filter(|_| hears)?;
                // What waits does so up to the next hole, replaced or not.
                let hole = self.drive.next_hole(after)?;
                if self.waits(after).is_some() {
                    return Some(hole);
                }
                // A byte is there when its cell has passed. One that was fetched lies behind the head.
                let Some(first) = self.first_delivered(passing) else { return Some(hole) };
                Some(self.drive.begins(passing.max(first) + 1).min(hole))
            }
        }
    }

    fn fetch(&mut self, at: TStates) -> u8 {
        let Some(cell) = self.waits(at) else {
            if self.drive.is_selected() {
                self.drive.watch_read(at);
            }
            self.trouble.push((at, Trouble::NothingWaits));
            return self.latch;
        };
        self.drive.watch_read(at);
        let first = self.first_delivered(cell).unwrap_or(cell);
        let due = self.fetched.filter(|&fetched| fetched >= first).map_or(first, |fetched| fetched + 1);
        if due < cell {
            // It was there until the byte behind it had passed.
            let late = TStates(at.0 + 1 - self.drive.begins(due + 2).0);
            self.trouble.push((at, Trouble::Lost { byte: (due - first) as usize, late }));
        }
        self.latch = self.drive.read(cell).map_or(0, |cell| cell.byte);
        self.fetched = Some(cell);
        self.changes += 1;
        self.latch
    }

    fn give(&mut self, byte: u8, at: TStates) {
        let wanted = self.wanted(at);
        let Some(writing) = &mut self.writing else { return };
        if let Some((missed, until)) = writing.missed.take() {
            let late = TStates(at.0 + 1 - until.0.min(at.0));
            self.trouble.push((at, Trouble::NotGiven { byte: (missed - writing.first) as usize, late }));
        }
        if wanted || writing.byte.is_some() {
            writing.byte = Some(byte);
        }
    }

    /// What the bits of a byte that goes to a port do.
    fn act(&mut self, port: u8, before: u8, byte: u8, at: TStates) {
        let here: Vec<Deed> = self.wires.deeds.iter().filter(|deed| deed.wire.port == port).copied().collect();
        for Deed { act, wire, pulse } in here {
            let (was, is) = (wire.says(before), wire.says(byte));
            match act {
                Act::Select if pulse && is => self.drive.select(true, at),
                Act::Select if !pulse && was != is => self.drive.select(is, at),
                Act::Load if pulse && is => self.drive.load_head(true, at),
                Act::Load if !pulse && was != is => self.drive.load_head(is, at),
                _ if !is || !pulse && was => {}
                Act::Deselect => self.drive.select(false, at),
                Act::Unload => self.drive.load_head(false, at),
                Act::StepIn => self.drive.step(true, at),
                Act::StepOut => self.drive.step(false, at),
                Act::Write => self.start_write(at),
                Act::Select | Act::Load => {}
            }
        }
    }

    fn start_write(&mut self, at: TStates) {
        // Without a disk nothing tells the controller when a byte passes.
        let Some(passing) = self.drive.passing(at) else {
            return self.drive.write_nowhere(at);
        };
        let next = passing + 1;
        self.writing = Some(Writing { first: next + self.sync.1, next, byte: None, missed: None });
    }

    /// A cell begins to pass that is to be written.
    fn write_cell(&mut self, writing: Writing) {
        let at = self.drive.begins(writing.next);
        let in_record = writing.next >= writing.first;
        let byte = if in_record { writing.byte.unwrap_or(0) } else { self.sync.0 };
        self.drive.write(writing.next, Cell { byte, mark: false });
        let missed = if in_record && writing.byte.is_none() { Some((writing.next, at)) } else { None };
        let next = writing.next + 1;
        let ends = next >= writing.first + self.record;
        let after = Writing { next, byte: if in_record { None } else { writing.byte }, missed, ..writing };
        self.writing = (!ends && self.drive.has_disk(at)).then_some(after);
        if let (None, Some((missed, _))) = (self.writing, missed) {
            let late = TStates(0);
            self.trouble.push((at, Trouble::NotGiven { byte: (missed - writing.first) as usize, late }));
        }
        self.changes += 1;
    }
}

impl Controller for Wired {
    fn drive(&self) -> &Drive {
        &self.drive
    }

    fn drive_mut(&mut self) -> &mut Drive {
        self.changes += 1;
        &mut self.drive
    }

    fn peek(&self, role: usize, at: TStates) -> u8 {
        if role == DATA {
            return self.waits(at).and_then(|cell| self.drive.read(cell)).map_or(self.latch, |cell| cell.byte);
        }
        let here = self.wires.shown.iter().filter(|(_, wire)| wire.port == self.inputs[role]);
        here.fold(u8::MAX, |byte, &(shown, wire)| wire.put(byte, self.shows(shown, at)))
    }

    fn input(&mut self, role: usize, at: TStates) -> u8 {
        if role == DATA { self.fetch(at) } else { self.peek(role, at) }
    }

    fn gives_data(&self, role: usize) -> bool {
        role == DATA
    }

    fn output(&mut self, role: usize, byte: u8, at: TStates) {
        self.changes += 1;
        if role == DATA {
            self.give(byte, at);
        }
        let before = std::mem::replace(&mut self.given[role], byte);
        self.act(self.outputs[role], before, byte, at);
    }

    fn changes(&self) -> u64 {
        self.changes
    }

    fn next_change(&self, role: usize, after: TStates) -> Option<TStates> {
        if role == DATA {
            return self.bit_changes(Shown::Waits, after);
        }
        let here = self.wires.shown.iter().filter(|(_, wire)| wire.port == self.inputs[role]);
        here.filter_map(|&(shown, _)| self.bit_changes(shown, after)).min()
    }

    fn next_event(&self) -> Option<TStates> {
        self.writing.map(|writing| self.drive.begins(writing.next))
    }

    fn settle(&mut self, now: TStates) {
        while let Some(writing) = self.writing.filter(|writing| self.drive.begins(writing.next) <= now) {
            self.write_cell(writing);
        }
    }

    fn take_trouble(&mut self) -> Vec<(TStates, Trouble)> {
        if self.trouble.is_empty() && !self.drive.has_mishaps() {
            return Vec::new();
        }
        let drive = self.drive.take_mishaps().into_iter().map(|(at, mishap)| (at, Trouble::Drive(mishap)));
        let mut all: Vec<_> = std::mem::take(&mut self.trouble).into_iter().chain(drive).collect();
        all.sort_by_key(|(at, _)| *at);
        all
    }
}
