//! The Intel 8251, asynchronous.
//!
//! Source: Intel 8251 data sheet in the 8080 Microcomputer Systems User's Manual, September 1975, chapter 5 (from memory),
//! bit tables from two independent secondary ones. A mode word that selects synchronous operation is taken with its
//! sync characters, and nothing is received or sent then. CTS and DSR are held active, so status bit 7 reads one.

use super::chip::{Frame, Lost, Refusal, RefusalCause, SerialChip};
use super::format::Format;
use super::receiver::Received;
use super::sender::SenderState;
use crate::line::Parity;

/// The chip, after a hardware reset.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct I8251 {
    next: Next,
    mode: Option<u8>,
    command: u8,
    data: u8,
    full: bool,
    errors: u8,
}

/// What the next byte written to the control register is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Next {
    #[default]
    Mode,
    /// So many sync characters, then commands.
    Sync(u8),
    Command,
}

mod status {
    pub const TRANSMIT_READY: u8 = 0x01;
    pub const RECEIVE_READY: u8 = 0x02;
    pub const TRANSMIT_EMPTY: u8 = 0x04;
    pub const PARITY: u8 = 0x08;
    pub const OVERRUN: u8 = 0x10;
    pub const FRAMING: u8 = 0x20;
    pub const DATA_SET_READY: u8 = 0x80;
}

mod command {
    pub const TRANSMIT: u8 = 0x01;
    pub const RECEIVE: u8 = 0x04;
    pub const ERROR_RESET: u8 = 0x10;
    pub const INTERNAL_RESET: u8 = 0x40;
}

impl I8251 {
    fn set_mode(&mut self, mode: u8) {
        self.mode = Some(mode);
        let synchronous = mode & 0x03 == 0;
        self.next = match (synchronous, mode & 0x80 != 0) {
            (true, true) => Next::Sync(1),
            (true, false) => Next::Sync(2),
            (false, _) => Next::Command,
        };
    }

    fn set_command(&mut self, byte: u8) {
        if byte & command::INTERNAL_RESET != 0 {
            *self = I8251 { data: self.data, ..I8251::default() };
            return;
        }
        if byte & command::ERROR_RESET != 0 {
            self.errors = 0;
        }
        self.command = byte;
    }
}

impl SerialChip for I8251 {
    fn status(&self, sender: SenderState) -> u8 {
        let mut status = self.errors | status::DATA_SET_READY;
        if sender.buffer_empty {
            status |= status::TRANSMIT_READY;
        }
        if self.full {
            status |= status::RECEIVE_READY;
        }
        if sender.idle {
            status |= status::TRANSMIT_EMPTY;
        }
        status
    }

    fn take(&mut self) -> (u8, bool) {
        (self.data, std::mem::take(&mut self.full))
    }

    fn is_waiting(&self) -> bool {
        self.full
    }

    fn control(&mut self, byte: u8) {
        match self.next {
            Next::Mode => self.set_mode(byte),
            Next::Sync(1) => self.next = Next::Command,
            Next::Sync(left) => self.next = Next::Sync(left - 1),
            Next::Command => self.set_command(byte),
        }
    }

    fn receive(&mut self, character: Received) -> Option<Lost> {
        let lost = std::mem::replace(&mut self.full, true).then_some(Lost::Waiting);
        self.data = character.byte;
        // Errors stay up until a command takes them back; they do not stop the receiver.
        for (flag, raised) in [
            (status::OVERRUN, lost.is_some()),
            (status::FRAMING, character.framing_error),
            (status::PARITY, character.parity_error),
        ] {
            if raised {
                self.errors |= flag;
            }
        }
        lost
    }

    fn frame(&self) -> Option<Frame> {
        let mode = self.mode?;
        let divisor = match mode & 0x03 {
            0 => return None,
            1 => 1,
            2 => 16,
            _ => 64,
        };
        let parity = match mode >> 4 & 0x03 {
            1 => Parity::Odd,
            3 => Parity::Even,
            _ => Parity::None,
        };
        let stop_halves = match mode >> 6 {
            0 => return None,
            stop => stop + 1,
        };
        Some(Frame { format: Format { data: 5 + (mode >> 2 & 0x03), parity, stop_halves }, divisor })
    }

    fn refusal(&self) -> Option<Refusal> {
        let word = self.mode.filter(|_| self.frame().is_none())?;
        let why = if word & 0x03 == 0 { RefusalCause::Synchronous } else { RefusalCause::NoStopBit };
        Some(Refusal { word, why })
    }

    fn receives(&self) -> bool {
        self.frame().is_some() && self.command & command::RECEIVE != 0
    }

    fn sends(&self) -> bool {
        self.frame().is_some() && self.command & command::TRANSMIT != 0
    }
}
