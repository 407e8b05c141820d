//! What the eight tracks of a frame hold: eight bits, or seven with parity.

/// What the eighth track of a frame is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Characters {
    /// Eight bits of data.
    #[default]
    EightBits,
    /// Seven bits of data, an even number of holes in every frame (the 7-bit code on tape: ISO 1113, ECMA-10).
    SevenEven,
    /// Seven bits of data, an odd number of holes.
    SevenOdd,
    /// Seven bits of data, track 8 always punched.
    SevenMark,
    /// Seven bits of data, track 8 never punched.
    SevenSpace,
    /// Seven bits of data; track 8 is not punched, and a reader does not look at it.
    SevenAlone,
}

impl Characters {
    /// All with their names in a framing file.
    pub const ALL: [(&'static str, Characters); 6] = [
        ("8N", Characters::EightBits),
        ("7E", Characters::SevenEven),
        ("7O", Characters::SevenOdd),
        ("7M", Characters::SevenMark),
        ("7S", Characters::SevenSpace),
        ("7N", Characters::SevenAlone),
    ];

    /// Whether track 8 is no data.
    pub const fn is_seven_bit(self) -> bool {
        !matches!(self, Characters::EightBits)
    }

    /// The frame of a character.
    pub const fn punch(self, character: u8) -> u8 {
        let seven = character & 0o177;
        let odd = seven.count_ones() % 2 == 1;
        let eighth = match self {
            Characters::EightBits => return character,
            Characters::SevenEven => odd,
            Characters::SevenOdd => !odd,
            Characters::SevenMark => true,
            Characters::SevenSpace | Characters::SevenAlone => false,
        };
        seven | (eighth as u8) << 7
    }

    /// The character of a frame, and whether track 8 is as it should be.
    pub const fn read(self, frame: u8) -> (u8, bool) {
        match self {
            Characters::EightBits => (frame, true),
            Characters::SevenAlone => (frame & 0o177, true),
            _ => (frame & 0o177, self.punch(frame) == frame),
        }
    }
}
