//! The level of a line over time.

use std::sync::Arc;

use super::feed::{Cue, Feed};
use super::format::{Format, Grid, Tick};
use crate::line::{LineFormat, Parity};

/// The characters on a line. Between them the line is at mark.
#[derive(Clone, Debug)]
pub struct Signal {
    pub grid: Grid,
    pub format: Format,
    /// What is sent, and the length of a bit of it.
    sent: (Format, Tick),
    /// Shared until others come.
    characters: Arc<Vec<Character>>,
}

/// A character on the line.
#[derive(Clone, Copy, Debug)]
struct Character {
    start: Tick,
    bit: Tick,
    /// The levels from the start bit on, the first in bit 0; what is beyond the character is mark.
    levels: u32,
    /// Where its last stop bit ends.
    end: Tick,
}

/// What sound carries; of its stop bits only the first is sure to be there.
const SOUND: Format = Format { data: 8, parity: Parity::None, stop_halves: 2 };

impl Signal {
    /// A silent line of a format, down which a sender will send, perhaps in another.
    pub fn new(grid: Grid, format: Format, sender: Option<LineFormat>) -> Signal {
        let sent = sender.map_or((format, grid.half_bits(2)), |sender| (sender.into(), grid.bit_of(sender.speed)));
        Signal { grid, format, sent, characters: Arc::default() }
    }

    /// Takes away the characters from one on, and adds others in their place.
    pub fn replace(&mut self, character: usize, feed: &Feed) {
        let start = self.start_of(character).unwrap_or_else(|| self.end());
        Arc::make_mut(&mut self.characters).truncate(character);
        self.add(feed, start);
    }

    /// Takes away the characters that have not begun.
    pub fn end_at(&mut self, now: Tick) {
        let begun = self.character_at(now).map_or(0, |last| last + 1);
        Arc::make_mut(&mut self.characters).truncate(begun);
    }

    /// Adds characters from `at` on, or from where the last one ends; returns the number of the first.
    pub fn add(&mut self, feed: &Feed, at: Tick) -> usize {
        let first = self.characters.len();
        let passed = self.grid.seconds(feed.passed);
        let begins = Tick(at.0.saturating_sub(passed.0));
        let mut free = begins.max(self.end());
        let grid = self.grid;
        let characters = Arc::make_mut(&mut self.characters);
        for &cue in &feed.characters {
            let character = match cue {
                Cue::Follows { pause, byte } => {
                    let start = free + grid.half_bits(pause);
                    let (format, bit) = self.sent;
                    character(start, bit, format, byte)
                }
                Cue::Heard { from, bit, byte } => {
                    let start = (begins + grid.seconds(from)).max(free);
                    character(start, grid.seconds(bit).max(Tick(2)), SOUND, byte)
                }
            };
            free = character.end;
            if matches!(cue, Cue::Heard { .. }) {
                // A tape whose speed wavers may have the next start bit a little early.
                free.0 -= character.bit.0 / 2;
            }
            characters.push(character);
        }
        first
    }

    /// Where the last character ends, stop bits included.
    pub fn end(&self) -> Tick {
        self.characters.last().map_or(Tick(0), |last| last.end)
    }

    /// Where a character begins.
    pub fn start_of(&self, character: usize) -> Option<Tick> {
        self.characters.get(character).map(|character| character.start)
    }

    /// Whether the line is at mark.
    pub fn is_mark(&self, at: Tick) -> bool {
        let Some(number) = self.character_at(at) else { return true };
        let character = self.characters[number];
        let bit = (at.0 - character.start.0) / character.bit.0;
        bit > 31 || character.levels >> bit & 1 == 1
    }

    /// The number of the last character that began at or before a moment.
    pub fn character_at(&self, at: Tick) -> Option<usize> {
        self.characters.partition_point(|character| character.start <= at).checked_sub(1)
    }

    /// The first moment from `from` on at which the line goes from mark to space.
    pub fn next_fall(&self, from: Tick) -> Option<Tick> {
        let first = self.character_at(from).unwrap_or(0);
        self.characters[first..].iter().find_map(|&Character { start, bit, levels, .. }| {
            // Bit 0 of the falls is the start bit, which follows a stop bit or an idle line.
            let falls = !levels & (levels << 1 | 1);
            let due = from.0.saturating_sub(start.0).div_ceil(bit.0).min(31);
            let left = falls >> due;
            (left != 0).then(|| Tick(start.0 + bit.0 * (due + u128::from(left.trailing_zeros()))))
        })
    }
}

fn character(start: Tick, bit: Tick, format: Format, byte: u8) -> Character {
    let end = Tick(start.0 + bit.0 * u128::from(format.half_bits()) / 2);
    Character { start, bit, levels: format.levels(byte), end }
}
