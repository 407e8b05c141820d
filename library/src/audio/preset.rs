//! The published pairs of tones by name, with the pauses that go with them.

use super::modulation::Modulation;

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

impl Pauses {
    /// The longest of each, in seconds.
    pub const LONGEST: f64 = 600.0;
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
        modulation: Modulation::published(2400, 1200, 300, 2),
        pauses: Pauses { leader: 5.0, gap: 5.0, trailer: 1.0 },
    },
    Preset {
        name: "byte-1200",
        about: "cassette, 1200 baud: 2 cycles of 2400 Hz for 1, 1 cycle of 1200 Hz for 0, 2 stop bits",
        source: "the common 1200-baud derivative of the BYTE 1976 standard; no single text defines it",
        modulation: Modulation::published(2400, 1200, 1200, 2),
        pauses: Pauses { leader: 5.0, gap: 5.0, trailer: 1.0 },
    },
    Preset {
        name: "bell-103-originate",
        about: "modem, 300 baud, originating side: 1270 Hz for 1, 1070 Hz for 0, 1 stop bit",
        source: BELL_103,
        modulation: Modulation::published(1270, 1070, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "bell-103-answer",
        about: "modem, 300 baud, answering side: 2225 Hz for 1, 2025 Hz for 0, 1 stop bit",
        source: BELL_103,
        modulation: Modulation::published(2225, 2025, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "v21-originate",
        about: "modem, 300 bit/s, calling side (channel 1): 980 Hz for 1, 1180 Hz for 0, 1 stop bit",
        source: V21,
        modulation: Modulation::published(980, 1180, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
    Preset {
        name: "v21-answer",
        about: "modem, 300 bit/s, answering side (channel 2): 1650 Hz for 1, 1850 Hz for 0, 1 stop bit",
        source: V21,
        modulation: Modulation::published(1650, 1850, 300, 1),
        pauses: Pauses { leader: 2.0, gap: 2.0, trailer: 1.0 },
    },
];

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
}
