//! What sits at the place of a serial chip.

use std::ops::{Deref, DerefMut};

use super::chip::{Frame, Lost, SerialChip};
use super::format::Format;
use super::hard_wired::HardWired;
use super::i8251::I8251;
use super::mc6850::Mc6850;
use super::receiver::Received;
use super::sender::SenderState;
use crate::rehearsal::setup::ChipSetup;

/// A chip at its place, or none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Seat {
    Mc6850(Mc6850),
    I8251(I8251),
    HardWired(HardWired),
    Empty(Empty),
}

impl Seat {
    /// What a set-up puts there, on a line of a format.
    pub fn new(setup: ChipSetup, format: Format) -> Seat {
        match setup {
            ChipSetup::Mc6850 => Seat::Mc6850(Mc6850::default()),
            ChipSetup::I8251 => Seat::I8251(I8251::default()),
            ChipSetup::HardWired(layout) => Seat::HardWired(HardWired::new(layout, format)),
            ChipSetup::Absent => Seat::Empty(Empty),
        }
    }

    /// RESET reaches the chip, if it has a pin for it: the MC6850 has none.
    pub fn reset(&mut self) {
        match self {
            Seat::I8251(chip) => *chip = I8251::default(),
            Seat::HardWired(chip) => chip.reset(),
            Seat::Mc6850(_) | Seat::Empty(_) => {}
        }
    }
}

impl Deref for Seat {
    type Target = dyn SerialChip;

    fn deref(&self) -> &(dyn SerialChip + 'static) {
        match self {
            Seat::Mc6850(chip) => chip,
            Seat::I8251(chip) => chip,
            Seat::HardWired(chip) => chip,
            Seat::Empty(none) => none,
        }
    }
}

impl DerefMut for Seat {
    fn deref_mut(&mut self) -> &mut (dyn SerialChip + 'static) {
        match self {
            Seat::Mc6850(chip) => chip,
            Seat::I8251(chip) => chip,
            Seat::HardWired(chip) => chip,
            Seat::Empty(none) => none,
        }
    }
}

/// No chip: what nothing drives reads all ones.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Empty;

impl SerialChip for Empty {
    fn status(&self, _sender: SenderState) -> u8 {
        0xFF
    }

    fn take(&mut self) -> (u8, bool) {
        (0xFF, false)
    }

    fn is_waiting(&self) -> bool {
        false
    }

    fn control(&mut self, _byte: u8) {}

    fn receive(&mut self, _character: Received) -> Option<Lost> {
        None
    }

    fn frame(&self) -> Option<Frame> {
        None
    }
}
