//! What a start-stop character looks like on a line.

use super::feed::Feed;
use crate::isa::TStates;
use crate::line::{LineFormat, Parity, Speed};

/// The bits of a character: one start bit, data from the least significant up, parity, stop bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Format {
    /// Data bits, `5..=8`.
    pub data: u8,
    /// The parity bit.
    pub parity: Parity,
    /// Stop bits in halves: 2, 3 or 4.
    pub stop_halves: u8,
}

impl Format {
    /// The bits between the start bit and the first stop bit.
    pub fn middle_bits(self) -> u32 {
        u32::from(self.data) + u32::from(self.parity != Parity::None)
    }

    /// The length of a character in half bits, start and stop bits included.
    pub fn half_bits(self) -> u32 {
        2 * (1 + self.middle_bits()) + u32::from(self.stop_halves)
    }

    /// The data bits that the line carries.
    pub fn mask(self) -> u8 {
        0xFF >> (8 - self.data)
    }

    /// The levels from the start bit on, the first in bit 0; mark is 1. What is beyond the character is mark.
    pub fn levels(self, byte: u8) -> u32 {
        let data = byte & self.mask();
        let middle = u32::from(data) | u32::from(self.parity_of(data)) << self.data;
        !0 << (1 + self.middle_bits()) | middle << 1
    }

    /// The parity bit that belongs to `data`; zero where there is none.
    pub fn parity_of(self, data: u8) -> bool {
        let odd = data.count_ones() % 2 == 1;
        match self.parity {
            Parity::None => false,
            Parity::Even => odd,
            Parity::Odd => !odd,
        }
    }
}

impl std::fmt::Display for Format {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        let stop = match self.stop_halves {
            2 => "1",
            3 => "1.5",
            _ => "2",
        };
        write!(f, "{}{parity}{stop}", self.data)
    }
}

impl From<LineFormat> for Format {
    fn from(line: LineFormat) -> Format {
        Format { data: line.data_bits, parity: line.parity, stop_halves: line.stop_bits.half_bits() as u8 }
    }
}

/// An instant or a length on the grid of a line, which is fine enough for every bit edge and every T-state.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Tick(pub u128);

impl std::ops::Add for Tick {
    type Output = Tick;
    fn add(self, other: Tick) -> Tick {
        Tick(self.0 + other.0)
    }
}

/// How T-states and bits relate, without rounding: a bit of a line is rarely a whole number of T-states.
#[derive(Clone, Copy, Debug)]
pub struct Grid {
    per_state: u128,
    /// The same of a line at the speed that is described.
    described: u128,
    bit: u128,
    /// The ticks of a second.
    second: u128,
    /// The machine's time since which the line has its speed.
    since: TStates,
    /// The line's time then. At first it is later than the machine's: what is played may have begun before.
    origin: u128,
}

impl Grid {
    /// Ticks in which half a bit of a clock divided by 64 is still whole, and a T-state of a line at another pace.
    const FINENESS: u128 = 128 * Grid::PARTS;

    /// In what parts a pace is told.
    const PARTS: u128 = 10_000;

    /// The grid of a machine's clock (at least 1 Hz) and a line's speed.
    pub fn new(clock_hz: u64, speed: Speed) -> Grid {
        let per_state = Grid::FINENESS * u128::from(speed.hundredths());
        let bit = Grid::FINENESS * 100 * u128::from(clock_hz.max(1));
        let second = per_state * u128::from(clock_hz.max(1));
        let origin = second * Feed::MOST_PASSED as u128;
        Grid { per_state, described: per_state, bit, second, since: TStates(0), origin }
    }

    /// The same line, from `now` on at so many ten-thousandths of the speed that is described.
    pub fn at_pace(self, now: TStates, parts: u32) -> Grid {
        let per_state = self.described * u128::from(parts.max(1)) / Grid::PARTS;
        Grid { per_state, since: now, origin: self.tick(now).0, ..self }
    }

    /// A moment of the machine on the grid, since the line has its speed.
    pub fn tick(self, states: TStates) -> Tick {
        Tick(self.origin + u128::from(states.0.saturating_sub(self.since.0)) * self.per_state)
    }

    /// The first T-state at or after a tick; if the line had another speed then, or the machine's time had not begun, the
    /// first since it has this one.
    pub fn states(self, tick: Tick) -> TStates {
        let later = tick.0.saturating_sub(self.origin).div_ceil(self.per_state);
        TStates(u64::try_from(later).unwrap_or(u64::MAX).saturating_add(self.since.0))
    }

    /// A length in seconds, to the nearest tick.
    pub fn seconds(self, seconds: f64) -> Tick {
        Tick((seconds.max(0.0) * self.second as f64).round() as u128)
    }

    /// The length of some halves of the line's bits.
    pub fn half_bits(self, count: u64) -> Tick {
        Tick(self.bit / 2 * u128::from(count))
    }

    /// The length of a bit at another speed, to the tick below.
    pub fn bit_of(self, speed: Speed) -> Tick {
        Tick(self.second * 100 / u128::from(speed.hundredths()))
    }

    /// The length of a bit for a chip that divides by `divisor` a clock of `clock` times the line's speed.
    pub fn chip_bit(self, divisor: u8, clock: u8) -> Tick {
        Tick(self.bit * u128::from(divisor) / u128::from(clock))
    }

    /// The length of a bit in T-states.
    pub fn bit_states(self) -> f64 {
        self.bit as f64 / self.per_state as f64
    }
}
