//! What a tape sounds like: a pair of tones, a rate and a number of stop bits.
//!
//! Every character is one start bit (space), eight data bits, least significant first, no parity, and one or more stop
//! bits (mark). Tones and rates are kept in thousandths of a hertz and of a baud, so that every duration the writer
//! meets is a ratio of integers and no tape, however long, drifts.

use std::fmt;

/// Data bits of a character; parity, where a tape has it, is inside the eight.
pub const DATA_BITS: usize = 8;

/// A pair of tones keyed by start-stop characters.
///
/// ```
/// use coldwright::audio::Modulation;
/// let own = Modulation::new(2125.0, 2975.0, 110.0, 2)?;
/// assert_eq!(own.bits_per_character(), 11);
/// # Ok::<(), coldwright::audio::ModulationFault>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Modulation {
    mark: Thousandths,
    space: Thousandths,
    baud: Thousandths,
    stop_bits: u8,
}

/// A frequency in 1/1000 Hz, or a rate in 1/1000 baud.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Thousandths(pub(super) u64);

impl Thousandths {
    fn rounded(value: f64) -> Thousandths {
        Thousandths((value * 1000.0).round() as u64)
    }

    fn unit(self) -> f64 {
        self.0 as f64 / 1000.0
    }
}

/// The two tones of a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tone {
    /// Bit 1, stop bits and every pause.
    Mark,
    /// Bit 0 and start bits.
    Space,
}

impl Tone {
    /// The tone that a data bit sounds.
    pub fn of_bit(one: bool) -> Tone {
        if one { Tone::Mark } else { Tone::Space }
    }
}

impl Modulation {
    /// A pair of the caller's own. Tones are 100..=20000 Hz, the rate 20..=4800 baud and at most twice the lower tone
    /// (half a cycle in a bit), stop bits 1..=8.
    pub fn new(mark_hz: f64, space_hz: f64, baud: f64, stop_bits: u8) -> Result<Modulation, ModulationFault> {
        for (which, hertz) in [("mark", mark_hz), ("space", space_hz)] {
            if !(100.0..=20_000.0).contains(&hertz) {
                return Err(ModulationFault::Tone { which, hertz });
            }
        }
        if !(20.0..=4800.0).contains(&baud) {
            return Err(ModulationFault::Baud { baud });
        }
        if !(1..=8).contains(&stop_bits) {
            return Err(ModulationFault::StopBits { stop_bits });
        }
        let slower = mark_hz.min(space_hz);
        if baud > 2.0 * slower {
            return Err(ModulationFault::TooFast { baud, slower });
        }
        if (mark_hz - space_hz).abs() < 0.4 * baud {
            return Err(ModulationFault::TooClose { mark_hz, space_hz, baud });
        }
        let [mark, space, baud] = [mark_hz, space_hz, baud].map(Thousandths::rounded);
        Ok(Modulation { mark, space, baud, stop_bits })
    }

    /// The mark tone in Hz.
    pub fn mark_hz(&self) -> f64 {
        self.mark.unit()
    }

    /// The space tone in Hz.
    pub fn space_hz(&self) -> f64 {
        self.space.unit()
    }

    /// Bits per second.
    pub fn baud(&self) -> f64 {
        self.baud.unit()
    }

    /// Stop bits after each character.
    pub fn stop_bits(&self) -> u8 {
        self.stop_bits
    }

    /// One of the tones in Hz.
    pub fn hertz(&self, tone: Tone) -> f64 {
        self.thousandths(tone).unit()
    }

    /// Start, data and stop bits together.
    pub fn bits_per_character(&self) -> u32 {
        1 + DATA_BITS as u32 + u32::from(self.stop_bits)
    }

    /// Seconds that one character lasts at nominal speed.
    pub fn character_seconds(&self) -> f64 {
        f64::from(self.bits_per_character()) / self.baud()
    }

    /// A published pair, in whole hertz and baud; a test holds it to the ranges.
    pub(super) const fn published(mark_hz: u64, space_hz: u64, baud: u64, stop_bits: u8) -> Modulation {
        Modulation {
            mark: Thousandths(mark_hz * 1000),
            space: Thousandths(space_hz * 1000),
            baud: Thousandths(baud * 1000),
            stop_bits,
        }
    }

    /// The same tones and rate with another number of stop bits.
    pub fn with_stop_bits(self, stop_bits: u8) -> Result<Modulation, ModulationFault> {
        Modulation::new(self.mark_hz(), self.space_hz(), self.baud(), stop_bits)
    }

    pub(super) fn thousandths(&self, tone: Tone) -> Thousandths {
        match tone {
            Tone::Mark => self.mark,
            Tone::Space => self.space,
        }
    }

    pub(super) fn baud_thousandths(&self) -> Thousandths {
        self.baud
    }

    pub(super) fn highest_hz(&self) -> f64 {
        self.mark_hz().max(self.space_hz())
    }

    pub(super) fn lowest_hz(&self) -> f64 {
        self.mark_hz().min(self.space_hz())
    }

    /// The modulation index h: tone distance over rate. A whole number means that every bit starts at the same phase of
    /// its tone, and that the spectrum of any data has a line at each tone.
    pub(super) fn index(&self) -> f64 {
        (self.mark_hz() - self.space_hz()).abs() / self.baud()
    }
}

/// Why a pair of tones cannot be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ModulationFault {
    /// A tone outside what a recorder carries.
    Tone {
        /// `mark` or `space`.
        which: &'static str,
        /// The tone asked for.
        hertz: f64,
    },
    /// A rate out of range.
    Baud {
        /// The rate asked for.
        baud: f64,
    },
    /// A number of stop bits out of range.
    StopBits {
        /// The number asked for.
        stop_bits: u8,
    },
    /// Less than half a cycle of the lower tone in a bit.
    TooFast {
        /// The rate asked for.
        baud: f64,
        /// The lower tone in Hz.
        slower: f64,
    },
    /// Tones that one bit cannot tell apart.
    TooClose {
        /// The mark tone in Hz.
        mark_hz: f64,
        /// The space tone in Hz.
        space_hz: f64,
        /// The rate.
        baud: f64,
    },
}

impl fmt::Display for ModulationFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            ModulationFault::Tone { which, hertz } => write!(f, "{which} tone `{hertz}` Hz is outside 100..=20000"),
            ModulationFault::Baud { baud } => write!(f, "rate `{baud}` baud is outside 20..=4800"),
            ModulationFault::StopBits { stop_bits } => write!(f, "`{stop_bits}` stop bits is outside 1..=8"),
            ModulationFault::TooFast { baud, slower } => write!(
                f,
                "rate `{baud}` baud leaves less than half a cycle of the {slower} Hz tone in a bit; at most {} baud",
                2.0 * slower
            ),
            ModulationFault::TooClose { mark_hz, space_hz, baud } => write!(
                f,
                "tones `{mark_hz}` and `{space_hz}` Hz are too close at {baud} baud; they must be at least {} Hz apart",
                (0.4 * baud).ceil()
            ),
        }
    }
}

impl std::error::Error for ModulationFault {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_name_the_value_and_the_range() {
        let text = |fault: Result<Modulation, ModulationFault>| fault.map_err(|f| f.to_string()).unwrap_err();
        assert_eq!(text(Modulation::new(50.0, 1200.0, 300.0, 2)), "mark tone `50` Hz is outside 100..=20000");
        assert_eq!(text(Modulation::new(2400.0, f64::NAN, 300.0, 2)), "space tone `NaN` Hz is outside 100..=20000");
        assert_eq!(text(Modulation::new(2400.0, 1200.0, 0.0, 2)), "rate `0` baud is outside 20..=4800");
        assert_eq!(text(Modulation::new(2400.0, 1200.0, 300.0, 0)), "`0` stop bits is outside 1..=8");
        assert!(text(Modulation::new(2400.0, 1200.0, 4000.0, 2)).ends_with("at most 2400 baud"));
        assert!(text(Modulation::new(1270.0, 1200.0, 300.0, 2)).ends_with("at least 120 Hz apart"));
    }
}
