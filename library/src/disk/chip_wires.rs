//! How a board wires the FD1771 to ports.

use super::wires::Wire;

/// How a board wires the chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ChipWires {
    /// The ports of its registers: status and command, track, sector, data.
    pub registers: [u8; 4],
    /// Whether the processor sees the complement of what is in the registers: the bus of the chip is inverted, and the
    /// board does not turn it round again.
    ///
    /// Source: Western Digital FD179X-02 data sheet, May 1980, for the 1791; that the 1771 is so too, from memory of its
    /// own.
    pub inverted: bool,
    /// Whether its clock is one of 1 MHz, not of 2 MHz.
    pub is_slow: bool,
    /// Where its requests are read, if they are.
    pub requests: Option<Requests>,
    /// The bit that selects the drive; one without is always selected.
    pub select: Option<Wire>,
}

/// The request lines at bits of an input port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Requests {
    /// The port.
    pub port: u8,
    /// DRQ.
    pub data: Line,
    /// INTRQ.
    pub interrupt: Line,
    /// Whether the port holds the processor that reads it until one of them comes.
    pub holds: bool,
}

/// A line at a bit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// The bit, `0..=7`.
    pub bit: u8,
    /// Whether a zero means yes.
    pub low: bool,
}

impl ChipWires {
    /// The ports that are read: a port's place is its role.
    pub fn inputs(&self) -> Vec<u8> {
        self.registers.into_iter().chain(self.requests.map(|requests| requests.port)).collect()
    }

    /// The ports that are written: a port's place is its role.
    pub fn outputs(&self) -> Vec<u8> {
        self.registers.into_iter().chain(self.select.map(|wire| wire.port)).collect()
    }
}
