//! The outputs of a part: how many, and how they read unprogrammed.

/// The level of every output of a cell that is not programmed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Level {
    /// Reads 0; programming makes a 1.
    Low,
    /// Reads 1; programming makes a 0.
    High,
}

/// How many outputs a part has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Width {
    /// Four: a byte takes two parts, one for the high and one for the low nibble.
    Nibble,
    /// Eight.
    Byte,
}

impl Width {
    /// Outputs: 4 or 8.
    pub const fn bits(self) -> usize {
        match self {
            Width::Nibble => 4,
            Width::Byte => 8,
        }
    }

    /// The largest word.
    pub const fn mask(self) -> u8 {
        match self {
            Width::Nibble => 0x0F,
            Width::Byte => 0xFF,
        }
    }
}
