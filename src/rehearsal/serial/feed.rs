//! What is sent down a line: bytes with pauses.

/// Characters for a line, each with the time at which it starts.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Feed {
    /// Half bits of pause before each character, and the character.
    pub(super) characters: Vec<(u64, u8)>,
}

impl Feed {
    /// Bytes back to back.
    pub fn new(bytes: &[u8]) -> Feed {
        Feed { characters: bytes.iter().map(|&byte| (0, byte)).collect() }
    }

    /// Adds bytes after a pause of so many bits.
    pub fn then(mut self, pause_bits: u32, bytes: &[u8]) -> Feed {
        let pauses = std::iter::once(u64::from(pause_bits) * 2).chain(std::iter::repeat(0));
        self.characters.extend(pauses.zip(bytes.iter().copied()));
        self
    }

    /// How many characters there are.
    pub fn len(&self) -> usize {
        self.characters.len()
    }

    /// Whether there is no character.
    pub fn is_empty(&self) -> bool {
        self.characters.is_empty()
    }
}
