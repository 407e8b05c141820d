//! What a tape sounds like: a pair of tones, a rate and a number of stop bits; and the published pairs by name.
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

/// Mark tone around and between the blocks of a tape, in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pauses {
    /// Before the first block.
    pub leader: f64,
    /// Between two blocks.
    pub gap: f64,
    /// After the last block.
    pub trailer: f64,
}

/// A published modulation and the pauses that its standard asks for, or that decks want.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preset {
    /// The neutral name of the standard, as given on a command line.
    pub name: &'static str,
    /// One line for a list.
    pub about: &'static str,
    /// The published source of the figures.
    pub source: &'static str,
    /// Tones, rate, stop bits.
    pub modulation: Modulation,
    /// Leader, gap and trailer to write unless the user says otherwise.
    pub pauses: Pauses,
}

impl Preset {
    /// The preset of that name.
    ///
    /// ```
    /// use coldwright::audio::Preset;
    /// let preset = Preset::named("byte-300").ok_or("no such preset")?;
    /// assert_eq!(preset.modulation.mark_hz(), 2400.0);
    /// # Ok::<(), &str>(())
    /// ```
    pub fn named(name: &str) -> Option<&'static Preset> {
        PRESETS.iter().find(|preset| preset.name == name)
    }
}

const BYTE_1976: &str = "BYTE, February 1976, pp. 72-73, provisional audio cassette data interchange standard";
const BELL_103: &str = "AT&T Data Set 103 interface specification";
const V21: &str = "ITU-T Recommendation V.21, section 3";

/// The published pairs.
pub const PRESETS: [Preset; 6] = [
    Preset {
        name: "byte-300",
        about: "cassette, 300 baud: 8 cycles of 2400 Hz for 1, 4 cycles of 1200 Hz for 0, 2 stop bits",
        source: BYTE_1976,
        modulation: published(2400, 1200, 300, 2),
        pauses: Pauses { leader: 5.0, gap: 5.0, trailer: 1.0 },
    },
    Preset {
        name: "byte-1200",
        about: "cassette, 1200 baud: 2 cycles of 2400 Hz for 1, 1 cycle of 1200 Hz for 0, 2 stop bits",
        source: "the common 1200-baud derivative of the BYTE 1976 standard; no single text defines it",
        modulation: published(2400, 1200, 1200, 2),
        pauses: Pauses { leader: 5.0, gap: 5.0, trailer: 1.0 },
    },
    Preset {
        name: "bell-103-originate",
        about: "modem, 300 baud, originating side: 1270 Hz for 1, 1070 Hz for 0, 1 stop bit",
        source: BELL_103,
        modulation: published(1270, 1070, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "bell-103-answer",
        about: "modem, 300 baud, answering side: 2225 Hz for 1, 2025 Hz for 0, 1 stop bit",
        source: BELL_103,
        modulation: published(2225, 2025, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "v21-originate",
        about: "modem, 300 bit/s, calling side (channel 1): 980 Hz for 1, 1180 Hz for 0, 1 stop bit",
        source: V21,
        modulation: published(980, 1180, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "v21-answer",
        about: "modem, 300 bit/s, answering side (channel 2): 1650 Hz for 1, 1850 Hz for 0, 1 stop bit",
        source: V21,
        modulation: published(1650, 1850, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
];

const fn published(mark_hz: u64, space_hz: u64, baud: u64, stop_bits: u8) -> Modulation {
    Modulation {
        mark: Thousandths(mark_hz * 1000),
        space: Thousandths(space_hz * 1000),
        baud: Thousandths(baud * 1000),
        stop_bits,
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
    fn every_preset_passes_the_checks_that_a_users_pair_must_pass() {
        for preset in &PRESETS {
            let m = preset.modulation;
            assert_eq!(Modulation::new(m.mark_hz(), m.space_hz(), m.baud(), m.stop_bits()), Ok(m), "{}", preset.name);
            assert_eq!(Preset::named(preset.name), Some(preset));
        }
        assert_eq!(Preset::named("byte"), None);
    }

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
