//! A disk drive of a machine, and what sits between it and the ports.

use crate::disk::{ChipWires, Times, Wires};

/// A disk drive with its controller.
#[derive(Clone, Debug, PartialEq)]
pub struct DiskDrive {
    /// Its name.
    pub name: String,
    /// What sits between it and the ports.
    pub controller: DriveController,
    /// How long it takes for what it does.
    pub times: Times,
    /// Whether selecting it loads the head.
    pub select_loads: bool,
    /// Its times of which the file does not say, each with what is taken for granted.
    pub assumed: Vec<String>,
}

/// What sits between a drive and the ports.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DriveController {
    /// Bits of ports, and a program that fetches byte after byte.
    Wired(Wires),
    /// The FD1771.
    Chip(ChipWires),
}

impl DriveController {
    /// The ports that are read.
    pub fn inputs(&self) -> Vec<u8> {
        match self {
            DriveController::Wired(wires) => wires.inputs(),
            DriveController::Chip(wires) => wires.inputs(),
        }
    }

    /// The ports that are written.
    pub fn outputs(&self) -> Vec<u8> {
        match self {
            DriveController::Wired(wires) => wires.outputs(),
            DriveController::Chip(wires) => wires.outputs(),
        }
    }
}
