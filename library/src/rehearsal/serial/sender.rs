//! The transmitter of a start-stop chip: a buffer and a shift register.

use super::format::{Grid, Tick};
use crate::isa::TStates;

/// A character that a chip sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sent {
    /// When its start bit began.
    pub at: TStates,
    /// The character.
    pub byte: u8,
}

/// What a chip's status register tells of its transmitter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SenderState {
    /// The buffer can take a character.
    pub buffer_empty: bool,
    /// The shift register is empty too.
    pub idle: bool,
}

/// Buffer and shift register.
#[derive(Clone, Debug, Default)]
pub struct Sender {
    busy_until: Option<Tick>,
    waiting: Option<u8>,
    sent: Vec<Sent>,
}

/// The most characters of which a record is kept.
const MOST_SENT: usize = 1 << 20;

impl Sender {
    pub fn state(&self) -> SenderState {
        SenderState { buffer_empty: self.waiting.is_none(), idle: self.waiting.is_none() && self.busy_until.is_none() }
    }

    pub fn sent(&self) -> &[Sent] {
        &self.sent
    }

    /// When the shift register will be empty.
    pub fn next_event(&self) -> Option<Tick> {
        self.busy_until
    }

    /// Whether another goes on as this one does.
    pub fn goes_on_like(&self, other: &Sender) -> bool {
        (self.busy_until, self.waiting) == (other.busy_until, other.waiting)
    }

    /// Whether a character waits or is on its way.
    pub fn is_busy(&self) -> bool {
        self.waiting.is_some() || self.busy_until.is_some()
    }

    /// Drops what has not been sent.
    pub fn reset(&mut self) {
        self.busy_until = None;
        self.waiting = None;
    }

    /// Takes a character; says whether the buffer was free.
    pub fn put(&mut self, byte: u8) -> bool {
        self.waiting.replace(byte).is_none()
    }

    /// The shift register is empty.
    pub fn complete(&mut self) {
        self.busy_until = None;
    }

    /// Moves the waiting character into the shift register, if that is free; `length` is that of a character.
    pub fn shift(&mut self, now: Tick, length: Tick, grid: Grid) {
        if self.busy_until.is_some() {
            return;
        }
        if let Some(byte) = self.waiting.take() {
            self.busy_until = Some(now + length);
            if self.sent.len() < MOST_SENT {
                self.sent.push(Sent { at: grid.states(now), byte });
            }
        }
    }
}
