//! The MC6850.
//!
//! Source: Motorola MC6850 data sheet (DS9493 family): register and control bits from secondary tables, overrun and
//! master reset from memory of it. Interrupts, break and modem lines are not wired here: CTS and DCD are held active, so
//! status bits 2 and 3 read zero, and bit 7 follows the receive interrupt enable alone.

use super::chip::{Frame, Lost, SerialChip};
use super::format::Format;
use super::receiver::Received;
use super::sender::SenderState;
use crate::line::Parity;

/// The chip. It has no reset pin; power-on holds it in reset until a program gives it a master reset and a format.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Mc6850 {
    control: Option<u8>,
    was_reset: bool,
    data: u8,
    full: bool,
    overrun: Overrun,
    errors: u8,
}

/// An overrun shows only once the last good character has been read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Overrun {
    #[default]
    None,
    /// A character was lost; the good one before it still waits.
    Hidden,
    /// The good one was read; the flag shows until the data are read once more.
    Shown,
}

mod status {
    pub const RECEIVE_FULL: u8 = 0x01;
    pub const TRANSMIT_EMPTY: u8 = 0x02;
    pub const FRAMING: u8 = 0x10;
    pub const OVERRUN: u8 = 0x20;
    pub const PARITY: u8 = 0x40;
    pub const INTERRUPT: u8 = 0x80;
}

/// Control bits 1 and 0, both set: master reset.
const MASTER_RESET: u8 = 0x03;

/// Control bit 7: receive interrupt on.
const RECEIVE_INTERRUPT: u8 = 0x80;

impl SerialChip for Mc6850 {
    fn status(&self, sender: SenderState) -> u8 {
        let Some(control) = self.control.filter(|_| self.frame().is_some()) else { return 0 };
        let mut status = self.errors;
        if self.full {
            status |= status::RECEIVE_FULL;
        }
        if sender.buffer_empty {
            status |= status::TRANSMIT_EMPTY;
        }
        if self.overrun == Overrun::Shown {
            status |= status::OVERRUN;
        }
        if control & RECEIVE_INTERRUPT != 0 && self.full {
            status |= status::INTERRUPT;
        }
        status
    }

    fn take(&mut self) -> (u8, bool) {
        let fresh = self.full && self.overrun != Overrun::Shown;
        match self.overrun {
            // The flag for a waiting character stays up until the overrun is taken back.
            Overrun::Hidden => self.overrun = Overrun::Shown,
            Overrun::Shown | Overrun::None => {
                self.overrun = Overrun::None;
                self.full = false;
            }
        }
        (self.data, fresh)
    }

    fn is_waiting(&self) -> bool {
        self.full
    }

    fn control(&mut self, byte: u8) {
        if byte & MASTER_RESET == MASTER_RESET {
            *self = Mc6850 { was_reset: true, data: self.data, ..Mc6850::default() };
        }
        self.control = Some(byte);
    }

    fn receive(&mut self, character: Received) -> Option<Lost> {
        if self.full {
            if self.overrun == Overrun::None {
                self.overrun = Overrun::Hidden;
            }
            return Some(Lost::New);
        }
        self.full = true;
        self.data = character.byte;
        self.errors = if character.framing_error { status::FRAMING } else { 0 }
            | if character.parity_error { status::PARITY } else { 0 };
        None
    }

    fn frame(&self) -> Option<Frame> {
        let control = self.control.filter(|_| self.was_reset)?;
        let divisor = match control & 0x03 {
            0 => 1,
            1 => 16,
            2 => 64,
            _ => return None,
        };
        let (data, parity, stop_bits) = match control >> 2 & 0x07 {
            0 => (7, Parity::Even, 2),
            1 => (7, Parity::Odd, 2),
            2 => (7, Parity::Even, 1),
            3 => (7, Parity::Odd, 1),
            4 => (8, Parity::None, 2),
            5 => (8, Parity::None, 1),
            6 => (8, Parity::Even, 1),
            _ => (8, Parity::Odd, 1),
        };
        Some(Frame { format: Format { data, parity, stop_halves: 2 * stop_bits }, divisor })
    }
}
