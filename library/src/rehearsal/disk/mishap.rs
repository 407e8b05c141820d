//! What a drive could not do.

use crate::isa::TStates;

/// Something that a drive could not do, or did other than it was meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mishap {
    /// A step came too early behind another by so much: the head did not follow.
    StepEarly(TStates),
    /// A step the other way came too early by so much: the head did not follow.
    ReverseEarly(TStates),
    /// A step inward from the last track.
    StepPastLast,
    /// A step while the drive was not selected.
    StepUnselected,
    /// A byte was read although the head was not loaded.
    ReadUnloaded,
    /// A byte was read so much before the head had come to rest.
    ReadUnsettled(TStates),
    /// A byte was written to a protected disk.
    WriteProtected,
    /// A byte was written although the head was not loaded, or the drive not selected.
    WriteUnloaded,
    /// A byte was written so much before the head had come to rest.
    WriteUnsettled(TStates),
    /// A byte was written while no disk turned in the drive.
    WriteNowhere,
}

impl Mishap {
    /// The same without its figure.
    pub(super) fn kind(self) -> Mishap {
        let none = TStates(0);
        match self {
            Mishap::StepEarly(_) => Mishap::StepEarly(none),
            Mishap::ReverseEarly(_) => Mishap::ReverseEarly(none),
            Mishap::ReadUnsettled(_) => Mishap::ReadUnsettled(none),
            Mishap::WriteUnsettled(_) => Mishap::WriteUnsettled(none),
            other => other,
        }
    }
}
