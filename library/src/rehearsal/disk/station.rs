//! A controller at its ports, with a watch on what of it was read.
//!
//! What a port shows changes with the turning disk. Only for a port that a program reads is it noted when that may happen
//! next: a loop that reads it, and comes back to where it was, goes on alike until then.

use super::controller::{Controller, Trouble};
use super::drive::{Drive, DriveSetup};
use super::fd1771::Fd1771Controller;
use super::wired::Wired;
use crate::disk::{ChipWires, Wires};
use crate::isa::TStates;

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
#[derive(Debug)]
pub struct DiskStation {
    controller: Box<dyn Controller>,
    /// When what each input showed when it was read may change.
    watched: Vec<Option<TStates>>,
    seen: u64,
}

impl DiskStation {
    pub fn new(setup: &DiskSetup, clock_hz: u64) -> DiskStation {
        let drive = Drive::new(&setup.drive, clock_hz);
        let watched = vec![None; setup.controller.inputs().len()];
        let controller: Box<dyn Controller> = match &setup.controller {
            ControllerSetup::Wired(wires) => Box::new(Wired::new(wires.clone(), drive, &setup.drive.layout)),
            ControllerSetup::Chip(wires) => Box::new(Fd1771Controller::new(wires, clock_hz, drive)),
        };
        DiskStation { controller, watched, seen: 0 }
    }

    pub fn drive(&self) -> &Drive {
        self.controller.drive()
    }

    pub fn drive_mut(&mut self) -> &mut Drive {
        self.controller.drive_mut()
    }

    pub fn input(&mut self, role: usize, at: TStates) -> u8 {
        let byte = self.controller.input(role, at);
        if self.watched[role].is_none_or(|until| until <= at) {
            self.watched[role] = self.controller.next_change(role, at);
        }
        byte
    }

    /// Until when a port holds the processor that reads it from `at` on; nothing if it does for ever.
    pub fn held_until(&mut self, role: usize, at: TStates) -> Option<TStates> {
        self.controller.held_until(role, at)
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

    pub fn take_trouble(&mut self) -> Vec<(TStates, Trouble)> {
        self.controller.take_trouble()
    }
}
