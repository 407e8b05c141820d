//! What a serial chip is to the station that holds it.

use super::format::Format;
use super::receiver::Received;
use super::sender::SenderState;

/// A serial interface chip as its data sheet describes it.
///
/// Modem inputs are wired to their active level, as they are where nobody uses them.
pub trait SerialChip: std::fmt::Debug {
    /// The status register. Reading it changes nothing.
    fn status(&self, sender: SenderState) -> u8;

    /// The received data register, and whether a character was waiting in it. Reading takes the character.
    fn take(&mut self) -> (u8, bool);

    /// Whether a character waits in the received data register.
    fn is_waiting(&self) -> bool;

    /// A byte is written to the control register. A chip without one ignores it.
    fn control(&mut self, byte: u8);

    /// The receiver completed a character. Says which one is lost by it, if one is.
    fn receive(&mut self, character: Received) -> Option<Lost>;

    /// How the chip is set up; `None` until it is, or while it is held in reset.
    fn frame(&self) -> Option<Frame>;

    /// How it is set up, if that is a way in which no start-stop character can be received or sent.
    fn refusal(&self) -> Option<Refusal> {
        None
    }

    /// Whether the receiver is on.
    fn receives(&self) -> bool {
        self.frame().is_some()
    }

    /// Whether the transmitter is on.
    fn sends(&self) -> bool {
        self.frame().is_some()
    }
}

/// How a chip is set up: what a character looks like to it, and how long it takes a bit to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Frame {
    /// Data bits, parity and stop bits.
    pub format: Format,
    /// The chip's clock divisor: 1, 16 or 64.
    pub divisor: u8,
}

/// A set-up in which a chip neither receives nor sends start-stop characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Refusal {
    /// The word that set it up so.
    pub word: u8,
    /// Why.
    pub why: RefusalCause,
}

/// Why a set-up is none for start-stop characters.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RefusalCause {
    /// It selects synchronous operation.
    Synchronous,
    /// It asks for no stop bit, which the data sheet calls invalid.
    NoStopBit,
}

/// Which character an overrun costs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lost {
    /// The one that waited in the register.
    Waiting,
    /// The one that just came.
    New,
}
