//! What a panel has, and how fast a hand is.

use crate::notation::{Address, Notation};

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
    /// Whether there are sense switches; a machine file without a port that reads them has none.
    pub senses: bool,
    /// How addresses and bytes are written; levers are grouped a digit each.
    pub notation: Notation,
    /// How a running program is stopped.
    pub stop: Stop,
    /// What RESET leaves behind.
    pub reset: Reset,
    /// How far one press of SINGLE STEP goes.
    pub step: Reach,
    /// The status lights that it has.
    pub lamps: StatusLamps,
    /// Those of them that are lit when the processor is stopped before an instruction, as after EXAMINE.
    pub examined: StatusLamps,
}

impl Default for Panel {
    fn default() -> Self {
        Panel {
            switches: 16,
            data: DataLevers::LowAddress,
            examine_next: true,
            deposit_next: true,
            sense: SenseLevers::HighAddress,
            senses: true,
            notation: Notation::Octal,
            stop: Stop::Key,
            reset: Reset::Runs,
            step: Reach::Cycle,
            lamps: StatusLamps::ALL,
            examined: StatusLamps::FETCH,
        }
    }
}

impl Panel {
    /// Whether the panel has a status light.
    pub fn has(&self, lamp: StatusLamps) -> bool {
        self.lamps.contains(lamp)
    }

    /// Whether an address can be set on its switches, for EXAMINE.
    pub fn reaches(&self, address: Address) -> bool {
        u32::from(address.0) >> self.switches == 0
    }

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

/// How a running program is stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// By a key that springs back, as RUN does.
    Key,
    /// By a lever that stays at STOP or at RUN.
    Lever,
    /// By RESET alone.
    Nothing,
}

/// What RESET leaves behind. The processor's own RESET takes the program counter to zero and leaves it running.
///
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, chapter 2, from memory.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reset {
    /// A program that runs from zero, unless STOP is held meanwhile.
    Runs,
    /// A processor that is stopped at zero.
    Stopped,
    /// The panel has no such key.
    Missing,
}

/// How far one press of SINGLE STEP goes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Reach {
    /// One machine cycle.
    #[default]
    Cycle,
    /// To the first machine cycle of the next instruction.
    Instruction,
}

/// A set of status lights: the eight bits of the status word, and WAIT.
///
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, Table 2-1; that panels show those bits as they
/// are, and WAIT beside them, is common practice.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct StatusLamps(u16);

impl StatusLamps {
    /// No light.
    pub const NONE: StatusLamps = StatusLamps(0);
    /// Instruction fetch.
    pub const M1: StatusLamps = StatusLamps(1 << 5);
    /// Memory read.
    pub const MEMR: StatusLamps = StatusLamps(1 << 7);
    /// Input read.
    pub const INP: StatusLamps = StatusLamps(1 << 6);
    /// Halt acknowledge.
    pub const HLTA: StatusLamps = StatusLamps(1 << 3);
    /// The processor waits: it is stopped, or has halted.
    pub const WAIT: StatusLamps = StatusLamps(1 << 8);
    /// All nine.
    pub const ALL: StatusLamps = StatusLamps(0x1FF);
    /// Those of an instruction fetch that waits.
    pub const FETCH: StatusLamps = StatusLamps(0xA2 | StatusLamps::WAIT.0);

    /// The names of the lights, each with its own: bit 7 of the status word first, WAIT last.
    pub const NAMES: [(&'static str, StatusLamps); 9] = [
        ("MEMR", StatusLamps::MEMR),
        ("INP", StatusLamps::INP),
        ("M1", StatusLamps::M1),
        ("OUT", StatusLamps(1 << 4)),
        ("HLTA", StatusLamps::HLTA),
        ("STACK", StatusLamps(1 << 2)),
        ("WO", StatusLamps(1 << 1)),
        ("INTA", StatusLamps(1 << 0)),
        ("WAIT", StatusLamps::WAIT),
    ];

    /// The place of the only light in it: 0 to 7 as in the status word, 8 for WAIT.
    pub(super) fn bit(self) -> u32 {
        self.0.trailing_zeros()
    }

    /// Whether all of `other` are in it.
    pub fn contains(self, other: StatusLamps) -> bool {
        self.0 & other.0 == other.0
    }

    /// Those of both.
    pub fn with(self, other: StatusLamps) -> StatusLamps {
        StatusLamps(self.0 | other.0)
    }

    /// Those that are in both.
    pub fn within(self, other: StatusLamps) -> StatusLamps {
        StatusLamps(self.0 & other.0)
    }

    /// Their names.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        StatusLamps::NAMES.into_iter().filter(move |(_, lamp)| self.contains(*lamp)).map(|(name, _)| name)
    }
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
