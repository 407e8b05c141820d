//! A track as it passes the head: byte cells, with all that stands before, between and behind sectors.
//!
//! Sectors by holes begin at the cell behind their hole; those by marks follow one another from the index hole on. What is
//! left of a turn, less than a byte, lies behind the last cell.

use super::file::{Disk, Form};
use super::layout::{Fill, Layout, Sectoring, coding};
use crate::record::{Coordinate, Kind, Spot};

/// A byte of single density on a track.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// Its eight bits.
    pub byte: u8,
    /// Whether some of its clock bits are missing, by which a byte is known as a mark.
    pub mark: bool,
}

/// The index mark. Source: Western Digital FD1771-01 data sheet, by a retyped digest: FC with the clock D7.
const INDEX_MARK: u8 = 0o374;

impl Layout {
    /// Into how many stretches, each with cells of its own from its beginning on, a turn is divided: at holes, or not.
    pub fn stretches(&self) -> usize {
        match self.sectoring {
            Sectoring::Holes(count) => count,
            Sectoring::Marks { .. } => 1,
        }
    }

    /// Whole byte cells of a stretch at the right speed; 1 at least.
    pub fn stretch_cells(&self) -> usize {
        // A turn of 5,208 bytes and a third must not lose its last byte to the last bit of a float.
        ((self.turn.bytes() / self.stretches() as f64 + 1e-6) as usize).max(1)
    }
}

/// A turn of a track of a disk, from the index hole or from hole 0 on; nothing for a disk of data alone, which lacks what
/// stands around the data.
pub fn turn_of(layout: &Layout, disk: &Disk, track: usize) -> Option<Vec<Cell>> {
    if disk.form != Form::Whole || track >= layout.tracks {
        return None;
    }
    let room = layout.stretch_cells();
    let mut cells = vec![Cell { byte: layout.fill, mark: false }; room * layout.stretches()];
    let records = (0..layout.sectors()).map(|place| record_at(layout, disk, track, place));
    match &layout.sectoring {
        Sectoring::Holes(_) => {
            for (stretch, record) in cells.chunks_mut(room).zip(records) {
                let written = fills(&layout.sync).chain(record.iter().map(|cell| Cell { mark: false, ..*cell }));
                if record.iter().any(|cell| cell.byte != layout.fill) {
                    stretch.iter_mut().zip(written).for_each(|(cell, written)| *cell = written);
                }
            }
        }
        Sectoring::Marks { preamble, gap, .. } => {
            let sectors = records.flat_map(|record| fills(&layout.sync).chain(record).chain(fills(gap)));
            let written = fills(preamble).map(as_index_mark).chain(sectors);
            cells.iter_mut().zip(written).for_each(|(cell, written)| *cell = written);
        }
    }
    Some(cells)
}

/// Takes the sectors of a track off a turn of it. A place where no sector is found becomes blank.
pub fn take_turn(layout: &Layout, cells: &[Cell], track: usize, disk: &mut Disk) {
    let length = layout.record_bytes();
    for (place, from) in beginnings(layout, cells).into_iter().enumerate() {
        let bytes: Vec<u8> = match from {
            Some(from) => cells[from..].iter().take(length).map(|cell| cell.byte).collect(),
            None => Vec::new(),
        };
        let here = Spot { track: track as u8, sector: layout.number_at(track, place) };
        let spot = Spot { sector: said_number(layout, &bytes).unwrap_or(here.sector), ..here };
        if let Some(index) = layout.index(spot).or_else(|| layout.index(here)) {
            let sector = disk.sector_mut(index);
            sector.fill(layout.fill);
            sector[..bytes.len()].copy_from_slice(&bytes);
        }
    }
}

/// The first cell of the sector at each place.
fn beginnings(layout: &Layout, cells: &[Cell]) -> Vec<Option<usize>> {
    let room = layout.stretch_cells();
    match layout.sectoring {
        Sectoring::Holes(count) => {
            let stretches = (0..count).map(|at| at * room..(at + 1) * room);
            stretches.map(|range| delivered_from(layout, &cells[range.clone()]).map(|at| range.start + at)).collect()
        }
        Sectoring::Marks { count, .. } => {
            let first = layout.record.fields.first().and_then(|field| match &field.kind {
                Kind::Mark(bytes) => bytes.first().copied(),
                _ => None,
            });
            let begins = |cell: &Cell| cell.mark && Some(cell.byte) == first;
            let found = cells.iter().enumerate().filter(|(_, cell)| begins(cell)).map(|(at, _)| Some(at));
            found.chain(std::iter::repeat(None)).take(count).collect()
        }
    }
}

/// The first byte behind the sync of a stretch between two holes: that with the first bit which is none of the sync's.
pub fn delivered_from(layout: &Layout, stretch: &[Cell]) -> Option<usize> {
    match layout.sync.last() {
        Some(sync) => stretch.iter().position(|cell| cell.byte != sync.byte),
        None => Some(0),
    }
}

/// The number that a sound sector by marks says it has. One by holes is where it is, whatever it says.
fn said_number(layout: &Layout, bytes: &[u8]) -> Option<u8> {
    let Sectoring::Marks { .. } = layout.sectoring else { return None };
    let parsed = layout.record.parse(&coding(), bytes, 0).ok()?;
    layout.record.said_here(&parsed, Coordinate::Sector)
}

/// The record at a place of a track, its marks as such.
fn record_at(layout: &Layout, disk: &Disk, track: usize, place: usize) -> Vec<Cell> {
    let spot = Spot { track: track as u8, sector: layout.number_at(track, place) };
    let Some(index) = layout.index(spot) else { return Vec::new() };
    let mut cells: Vec<_> = disk.sector(index).iter().map(|&byte| Cell { byte, mark: false }).collect();
    for (field, range) in layout.record.fields.iter().zip(layout.record.ranges(layout.data_bytes())) {
        if let Kind::Mark(bytes) = &field.kind {
            for (cell, byte) in cells[range].iter_mut().zip(bytes) {
                cell.mark = cell.byte == *byte;
            }
        }
    }
    cells
}

fn as_index_mark(cell: Cell) -> Cell {
    Cell { mark: cell.byte == INDEX_MARK, ..cell }
}

fn fills(fills: &[Fill]) -> impl Iterator<Item = Cell> + '_ {
    fills.iter().flat_map(|fill| std::iter::repeat_n(Cell { byte: fill.byte, mark: false }, fill.count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::{bundled, write};

    /// A disk whose sectors all say something.
    fn full(layout: &Layout) -> Disk {
        let mut disk = write::formatted(layout, Form::Whole);
        for index in 0..disk.sectors() {
            let sector = disk.sector_mut(index);
            if sector.iter().all(|&byte| byte == layout.fill) {
                sector.iter_mut().enumerate().for_each(|(at, byte)| *byte = (index * 7 + at) as u8 | 1);
            }
        }
        disk
    }

    #[test]
    fn what_was_put_on_a_track_comes_off_it() {
        for name in ["holes-32", "marks-26"] {
            let layout = &bundled(name).unwrap();
            let disk = full(layout);
            let mut back = Disk::blank(layout, Form::Whole);
            for track in 0..layout.tracks {
                take_turn(layout, &turn_of(layout, &disk, track).unwrap(), track, &mut back);
            }
            assert_eq!(back, disk, "{name}");
        }
    }

    /// Source: FD1771-01 and FD179X-02 data sheets, write track: 73 + 26 x 188 + 247 = 5208 bytes.
    #[test]
    fn the_published_track_has_5208_cells() {
        let layout = &bundled("marks-26").unwrap();
        let cells = turn_of(layout, &full(layout), 3).unwrap();
        assert_eq!(cells.len(), 5208);
        assert_eq!(cells.iter().filter(|cell| cell.mark).count(), 1 + 26 * 2);
        assert_eq!(cells.iter().rposition(|cell| cell.byte != 0o377), Some(5208 - 247 - 27 - 1));
    }

    #[test]
    fn a_turn_by_holes_has_162_cells_between_them() {
        let layout = &bundled("holes-32").unwrap();
        assert_eq!((layout.stretches(), layout.stretch_cells()), (32, 162));
        assert!(turn_of(layout, &write::formatted(layout, Form::Data), 0).is_none());
    }
}
