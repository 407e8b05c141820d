//! A disk as it lies in a drive: its tracks, cell by cell.

use std::sync::{Arc, OnceLock};

use crate::disk::cells::{delivered_from, take_turn, turn_of};
use crate::disk::{Cell, Disk, Form, Layout, write};

/// A disk in a drive.
#[derive(Clone, Debug)]
pub struct Diskette {
    layout: Layout,
    /// As it was put in.
    disk: Disk,
    /// Each made when the head first comes to it: a boot reads a few of many. Shared until one is written.
    tracks: Arc<Vec<OnceLock<Track>>>,
    /// Whether it is protected from being written.
    pub protected: bool,
}

/// A track under the head.
#[derive(Clone, Debug)]
struct Track {
    cells: Vec<Cell>,
    /// The first cell that is delivered of each stretch, counted from its beginning on.
    delivered: Vec<Option<usize>>,
}

impl Diskette {
    /// The disk of a disk file; nothing if the file has the data of its sectors alone.
    pub fn new(layout: &Layout, disk: &Disk, protected: bool) -> Option<Diskette> {
        let tracks = Arc::new(vec![OnceLock::new(); layout.tracks]);
        (disk.form == Form::Whole).then(|| Diskette { layout: layout.clone(), disk: disk.clone(), tracks, protected })
    }

    /// How it is made up.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// What its sectors hold now.
    pub fn disk(&self) -> Disk {
        let mut disk = write::formatted(&self.layout, Form::Whole);
        for number in 0..self.layout.tracks {
            if let Some(track) = self.track(number) {
                take_turn(&self.layout, &track.cells, number, &mut disk);
            }
        }
        disk
    }

    fn track(&self, number: usize) -> Option<&Track> {
        Some(self.tracks.get(number)?.get_or_init(|| Track::new(&self.layout, &self.disk, number)))
    }

    /// A cell of a track, counted from the index hole or from hole 0 on.
    pub fn cell(&self, track: usize, of_turn: usize) -> Cell {
        self.track(track).and_then(|track| track.cells.get(of_turn)).copied().unwrap_or_default()
    }

    /// The first cell that is delivered from one hole to the next, counted from the hole on; nothing if the head finds none.
    pub fn delivered(&self, track: usize, stretch: usize) -> Option<usize> {
        self.track(track).and_then(|track| track.delivered.get(stretch)).copied().flatten()
    }

    pub(super) fn write(&mut self, track: usize, of_turn: usize, content: Cell) {
        if self.track(track).is_none() {
            return;
        }
        let room = self.layout.stretch_cells();
        let made = Arc::make_mut(&mut self.tracks).get_mut(track).and_then(OnceLock::get_mut);
        let Some(Track { cells, delivered }) = made else { return };
        if let Some(cell) = cells.get_mut(of_turn) {
            *cell = content;
            let stretch = of_turn / room;
            delivered[stretch] = delivered_from(&self.layout, &cells[stretch * room..][..room]);
        }
    }
}

impl Track {
    fn new(layout: &Layout, disk: &Disk, number: usize) -> Track {
        let cells = turn_of(layout, disk, number).unwrap_or_default();
        let delivered = cells.chunks(layout.stretch_cells()).map(|stretch| delivered_from(layout, stretch)).collect();
        Track { cells, delivered }
    }
}
