//! The level of a line over time.

use super::feed::Feed;
use super::format::{Format, Grid, Tick};

/// The characters on a line. Between them the line is at mark.
#[derive(Clone, Debug)]
pub struct Signal {
    pub grid: Grid,
    pub format: Format,
    characters: Vec<(Tick, u8)>,
}

impl Signal {
    pub fn new(grid: Grid, format: Format) -> Signal {
        Signal { grid, format, characters: Vec::new() }
    }

    /// Adds characters from `at` on, or from where the last one ends; returns the number of the first.
    pub fn add(&mut self, feed: &Feed, at: Tick) -> usize {
        let first = self.characters.len();
        let length = self.grid.half_bits(u64::from(self.format.half_bits()));
        let mut start = at.max(self.end());
        for &(pause, byte) in &feed.characters {
            start = start + self.grid.half_bits(pause);
            self.characters.push((start, byte));
            start = start + length;
        }
        first
    }

    /// Where the last character ends, stop bits included.
    pub fn end(&self) -> Tick {
        let length = self.grid.half_bits(u64::from(self.format.half_bits()));
        self.characters.last().map_or(Tick(0), |&(start, _)| start + length)
    }

    /// Whether the line is at mark.
    pub fn is_mark(&self, at: Tick) -> bool {
        let Some(number) = self.character_at(at) else { return true };
        let (start, byte) = self.characters[number];
        let bit = (at.0 - start.0) / self.grid.half_bits(2).0;
        bit > 31 || self.format.levels(byte) >> bit & 1 == 1
    }

    /// The number of the last character that began at or before a moment.
    pub fn character_at(&self, at: Tick) -> Option<usize> {
        self.characters.partition_point(|&(start, _)| start <= at).checked_sub(1)
    }

    /// The first moment from `from` on at which the line goes from mark to space.
    pub fn next_fall(&self, from: Tick) -> Option<Tick> {
        let first = self.character_at(from).unwrap_or(0);
        let bit = self.grid.half_bits(2).0;
        self.characters[first..].iter().find_map(|&(start, byte)| {
            let levels = self.format.levels(byte);
            // Bit 0 of the falls is the start bit, which follows a stop bit or an idle line.
            let falls = !levels & (levels << 1 | 1);
            let due = from.0.saturating_sub(start.0).div_ceil(bit).min(31);
            let left = falls >> due;
            (left != 0).then(|| Tick(start.0 + bit * (due + u128::from(left.trailing_zeros()))))
        })
    }
}
