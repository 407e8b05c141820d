//! The way to an ID field, and from it to the data.

use super::check::Check;
use super::pins::Pins;
use crate::isa::TStates;

/// The mark of an ID field.
pub(super) const ID_MARK: u8 = 0xFE;

/// Bytes of an ID field behind its mark: track, side, sector, length and two of check.
pub(super) const ID_BYTES: u64 = 6;

/// Within so many bytes behind the ID field the data mark must stand.
const TO_DATA_MARK: u64 = 28;

/// Turns in which an ID field must be found.
const TURNS: u64 = 2;

/// An ID field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct IdField {
    /// Track, side, sector, length and two bytes of check.
    pub bytes: [u8; ID_BYTES as usize],
    /// Whether its check agrees.
    pub sound: bool,
    /// The cell in which its mark stands.
    pub mark: u64,
}

impl IdField {
    pub fn track(&self) -> u8 {
        self.bytes[0]
    }

    pub fn sector(&self) -> u8 {
        self.bytes[2]
    }

    pub fn length(&self) -> u8 {
        self.bytes[3]
    }

    /// The cell behind it.
    pub fn behind(&self) -> u64 {
        self.mark + 1 + ID_BYTES
    }
}

/// Looking for ID fields for two turns.
///
/// The sheet gives revolutions and does not say from which moment they count: here it is the time of two turns from the
/// start of the search. Without a disk that turns a search waits.
#[derive(Clone, Copy, Debug)]
pub(super) struct Search {
    /// Cells that begin before this moment are past.
    from: TStates,
    /// When it has lasted two turns; not known before a disk turns.
    until: Option<TStates>,
    /// An ID field is told of as soon as its mark has passed, not when all of it has.
    at_marks: bool,
}

/// How a search goes on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// This ID field has passed, or its mark.
    Id(IdField),
    /// Two turns have.
    Nothing,
}

impl Search {
    /// A search from a moment on.
    pub fn new(from: TStates, pins: &dyn Pins) -> Search {
        let until = pins.passing(from).map(|cell| {
            let turned = pins.begins(cell + TURNS * pins.cells()).0 - pins.begins(cell).0;
            TStates(from.0 + turned)
        });
        Search { from, until, at_marks: false }
    }

    /// The same search, which tells of an ID field as soon as its mark has passed.
    pub fn at_marks(self) -> Search {
        Search { at_marks: true, ..self }
    }

    /// The same search, behind what has passed up to a moment.
    pub fn behind(self, from: TStates) -> Search {
        Search { from, ..self }
    }

    /// The disk no longer turns.
    pub fn stop(&mut self) {
        self.until = None;
    }

    /// The disk turns: a search that waited for it begins.
    pub fn go(&mut self, at: TStates, pins: &dyn Pins) {
        if self.until.is_none() {
            *self = Search { at_marks: self.at_marks, ..Search::new(at, pins) };
        }
    }

    /// What comes next, and when it has passed; nothing if no disk turns.
    pub fn next(&self, pins: &dyn Pins) -> Option<(TStates, Next)> {
        let until = self.until?;
        let first = first_cell(self.from, pins)?;
        let last = first + TURNS * pins.cells();
        let marks = std::iter::successors(pins.next_mark(first..=last), |&mark| pins.next_mark(mark + 1..=last));
        let id = marks.into_iter().find_map(|mark| id_at(mark, pins));
        let told = |id: &IdField| if self.at_marks { id.mark + 1 } else { id.behind() };
        let passed = id.map(|id| (pins.begins(told(&id)), Next::Id(id)));
        Some(passed.filter(|(at, _)| *at <= until).unwrap_or((until, Next::Nothing)))
    }
}

/// The first cell that begins at a moment or later.
pub(super) fn first_cell(from: TStates, pins: &dyn Pins) -> Option<u64> {
    let passing = pins.passing(from)?;
    Some(if pins.begins(passing) < from { passing + 1 } else { passing })
}

/// The ID field whose mark stands in a cell.
fn id_at(cell: u64, pins: &dyn Pins) -> Option<IdField> {
    pins.read(cell).filter(|content| content.mark && content.byte == ID_MARK)?;
    let bytes = std::array::from_fn(|at| pins.read(cell + 1 + at as u64).map_or(0, |content| content.byte));
    let sound = bytes.iter().fold(Check::behind(ID_MARK), |check, &byte| check.with(byte)).agrees();
    Some(IdField { bytes, sound, mark: cell })
}

/// The cell of the data mark that belongs to an ID field, and the mark.
pub(super) fn data_mark(id: &IdField, pins: &dyn Pins) -> Option<(u64, u8)> {
    (id.behind()..id.behind() + TO_DATA_MARK).find_map(|cell| {
        let content = pins.read(cell)?;
        (content.mark && is_data_mark(content.byte)).then_some((cell, content.byte))
    })
}

/// Whether a byte with missing clocks begins data.
pub(super) fn is_data_mark(byte: u8) -> bool {
    matches!(byte, 0xF8..=0xFB)
}
