//! What a panel has, and how fast a hand is.

use crate::notation::Notation;

/// A front panel: its levers, its keys, and how its addresses are read. EXAMINE and DEPOSIT are always there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Panel {
    /// Address switches, `8..=16`.
    pub switches: u8,
    /// Where a data byte is set.
    pub data: DataLevers,
    /// Whether a key shows the next address.
    pub examine_next: bool,
    /// Whether a key steps on and deposits in one.
    pub deposit_next: bool,
    /// Where the sense byte is set.
    pub sense: SenseLevers,
    /// How addresses and bytes are written; levers are grouped a digit each.
    pub notation: Notation,
}

impl Default for Panel {
    fn default() -> Self {
        Panel {
            switches: 16,
            data: DataLevers::LowAddress,
            examine_next: true,
            deposit_next: true,
            sense: SenseLevers::HighAddress,
            notation: Notation::Octal,
        }
    }
}

impl Panel {
    /// Gives the panel so many address switches, `8..=16`. With fewer than sixteen the sense byte has its own.
    pub fn set_switches(&mut self, switches: u8) {
        self.switches = switches;
        if switches < 16 {
            self.sense = SenseLevers::Own;
        }
    }
}

/// Where a data byte is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DataLevers {
    /// On the low eight address switches.
    LowAddress,
    /// On eight switches of their own.
    Own,
}

/// Where the byte that a program reads from the sense port is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SenseLevers {
    /// On the high eight of sixteen address switches.
    HighAddress,
    /// On eight switches of their own.
    Own,
}

/// How long the work takes a person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Seconds for one movement: a lever pushed or a key pressed.
    pub movement: f64,
}

impl Default for Pace {
    fn default() -> Self {
        Pace { movement: 1.0 }
    }
}

impl Pace {
    /// Reading a row or the lights and making a tick count as so many movements.
    pub const TICK: u64 = 2;

    /// The time for `levers` pushed, `keys` pressed and `ticks` made, in seconds.
    pub fn seconds(&self, levers: u64, keys: u64, ticks: u64) -> f64 {
        (levers + keys + Pace::TICK * ticks) as f64 * self.movement
    }
}
