//! The single acts of a person at the panel. A sheet is rehearsed by playing them.

use crate::notation::Address;

/// A key of the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Key {
    /// Shows the byte at the address set on the switches.
    Examine,
    /// Shows the byte at the next address.
    ExamineNext,
    /// Puts the byte set on the data switches at the address shown.
    Deposit,
    /// Steps to the next address and puts the byte there.
    DepositNext,
    /// Starts the program at the address shown.
    Run,
}

impl Key {
    /// What stands at the key.
    pub const fn name(self) -> &'static str {
        match self {
            Key::Examine => "EXAMINE",
            Key::ExamineNext => "EXAMINE NEXT",
            Key::Deposit => "DEPOSIT",
            Key::DepositNext => "DEPOSIT NEXT",
            Key::Run => "RUN",
        }
    }

    /// The name where room is short.
    pub const fn letters(self) -> &'static str {
        match self {
            Key::Examine => "E",
            Key::ExamineNext => "EN",
            Key::Deposit => "D",
            Key::DepositNext => "DN",
            Key::Run => "RUN",
        }
    }
}

/// One act at the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Bring the address switches to this.
    SetAddress(Address),
    /// Bring the data switches to this.
    SetData(u8),
    /// Bring the sense switches to this.
    SetSense(u8),
    /// Press a key.
    Press(Key),
    /// The lights must show this; then tick.
    Compare(Address, u8),
}
