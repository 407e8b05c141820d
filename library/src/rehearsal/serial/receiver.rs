//! The receiver of a start-stop chip: it waits for the line to go to space, and then samples the middle of each bit by
//! its own idea of how long a bit is.
//!
//! Source: the receivers of MC6850, Intel 8251 and AY-5-1013, from memory of their data sheets: the start bit is checked
//! at its middle, the character is complete at the middle of the first stop bit, further stop bits are not looked at.
//! The start edge is taken as found exactly; with a clock of 16 times the speed a chip finds it up to a sixteenth of a
//! bit late.

use super::format::{Format, Tick};
use super::signal::Signal;
use crate::line::Parity;

/// A character as the receiver found it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Received {
    /// The data bits, right justified, zeros above.
    pub byte: u8,
    /// The first stop bit was a space.
    pub framing_error: bool,
    /// The parity bit was wrong.
    pub parity_error: bool,
}

/// A character that a receiver will have completed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arrival {
    /// The middle of the first stop bit.
    pub at: Tick,
    /// Which character of the line held the start bit.
    pub character: usize,
    /// What the receiver makes of it.
    pub received: Received,
}

/// The next character for a receiver that has looked for a start bit since `from`.
pub fn next_arrival(signal: &Signal, format: Format, bit: Tick, mut from: Tick) -> Option<Arrival> {
    loop {
        let fall = signal.next_fall(from)?;
        let middle = |number: u32| Tick(fall.0 + bit.0 * u128::from(number) + bit.0 / 2);
        if signal.is_mark(middle(0)) {
            from = middle(0);
            continue;
        }
        let bits = (0..format.middle_bits())
            .fold(0u16, |bits, number| bits | u16::from(signal.is_mark(middle(1 + number))) << number);
        let at = middle(1 + format.middle_bits());
        let byte = bits as u8 & format.mask();
        let parity = bits >> format.data & 1 == 1;
        let received = Received {
            byte,
            framing_error: !signal.is_mark(at),
            parity_error: format.parity != Parity::None && parity != format.parity_of(byte),
        };
        return Some(Arrival { at, character: signal.character_at(fall)?, received });
    }
}
