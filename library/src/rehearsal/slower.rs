//! A program that is slower than it is.

/// T-states for which the processor is held besides: as if the program that reads a disk took so many more.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Slower {
    /// For each byte: where it is read.
    pub byte: u32,
    /// For each sector: where the controller is first looked at behind its last byte.
    pub sector: u32,
}
