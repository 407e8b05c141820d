//! The three parts of a program on a tape.

/// Which part of a program a record is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Part {
    /// What stands once before the blocks.
    Head,
    /// What is repeated.
    Block,
    /// What ends the program.
    End,
}

impl Part {
    /// The key of the part in a framing file.
    pub const fn key(self) -> &'static str {
        match self {
            Part::Head => "head",
            Part::Block => "block",
            Part::End => "end",
        }
    }
}
