//! Hard-wired UARTs of the AY-5-1013 and TR1602 kind.
//!
//! Source: General Instrument AY-5-1013 and Western Digital TR1602 data sheets, from memory. The processor sees no
//! register of theirs: what it reads is how a board wired their pins to a port, so every status bit has a place and a
//! polarity. Reading the data port resets DAV. The clock is 16 times the speed of the line and cannot be changed by a
//! program.

use super::chip::{Frame, Lost, SerialChip};
use super::format::Format;
use super::receiver::Received;
use super::sender::SenderState;

/// Where a pin shows in the status byte.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StatusBit {
    /// The bit, `0..=7`.
    pub bit: u8,
    /// Whether the bit is 1 when the pin says no.
    pub inverted: bool,
}

/// How a board wired the pins to the status port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StatusLayout {
    /// DAV: a character is waiting.
    pub data_available: StatusBit,
    /// TBMT: the transmitter's buffer is empty.
    pub buffer_empty: Option<StatusBit>,
    /// OR: a character was lost.
    pub overrun: Option<StatusBit>,
    /// FE: no valid stop bit.
    pub framing_error: Option<StatusBit>,
    /// PE: wrong parity.
    pub parity_error: Option<StatusBit>,
}

/// A UART strapped to a format.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HardWired {
    layout: StatusLayout,
    format: Format,
    data: u8,
    available: bool,
    overrun: bool,
    framing_error: bool,
    parity_error: bool,
}

/// The clock of the chip as a multiple of the line's speed.
const DIVISOR: u8 = 16;

impl HardWired {
    /// A UART with its status pins wired so and its format pins strapped so.
    pub fn new(layout: StatusLayout, format: Format) -> HardWired {
        HardWired {
            layout,
            format,
            data: 0,
            available: false,
            overrun: false,
            framing_error: false,
            parity_error: false,
        }
    }

    /// XR, the external reset: no character waits.
    pub fn reset(&mut self) {
        *self = HardWired::new(self.layout, self.format);
    }
}

impl SerialChip for HardWired {
    /// Bits that no pin is wired to float, and read one.
    fn status(&self, sender: SenderState) -> u8 {
        let StatusLayout { data_available, buffer_empty, overrun, framing_error, parity_error } = self.layout;
        let pins = [
            (Some(data_available), self.available),
            (buffer_empty, sender.buffer_empty),
            (overrun, self.overrun),
            (framing_error, self.framing_error),
            (parity_error, self.parity_error),
        ];
        pins.into_iter().fold(0xFF, |status, (place, high)| match place {
            Some(place) if high == place.inverted => status & !(1 << place.bit),
            _ => status,
        })
    }

    fn take(&mut self) -> (u8, bool) {
        (self.data, std::mem::take(&mut self.available))
    }

    fn is_waiting(&self) -> bool {
        self.available
    }

    fn control(&mut self, _byte: u8) {}

    fn receive(&mut self, character: Received) -> Option<Lost> {
        self.overrun = std::mem::replace(&mut self.available, true);
        self.data = character.byte;
        self.framing_error = character.framing_error;
        self.parity_error = character.parity_error;
        self.overrun.then_some(Lost::Waiting)
    }

    fn frame(&self) -> Option<Frame> {
        Some(Frame { format: self.format, divisor: DIVISOR })
    }
}
