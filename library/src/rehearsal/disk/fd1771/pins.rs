//! What the chip sees of a drive, and what it does to it.

use crate::disk::Cell;
use crate::isa::TStates;

/// The drive at the pins of the chip. Every question is about a moment not before the last one.
pub trait Pins {
    /// READY: a disk turns in a drive that is selected.
    fn ready(&self, at: TStates) -> bool;

    /// TR00: the head stands on the outermost track.
    fn track_zero(&self, at: TStates) -> bool;

    /// WPRT: the disk is protected from being written.
    fn protected(&self, at: TStates) -> bool;

    /// WF: the drive cannot write.
    fn write_fault(&self, at: TStates) -> bool;

    /// IP: the index hole passes.
    fn index(&self, at: TStates) -> bool;

    /// When the index hole next begins to pass, after a moment; never if nothing turns.
    fn next_index(&self, after: TStates) -> Option<TStates>;

    /// Since or from when on the head rests on the disk (HLT); never if it is not loaded.
    fn settles(&self) -> Option<TStates>;

    /// HLD: the head is loaded, or no longer.
    fn load_head(&mut self, loaded: bool, at: TStates);

    /// STEP, with the direction at DIRC.
    fn step(&mut self, inward: bool, at: TStates);

    /// Which byte cell passes at a moment, counted on from turn to turn; none if nothing turns.
    fn passing(&self, at: TStates) -> Option<u64>;

    /// When a byte cell begins to pass.
    fn begins(&self, cell: u64) -> TStates;

    /// Byte cells from index pulse to index pulse.
    fn cells(&self) -> u64;

    /// What the head finds in a byte cell; nothing if it is not on a disk then.
    fn read(&self, cell: u64) -> Option<Cell>;

    /// The first cell of a stretch in which the head finds a mark.
    fn next_mark(&self, mut cells: std::ops::RangeInclusive<u64>) -> Option<u64> {
        cells.find(|&cell| self.read(cell).is_some_and(|content| content.mark))
    }

    /// The data of a sector of this number begin to be read.
    fn begins_sector(&mut self, sector: u8) {
        let _ = sector;
    }

    /// Writes a byte cell while it passes.
    fn write(&mut self, cell: u64, content: Cell);
}
