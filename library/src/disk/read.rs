//! A disk read back: a verdict for every sector, and the programs of its areas.

use std::ops::Range;

use rayon::prelude::*;

use super::file::{Disk, Form};
use super::layout::{Area, Layout, coding};
use crate::notation::Address;
use crate::record::{Coordinate, Kind, Miss, Parsed, Spot};

/// Damaged sectors for which a slip is searched: it takes a trial for every bit of each.
pub const MOST_SEARCHED: usize = 200;

/// A wrong bit that would explain a damaged sector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Slip {
    /// The byte of the sector, from 0.
    pub byte: usize,
    /// The bit, 0 to 7.
    pub bit: u8,
    /// What would stand there without it.
    pub right: u8,
}

/// How many single bits would explain a damaged sector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slips {
    /// This one and no other.
    One(Slip),
    /// More than one.
    Several,
    /// None: more than a bit is wrong.
    None,
    /// It was not searched: more than [`MOST_SEARCHED`] sectors are damaged.
    Unsearched,
}

/// What is wrong with a damaged sector.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// A check differs: the field, what stands there, what belongs there.
    Check {
        /// The field.
        field: usize,
        /// Its value.
        stands: u16,
        /// The value that belongs there.
        belongs: u16,
    },
    /// A mark or another byte that is always the same differs, or a length that no sector has.
    MakeUp,
    /// Bytes stand where the sector has ended.
    Behind,
}

/// What is found where a sector belongs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Every check agrees, and so do the numbers of its place.
    Good,
    /// It can be read, and nothing proves it: no check is over all that it says.
    Unproved,
    /// Nothing was written there.
    Empty,
    /// It is not as it was written.
    Damaged(Damage, Slips),
    /// A sound sector of another place.
    Elsewhere(Spot),
}

impl Verdict {
    /// Whether the sector's bytes may be taken.
    pub fn is_readable(&self) -> bool {
        matches!(self, Verdict::Good | Verdict::Unproved)
    }
}

/// What is found where each sector belongs.
#[derive(Clone, Debug)]
pub struct Reading {
    /// By track and number.
    pub verdicts: Vec<Verdict>,
    /// Sectors that stand twice: the place that says it is another, and the place that is that one.
    pub twice: Vec<(Spot, Spot)>,
}

impl Reading {
    /// How many sectors have a verdict of a kind.
    pub fn count(&self, of: impl Fn(&Verdict) -> bool) -> usize {
        self.verdicts.iter().filter(|verdict| of(verdict)).count()
    }

    /// Whether no sector speaks against the disk: each is good, unproved or empty.
    pub fn is_sound(&self) -> bool {
        self.verdicts.iter().all(|verdict| verdict.is_readable() || *verdict == Verdict::Empty)
    }
}

/// A program taken from an area.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// What its sectors carry, in the order in which they are read.
    pub pieces: Vec<(Address, Vec<u8>)>,
    /// Where it starts, if its sectors say so.
    pub entry: Option<Address>,
    /// How many sectors it has.
    pub sectors: usize,
    /// What is in the way of taking it whole.
    pub gaps: Vec<Gap>,
    /// Whether the disk says where it ends; if not, it is taken to fill its area.
    pub says_its_end: bool,
}

/// Why a part of a program could not be taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gap {
    /// The sector has no readable bytes.
    Unreadable(Spot),
    /// The sector says that the program goes on where the area does not.
    Astray {
        /// The sector that says it.
        from: Spot,
        /// Where it says that the program goes on.
        to: Spot,
    },
    /// A sector is for addresses that another one fills with other bytes.
    Contradiction(Spot),
    /// A sector is for addresses past the top of memory.
    PastTop(Spot),
}

/// A verdict for every sector of a disk.
pub fn read(layout: &Layout, disk: &Disk) -> Reading {
    let judge = Judge { layout };
    let mut verdicts: Vec<_> = match disk.form {
        Form::Data => vec![Verdict::Unproved; disk.sectors()],
        Form::Whole => (0..disk.sectors())
            .into_par_iter()
            .map(|index| judge.verdict(disk.sector(index), layout.spot(index)))
            .collect(),
    };
    let damaged: Vec<_> = (0..verdicts.len())
        .filter(|&index| matches!(verdicts[index], Verdict::Damaged(..)))
        .take(MOST_SEARCHED)
        .collect();
    let slips: Vec<_> = damaged.par_iter().map(|&index| judge.slips(disk.sector(index), layout.spot(index))).collect();
    for (index, found) in damaged.into_iter().zip(slips) {
        if let Verdict::Damaged(_, slips) = &mut verdicts[index] {
            *slips = found;
        }
    }
    let twice = twice(layout, &verdicts);
    Reading { verdicts, twice }
}

fn twice(layout: &Layout, verdicts: &[Verdict]) -> Vec<(Spot, Spot)> {
    let claims = verdicts.iter().enumerate().filter_map(|(index, verdict)| match verdict {
        Verdict::Elsewhere(said) => Some((layout.spot(index), *said)),
        _ => None,
    });
    let own = |spot| layout.index(spot).is_some_and(|index| verdicts[index].is_readable());
    claims.filter(|&(_, said)| own(said)).collect()
}

/// The program of an area, as far as its sectors can be read.
pub fn take(layout: &Layout, disk: &Disk, reading: &Reading, area: &Area) -> Taken {
    let mut taker = Taker { layout, disk, area, taken: Taken::default(), memory: vec![None; 0x1_0000] };
    let spots = layout.spots(area);
    let verdict = |spot: &Spot| layout.index(*spot).map(|index| &reading.verdicts[index]);
    // Where sectors tell how much they carry, nothing is written behind the last one. An empty one before it is a loss.
    let written = match layout.record.counter() {
        Some(_) => spots.iter().rposition(|spot| verdict(spot) != Some(&Verdict::Empty)).map_or(1, |last| last + 1),
        None => spots.len(),
    };
    for (at, &spot) in spots.iter().enumerate().take(if layout.links() { spots.len() } else { written }) {
        let (Some(index), Some(verdict)) = (layout.index(spot), verdict(&spot)) else { break };
        taker.taken.sectors += 1;
        if !taker.sector(at, spot, index, verdict, spots.get(at + 1).copied()) {
            break;
        }
    }
    taker.taken
}

struct Taker<'a> {
    layout: &'a Layout,
    disk: &'a Disk,
    area: &'a Area,
    taken: Taken,
    /// What was taken so far, by address.
    memory: Vec<Option<u8>>,
}

impl Taker<'_> {
    /// Takes the sector that is read at a time; says whether the program goes on.
    fn sector(&mut self, at: usize, spot: Spot, index: usize, verdict: &Verdict, there: Option<Spot>) -> bool {
        let (layout, cell) = (self.layout, self.disk.sector(index));
        let in_turn = self.area.load.unwrap_or_default().index() + at * layout.data_bytes();
        if self.disk.form == Form::Data {
            self.piece(spot, in_turn, cell.to_vec());
            return true;
        }
        let parsed = if verdict.is_readable() { layout.record.parse(&coding(), cell, 0).ok() } else { None };
        let Some(parsed) = parsed else {
            // Where the program goes on is lost with the sector: an empty one behind it may be none of its own.
            if *verdict != Verdict::Empty || self.taken.gaps.is_empty() {
                self.taken.gaps.push(Gap::Unreadable(spot));
            }
            return true;
        };
        let base = layout.record.said_address(&parsed).map_or(in_turn, Address::index);
        let said = layout.record.said(&parsed, Address(base as u16));
        self.taken.entry = self.taken.entry.or(said.entry);
        for (_, bytes) in said.pieces {
            self.piece(spot, base, bytes);
        }
        if !layout.links() {
            return true;
        }
        match next(layout, &parsed, spot, there) {
            Next::There => true,
            Next::End => {
                self.taken.says_its_end = true;
                false
            }
            Next::Astray(to) => {
                self.taken.gaps.push(Gap::Astray { from: spot, to });
                false
            }
        }
    }

    /// Takes bytes of a sector to where they belong, unless they cannot.
    fn piece(&mut self, spot: Spot, base: usize, bytes: Vec<u8>) {
        let Some(room) = self.memory.get_mut(base..base + bytes.len()) else {
            self.taken.gaps.push(Gap::PastTop(spot));
            return;
        };
        if room.iter().zip(&bytes).any(|(there, byte)| there.is_some_and(|there| there != *byte)) {
            self.taken.gaps.push(Gap::Contradiction(spot));
            return;
        }
        room.iter_mut().zip(&bytes).for_each(|(there, byte)| *there = Some(*byte));
        self.taken.pieces.push((Address(base as u16), bytes));
    }
}

/// Where a program goes on.
enum Next {
    /// Where its area does.
    There,
    /// Nowhere.
    End,
    /// Somewhere else.
    Astray(Spot),
}

fn next(layout: &Layout, parsed: &Parsed, here: Spot, there: Option<Spot>) -> Next {
    let said = |of| layout.record.said_next(parsed, of);
    let ends = layout.record.fields.iter().filter_map(|field| match field.kind {
        Kind::Next { of, end } => Some((of, end)),
        _ => None,
    });
    if ends.into_iter().all(|(of, end)| said(of) == Some(end)) {
        return Next::End;
    }
    // What only one number tells is taken from the other as the area has it.
    let likely = there.unwrap_or(here);
    let to = Spot {
        track: said(Coordinate::Track).unwrap_or(likely.track),
        sector: said(Coordinate::Sector).unwrap_or(likely.sector),
    };
    if Some(to) == there { Next::There } else { Next::Astray(to) }
}

struct Judge<'a> {
    layout: &'a Layout,
}

impl Judge<'_> {
    /// What stands in a cell that belongs to a place.
    fn verdict(&self, cell: &[u8], place: Spot) -> Verdict {
        let layout = self.layout;
        let parsed = match layout.record.parse(&coding(), cell, 0) {
            Ok(parsed) => parsed,
            Err(Miss::Other | Miss::Torn) if cell.iter().all(|&byte| byte == layout.fill) => return Verdict::Empty,
            Err(Miss::Other | Miss::Torn) => return Verdict::Damaged(Damage::MakeUp, Slips::Unsearched),
        };
        let damaged = |damage| Verdict::Damaged(damage, Slips::Unsearched);
        if let Some((field, stands, belongs)) = parsed.failed {
            if cell.iter().all(|&byte| byte == layout.fill) {
                return Verdict::Empty;
            }
            return damaged(Damage::Check { field, stands, belongs });
        }
        if cell[parsed.end..].iter().any(|&byte| byte != layout.fill) {
            return damaged(Damage::Behind);
        }
        let said = |of| layout.record.said_here(&parsed, of);
        let claims = Spot {
            track: said(Coordinate::Track).unwrap_or(place.track),
            sector: said(Coordinate::Sector).unwrap_or(place.sector),
        };
        match (claims == place, layout.is_checked()) {
            (false, _) => Verdict::Elsewhere(claims),
            (true, true) => Verdict::Good,
            (true, false) => Verdict::Unproved,
        }
    }

    /// The single bits that would make a good sector of a damaged one, or an empty one.
    fn slips(&self, cell: &[u8], place: Spot) -> Slips {
        let mut trial = cell.to_vec();
        let mut found = None;
        for byte in 0..trial.len() {
            for bit in 0..8 {
                trial[byte] ^= 1 << bit;
                let verdict = self.verdict(&trial, place);
                let good = verdict.is_readable() || verdict == Verdict::Empty;
                let right = trial[byte];
                trial[byte] ^= 1 << bit;
                if good && found.replace(Slip { byte, bit, right }).is_some() {
                    return Slips::Several;
                }
            }
        }
        found.map_or(Slips::None, Slips::One)
    }
}

/// The field of a sector in which a byte stands, if the sector carries as much as it can.
pub fn field_at(layout: &Layout, byte: usize) -> Option<&str> {
    let ranges: Vec<Range<usize>> = layout.record.ranges(layout.data_bytes());
    let field = ranges.iter().position(|range| range.contains(&byte))?;
    Some(&layout.record.fields[field].name)
}
