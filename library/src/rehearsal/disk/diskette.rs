//! A disk as it lies in a drive: its tracks, cell by cell.

use std::sync::Arc;

use crate::disk::cells::{take_turn, turn_of};
use crate::disk::{Cell, Disk, Form, Layout, write};

/// A disk in a drive.
#[derive(Clone, Debug)]
pub struct Diskette {
    layout: Layout,
    /// Shared until it is written.
    tracks: Arc<Vec<Vec<Cell>>>,
    /// Whether it is protected from being written.
    pub protected: bool,
}

impl Diskette {
    /// The disk of a disk file; nothing if the file has the data of its sectors alone.
    pub fn new(layout: &Layout, disk: &Disk, protected: bool) -> Option<Diskette> {
        let tracks: Option<Vec<_>> = (0..layout.tracks).map(|track| turn_of(layout, disk, track)).collect();
        Some(Diskette { layout: layout.clone(), tracks: Arc::new(tracks?), protected })
    }

    /// How it is made up.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// What its sectors hold now.
    pub fn disk(&self) -> Disk {
        let mut disk = write::formatted(&self.layout, Form::Whole);
        for (track, cells) in self.tracks.iter().enumerate() {
            take_turn(&self.layout, cells, track, &mut disk);
        }
        disk
    }

    /// A cell of a track, counted from the index hole or from hole 0 on.
    pub fn cell(&self, track: usize, of_turn: usize) -> Cell {
        self.tracks.get(track).and_then(|cells| cells.get(of_turn)).copied().unwrap_or_default()
    }

    /// The cells of a track from one hole to the next.
    pub fn stretch(&self, track: usize, stretch: usize) -> &[Cell] {
        let room = self.layout.stretch_cells();
        self.tracks.get(track).and_then(|cells| cells.get(stretch * room..(stretch + 1) * room)).unwrap_or_default()
    }

    pub(super) fn write(&mut self, track: usize, of_turn: usize, content: Cell) {
        let tracks = Arc::make_mut(&mut self.tracks);
        if let Some(cell) = tracks.get_mut(track).and_then(|cells| cells.get_mut(of_turn)) {
            *cell = content;
        }
    }
}
