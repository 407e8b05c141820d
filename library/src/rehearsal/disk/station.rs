//! A controller at its ports, with a watch on what of it was read.
//!
//! What a port shows changes with the turning disk. Only for a port that a program reads is it noted when that may happen
//! next: a loop that reads it, and comes back to where it was, goes on alike until then.

use super::controller::{Controller, Trouble};
use super::drive::{Drive, DriveSetup};
use super::fd1771::Fd1771Controller;
use super::slowness::Slowness;
use super::wired::Wired;
use crate::disk::{ChipWires, Wires};
use crate::isa::TStates;
use crate::panel::{LiveByte, LiveLamp};
use crate::rehearsal::Slower;

/// A drive with its controller.
#[derive(Clone, Debug, PartialEq)]
pub struct DiskSetup {
    /// The controller.
    pub controller: ControllerSetup,
    /// The drive.
    pub drive: DriveSetup,
}

/// Which controller.
#[derive(Clone, Debug, PartialEq)]
pub enum ControllerSetup {
    /// One without registers.
    Wired(Wires),
    /// The FD1771.
    Chip(ChipWires),
}

impl ControllerSetup {
    /// The port that holds the processor which reads it, if there is one.
    pub fn holds(&self) -> Option<u8> {
        match self {
            ControllerSetup::Wired(_) => None,
            ControllerSetup::Chip(wires) => wires.requests.filter(|requests| requests.holds).map(|it| it.port),
        }
    }

    /// The ports that are read, each with its role.
    pub fn inputs(&self) -> Vec<u8> {
        match self {
            ControllerSetup::Wired(wires) => wires.inputs(),
            ControllerSetup::Chip(wires) => wires.inputs(),
        }
    }

    /// The ports that are written, each with its role.
    pub fn outputs(&self) -> Vec<u8> {
        match self {
            ControllerSetup::Wired(wires) => wires.outputs(),
            ControllerSetup::Chip(wires) => wires.outputs(),
        }
    }
}

/// A controller at its ports.
#[derive(Clone, Debug)]
pub struct DiskStation {
    controller: Box<dyn Controller>,
    /// When what each input showed when it was read may change.
    watched: Vec<Option<TStates>>,
    seen: u64,
    slowness: Slowness,
}

impl DiskStation {
    pub fn new(setup: &DiskSetup, clock_hz: u64, slower: Slower) -> DiskStation {
        let drive = Drive::new(&setup.drive, clock_hz);
        let watched = vec![None; setup.controller.inputs().len()];
        let controller: Box<dyn Controller> = match &setup.controller {
            ControllerSetup::Wired(wires) => Box::new(Wired::new(wires.clone(), drive, &setup.drive.layout)),
            ControllerSetup::Chip(wires) => Box::new(Fd1771Controller::new(wires, clock_hz, drive)),
        };
        let cell = setup.drive.layout.turn.byte_us * clock_hz as f64 / 1e6;
        DiskStation { controller, watched, seen: 0, slowness: Slowness::new(slower, TStates(cell as u64)) }
    }

    pub fn drive(&self) -> &Drive {
        self.controller.drive()
    }

    pub fn drive_mut(&mut self) -> &mut Drive {
        self.controller.drive_mut()
    }

    pub fn input(&mut self, role: usize, at: TStates) -> u8 {
        let byte = self.controller.input(role, at);
        if self.controller.gives_data(role) {
            self.slowness.takes(at);
        }
        if self.watched[role].is_none_or(|until| until <= at) {
            self.watched[role] = self.controller.next_change(role, at);
        }
        byte
    }

    /// Until when a port holds the processor that reads it from `at` on, and the program is slower besides; nothing if it
    /// does for ever.
    pub fn held_until(&mut self, role: usize, at: TStates) -> Option<TStates> {
        let slower = self.slowness.at(self.controller.gives_data(role), at);
        if slower > TStates(0) {
            // A turn of a loop that is longer than the others is none to go by.
            self.seen = !self.controller.changes();
        }
        self.controller.held_until(role, at + slower)
    }

    pub fn output(&mut self, role: usize, byte: u8, at: TStates) {
        self.controller.output(role, byte, at);
    }

    /// Whether it has changed since it was last asked; nothing that was noted of its ports holds then.
    pub fn has_changed(&mut self) -> bool {
        let changed = std::mem::replace(&mut self.seen, self.controller.changes()) != self.seen;
        if changed {
            self.watched.fill(None);
        }
        changed
    }

    /// When it next does something, or shows something else where it was read.
    pub fn next_event(&self) -> Option<TStates> {
        self.watched.iter().flatten().copied().chain(self.controller.next_event()).min()
    }

    pub fn settle(&mut self, now: TStates) {
        self.controller.settle(now);
        self.watched.iter_mut().filter(|watch| watch.is_some_and(|until| until <= now)).for_each(|watch| *watch = None);
    }

    /// How a port shows over a time, whole T-states from `from` up to `until`, in a machine of so many a second.
    pub fn watch(&mut self, role: usize, from: TStates, until: TStates, clock_hz: u64) -> LiveByte {
        let (mut lit, mut goes_on) = ([0u64; 8], [0u64; 8]);
        self.settle(from);
        let (mut at, mut byte) = (from, self.controller.peek(role, from));
        while at < until {
            let next = self.controller.next_change(role, at).unwrap_or(until);
            let next = TStates(next.0.clamp(at.0 + 1, until.0));
            self.settle(next);
            let then = self.controller.peek(role, next);
            for bit in 0..8 {
                lit[bit] += u64::from(byte >> bit & 1) * (next.0 - at.0);
                goes_on[bit] += u64::from(!byte & then) >> bit & 1;
            }
            (at, byte) = (next, then);
        }
        let length = (until.0 - from.0).max(1);
        LiveByte(std::array::from_fn(|bit| LiveLamp {
            lit: match lit[bit] {
                0 => 0,
                all if all == length => 1000,
                some => ((some * 1000 + length / 2) / length).clamp(1, 999) as u16,
            },
            goes_on: ((goes_on[bit] * 10 * clock_hz + length / 2) / length) as u32,
            open: false,
        }))
    }

    pub fn take_trouble(&mut self) -> Vec<(TStates, Trouble)> {
        self.controller.take_trouble()
    }
}
