//! What is sent down a line: characters with pauses, or with the times at which a recording has them.

/// Characters for a line, each with the time at which it starts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Feed {
    pub(super) characters: Vec<Cue>,
    /// Seconds of it that have passed when it is played.
    pub(super) passed: f64,
}

/// A character and when it starts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cue {
    /// In the format and at the speed of the line, after so many half bits of pause.
    Follows { pause: u64, byte: u8 },
    /// Eight data bits without parity, as sound carries them: seconds from the beginning of the recording to the start
    /// bit, and the length of a bit in seconds.
    Heard { from: f64, bit: f64, byte: u8 },
}

/// A character of a recording.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeardCharacter {
    /// Seconds from the beginning of the recording to its start bit.
    pub from: f64,
    /// The length of one of its bits in seconds.
    pub bit: f64,
    /// What it is.
    pub byte: u8,
}

impl Feed {
    /// Bytes back to back.
    pub fn new(bytes: &[u8]) -> Feed {
        let characters = bytes.iter().map(|&byte| Cue::Follows { pause: 0, byte }).collect();
        Feed { characters, passed: 0.0 }
    }

    /// The characters of a recording, in order of time.
    pub fn heard(characters: impl IntoIterator<Item = HeardCharacter>) -> Feed {
        let cue = |HeardCharacter { from, bit, byte }| Cue::Heard { from, bit, byte };
        Feed { characters: characters.into_iter().map(cue).collect(), passed: 0.0 }
    }

    /// Adds bytes after a pause of so many bits.
    pub fn then(mut self, pause_bits: u32, bytes: &[u8]) -> Feed {
        let pauses = std::iter::once(u64::from(pause_bits) * 2).chain(std::iter::repeat(0));
        self.characters.extend(pauses.zip(bytes.iter()).map(|(pause, &byte)| Cue::Follows { pause, byte }));
        self
    }

    /// The same, of which so many seconds (at most [`Feed::MOST_PASSED`]) have passed when it is played.
    pub fn passed(mut self, seconds: f64) -> Feed {
        self.passed = seconds.clamp(0.0, Feed::MOST_PASSED);
        self
    }

    /// The most seconds that can have passed.
    pub const MOST_PASSED: f64 = 3600.0;

    /// How many characters there are.
    pub fn len(&self) -> usize {
        self.characters.len()
    }

    /// Whether there is no character.
    pub fn is_empty(&self) -> bool {
        self.characters.is_empty()
    }
}
