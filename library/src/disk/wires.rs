//! How a hard-wired controller is wired to ports: which bit does what, and which shows what.

/// A signal of a drive. None is active while the drive is not selected.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Signal {
    /// A disk has turned for two index pulses.
    Ready,
    /// The index hole passes.
    Index,
    /// The hole of a sector passes.
    Hole,
    /// The head stands on track 0.
    TrackZero,
    /// The head is loaded and rests on its track.
    Settled,
    /// A step is followed.
    MayStep,
    /// The disk is protected from being written.
    Protected,
}

/// A bit of a port, with the level that means yes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Wire {
    /// The port.
    pub port: u8,
    /// The bit, `0..=7`.
    pub bit: u8,
    /// Whether a zero means yes.
    pub low: bool,
}

impl Wire {
    /// Whether a byte says yes.
    pub fn says(self, byte: u8) -> bool {
        (byte >> self.bit & 1 == 1) != self.low
    }

    /// A byte in which this bit says something.
    pub fn put(self, byte: u8, yes: bool) -> u8 {
        let mask = 1 << self.bit;
        if yes != self.low { byte | mask } else { byte & !mask }
    }
}

/// What a bit that is put out does to the drive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Act {
    /// Selects it.
    Select,
    /// Lets it go.
    Deselect,
    /// Loads the head.
    Load,
    /// Unloads it.
    Unload,
    /// Steps the head inward.
    StepIn,
    /// Steps it out.
    StepOut,
    /// Starts to write a sector.
    Write,
}

/// A bit that does something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Deed {
    /// What it does.
    pub act: Act,
    /// The bit.
    pub wire: Wire,
    /// Whether every byte in which the bit says yes does it; else the change to yes does, and for what lasts the change
    /// back ends it.
    pub pulse: bool,
}

/// What a bit that is read shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// A signal of the drive.
    Signal(Signal),
    /// A byte waits to be fetched.
    Waits,
    /// A byte is wanted to be written.
    Wanted,
    /// A bit of the number of the hole that passed last.
    Sector(u8),
}

/// How a controller is wired.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Wires {
    /// The port at which bytes are fetched, and to which they are given.
    pub data: u8,
    /// Bits that are put out.
    pub deeds: Vec<Deed>,
    /// Bits that are read.
    pub shown: Vec<(Shown, Wire)>,
}

impl Wires {
    /// The ports that are read, the data first: a port's place is its role.
    pub fn inputs(&self) -> Vec<u8> {
        with_data(self.data, self.shown.iter().map(|(_, wire)| wire.port))
    }

    /// The ports that are written, the data first: a port's place is its role.
    pub fn outputs(&self) -> Vec<u8> {
        with_data(self.data, self.deeds.iter().map(|deed| deed.wire.port))
    }
}

fn with_data(data: u8, ports: impl Iterator<Item = u8>) -> Vec<u8> {
    let mut all = vec![data];
    for port in ports {
        if !all.contains(&port) {
            all.push(port);
        }
    }
    all
}
