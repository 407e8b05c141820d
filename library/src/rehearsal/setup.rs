//! What a machine is built from.

use super::disk::DiskSetup;
use super::memory::{Memory, Noise};
use super::serial::StatusLayout;
use super::slower::Slower;
use crate::line::LineFormat;
use crate::notation::{Address, Both};

/// Everything of a machine that does not change while it runs.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Setup {
    /// What the noise at power-on is drawn from.
    pub seed: u64,
    /// T-states in a second.
    pub clock_hz: u64,
    /// By how many per cent every serial line is faster than it is described.
    pub faster: u32,
    /// By how much a program is slower that reads a disk.
    pub slower: Slower,
    /// RAM: base and bytes.
    pub ram: Vec<(Address, usize)>,
    /// ROM: base and what is in it. It takes the place of RAM at the same addresses.
    pub rom: Vec<(Address, Vec<u8>)>,
    /// Serial chips.
    pub serial: Vec<SerialSetup>,
    /// Drives with their controllers.
    pub disks: Vec<DiskSetup>,
    /// The port at which the sense switches are read, and how they are set.
    pub sense: Option<(u8, u8)>,
    /// Input ports that always read one byte.
    pub inputs: Vec<(u8, u8)>,
    /// Output ports whose bytes are recorded.
    pub outputs: Vec<u8>,
}

/// A serial chip and its line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SerialSetup {
    /// What it is.
    pub chip: ChipSetup,
    /// The port at which its status is read.
    pub status: u8,
    /// The port at which its control register is written, if it has one.
    pub control: Option<u8>,
    /// The port at which received data are read.
    pub data_in: u8,
    /// The port to which data to be sent are written.
    pub data_out: u8,
    /// Speed and characters of the line.
    pub line: LineFormat,
    /// The chip's clock as a multiple of the line's speed: 1, 16 or 64.
    pub clock: u8,
    /// What really comes down the line, where that is not what the line is said to be.
    pub sender: Option<LineFormat>,
    /// How the bits of the status lead to the bus.
    pub wires: StatusWires,
}

/// How the bits of a status lead to the bus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct StatusWires {
    /// The bits that come out the other way round.
    pub turned: u8,
    /// Two bits that are changed over.
    pub crossed: Option<(u8, u8)>,
}

impl StatusWires {
    /// What the bus reads of a status.
    pub fn lead(self, status: u8) -> u8 {
        let status = status ^ self.turned;
        let Some((one, other)) = self.crossed else { return status };
        let differ = (status >> one ^ status >> other) & 1;
        status ^ (differ << one | differ << other)
    }
}

/// Which chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ChipSetup {
    /// Motorola MC6850.
    Mc6850,
    /// Intel 8251.
    I8251,
    /// A hard-wired UART, strapped to the format of its line.
    HardWired(StatusLayout),
    /// None: its place is empty.
    Absent,
}

/// Why a machine cannot be built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SetupError {
    /// Two devices answer to an input port.
    InputTaken(u8),
    /// Two devices answer to an output port.
    OutputTaken(u8),
}

impl std::fmt::Display for SetupError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            SetupError::InputTaken(port) => write!(f, "two devices answer to input port {}", Both(*port)),
            SetupError::OutputTaken(port) => write!(f, "two devices answer to output port {}", Both(*port)),
        }
    }
}

impl std::error::Error for SetupError {}

impl Setup {
    pub(super) fn noise(&self) -> Noise {
        Noise::new(self.seed)
    }

    pub(super) fn memory(&self, noise: &mut Noise) -> Memory {
        let mut memory = Memory::empty();
        for &(base, size) in &self.ram {
            memory.add_ram(base, size, noise);
        }
        for (base, bytes) in &self.rom {
            memory.add_rom(*base, bytes);
        }
        memory
    }
}
