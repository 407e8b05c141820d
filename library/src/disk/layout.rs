//! The declared layout of a disk.

use super::numbering::Numbering;
use super::turn::Turn;
use crate::notation::Address;
use crate::record::{Coding, Kind, Record, Spot};

/// How a disk is made up.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Its name.
    pub name: String,
    /// What it is for, in a sentence; may be empty.
    pub about: String,
    /// Tracks, 1 to 255; the outermost is track 0.
    pub tracks: usize,
    /// How it turns.
    pub turn: Turn,
    /// Where its tracks lie, for the picture.
    pub plan: Plan,
    /// What begins a sector.
    pub sectoring: Sectoring,
    /// What stands between the beginning of a sector and its record: no program sees it.
    pub sync: Vec<Fill>,
    /// What a controller delivers of a sector.
    pub record: Record,
    /// The number of the first sector of a track.
    pub first: u8,
    /// The numbers of the sectors of track 0 in the order in which they pass the head.
    pub passing: Numbering,
    /// By how many places the sectors of each track stand behind those of the track before it.
    pub skew: usize,
    /// What stands where nothing was written.
    pub fill: u8,
    /// Where programs lie.
    pub areas: Vec<Area>,
}

/// What begins a sector.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Sectoring {
    /// A hole in the disk: the sectors of a track share its turn evenly.
    Holes(usize),
    /// A mark on the track: sectors follow one another from the index hole on.
    Marks {
        /// Sectors of a track.
        count: usize,
        /// What stands between the index hole and the first sector.
        preamble: Vec<Fill>,
        /// What stands behind each sector.
        gap: Vec<Fill>,
    },
}

/// Where the tracks of a disk lie.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// Millimetres from the middle of the disk to the middle of track 0.
    pub radius_mm: f64,
    /// Millimetres from track to track.
    pub pitch_mm: f64,
}

/// A byte over and over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fill {
    /// The byte.
    pub byte: u8,
    /// How often.
    pub count: usize,
}

/// A stretch of sectors that holds a program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Area {
    /// Its name.
    pub name: String,
    /// Its first sector.
    pub first: Spot,
    /// How many sectors it has.
    pub sectors: usize,
    /// In which order the sectors of a track are read.
    pub order: Numbering,
    /// Where its first byte belongs, if sectors carry no address.
    pub load: Option<Address>,
}

/// How the bytes of a sector are written: as they are.
pub(super) fn coding() -> Coding {
    Coding::default()
}

impl Layout {
    /// Sectors of a track.
    pub fn sectors(&self) -> usize {
        match self.sectoring {
            Sectoring::Holes(count) | Sectoring::Marks { count, .. } => count,
        }
    }

    /// Bytes of a sector's record, the most that it can have.
    pub fn record_bytes(&self) -> usize {
        self.record.most_characters(&coding())
    }

    /// Bytes of a program in a sector, the most that it can carry.
    pub fn data_bytes(&self) -> usize {
        self.record.most()
    }

    /// Bytes from the beginning of a sector to the end of what is written of it, without what follows up to the next.
    pub fn written_bytes(&self) -> usize {
        bytes(&self.sync) + self.record_bytes()
    }

    /// Bytes of a track that are written at places of their own, for sectors by marks; of a sector, for those by holes.
    pub fn needed_bytes(&self) -> usize {
        match &self.sectoring {
            Sectoring::Holes(_) => self.written_bytes(),
            Sectoring::Marks { count, preamble, gap } => bytes(preamble) + count * (self.written_bytes() + bytes(gap)),
        }
    }

    /// Bytes that pass between the beginnings of two sectors by holes, or in a turn, on the fastest drive.
    pub fn room_bytes(&self) -> f64 {
        match self.sectoring {
            Sectoring::Holes(count) => self.turn.fewest_bytes() / count as f64,
            Sectoring::Marks { .. } => self.turn.fewest_bytes(),
        }
    }

    /// Where on its track a sector begins: the share of a turn behind the index hole, or behind hole 0, `0.0..1.0`.
    pub fn begins(&self, place: usize) -> f64 {
        match &self.sectoring {
            Sectoring::Holes(count) => place as f64 / *count as f64,
            Sectoring::Marks { preamble, gap, .. } => {
                (bytes(preamble) + place * (self.written_bytes() + bytes(gap))) as f64 / self.turn.bytes()
            }
        }
    }

    /// The share of a turn that what is written of a sector takes.
    pub fn takes(&self) -> f64 {
        self.written_bytes() as f64 / self.turn.bytes()
    }

    /// The number of the sector at a place of a track, places being counted in the order in which they pass.
    pub fn number_at(&self, track: usize, place: usize) -> u8 {
        let count = self.sectors();
        self.passing.numbers()[(place + count - track * self.skew % count) % count]
    }

    /// The place of a sector on its track, in the order in which they pass.
    pub fn place_of(&self, spot: Spot) -> Option<usize> {
        let shift = usize::from(spot.track) * self.skew;
        Some((self.passing.place(spot.sector)? + shift) % self.sectors())
    }

    /// The number of a sector among all of the disk, by track and number; nothing if the disk has no such place.
    pub fn index(&self, spot: Spot) -> Option<usize> {
        let (track, sector) = (usize::from(spot.track), usize::from(spot.sector.checked_sub(self.first)?));
        (track < self.tracks && sector < self.sectors()).then(|| track * self.sectors() + sector)
    }

    /// The place of the sector that has a number among all of the disk.
    pub fn spot(&self, index: usize) -> Spot {
        let (track, sector) = (index / self.sectors(), index % self.sectors());
        Spot { track: track as u8, sector: self.first + sector as u8 }
    }

    /// The sectors of an area in the order in which they are read.
    pub fn spots(&self, area: &Area) -> Vec<Spot> {
        let begin = area.order.place(area.first.sector).unwrap_or(0);
        let spot = |at: usize| {
            let (turns, place) = ((begin + at) / self.sectors(), (begin + at) % self.sectors());
            let track = usize::from(area.first.track) + turns;
            Some(Spot { track: u8::try_from(track).ok()?, sector: area.order.numbers()[place] })
        };
        (0..area.sectors).map_while(spot).filter(|spot| usize::from(spot.track) < self.tracks).collect()
    }

    /// The area of a name.
    pub fn area(&self, name: &str) -> Option<&Area> {
        self.areas.iter().find(|area| area.name == name)
    }

    /// Whether a sector says where the program goes on, in one number at least.
    pub fn links(&self) -> bool {
        self.record.fields.iter().any(|field| matches!(field.kind, Kind::Next { .. }))
    }

    /// Whether a change of any byte of a sector would be noticed.
    pub fn is_checked(&self) -> bool {
        self.record.unproved().next().is_none() && !self.record.checks.is_empty()
    }
}

/// Bytes of several fillings.
pub(super) fn bytes(fills: &[Fill]) -> usize {
    fills.iter().map(|fill| fill.count).sum()
}
