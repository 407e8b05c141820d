//! Programs onto a disk.

use super::file::{Disk, Form};
use super::layout::{Area, Layout, coding};
use crate::image::Image;
use crate::notation::{Address, Notation, counted};
use crate::record::{Pointer, Record, Spot, Unfit, Values};
use crate::source::{Code, Diagnostic, Diagnostics};

/// A program and where it goes.
#[derive(Clone, Copy, Debug)]
pub struct Program<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its bytes, with the entry.
    pub image: &'a Image,
    /// The area that is to hold it.
    pub area: &'a Area,
}

/// What was written of a program.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Its sectors in the order in which they are read, each with its first address and how many bytes it carries.
    pub sectors: Vec<(Spot, Address, usize)>,
    /// Bytes of the program in them, without what fills them up.
    pub bytes: usize,
    /// Whether its entry stands on the disk.
    pub carries_entry: bool,
}

/// A disk on which nothing but the make-up of its sectors is written: full ones where every sector is always full, none
/// where a sector tells how many bytes it carries.
pub fn formatted(layout: &Layout, form: Form) -> Disk {
    let mut disk = Disk::blank(layout, form);
    let record = &layout.record;
    if record.counter().is_some() {
        return disk;
    }
    for index in 0..disk.sectors() {
        let values = Values {
            base: Address(0),
            count: 0,
            number: 0,
            label: "",
            entry: Some(Address(0)),
            here: layout.spot(index),
            next: None,
            byte: &|_| None,
        };
        // A sector without a program can say everything: nothing is avoided on a disk.
        if let Ok(bytes) = cell(layout, form, &values) {
            disk.sector_mut(index)[..bytes.len()].copy_from_slice(&bytes);
        }
    }
    disk
}

/// Puts a program into its area; what else the disk has stays. Addresses in problems are written in `notation`.
///
/// # Errors
/// Everything for which the area cannot hold the program.
pub fn put(layout: &Layout, disk: &mut Disk, program: &Program, notation: Notation) -> Result<Written, Diagnostics> {
    let writer = Writer { layout, program, notation };
    let pieces = writer.pieces()?;
    let spots = layout.spots(program.area);
    if pieces.len() > spots.len() {
        return Err(writer.too_long(pieces.len(), spots.len()).into_iter().collect());
    }
    let mut problems = Diagnostics::default();
    // What an earlier program has left in the area is none of this one's.
    let blank = formatted(layout, disk.form);
    for index in spots.iter().skip(pieces.len()).filter_map(|&spot| layout.index(spot)) {
        disk.sector_mut(index).copy_from_slice(blank.sector(index));
    }
    let byte = |address| program.image.byte(address);
    for (at, &(base, count)) in pieces.iter().enumerate() {
        let next = (at + 1 < pieces.len()).then(|| spots[at + 1]);
        let entry = program.image.entry;
        let values = Values { base, count, number: 0, label: "", entry, here: spots[at], next, byte: &byte };
        match cell(layout, disk.form, &values) {
            Ok(bytes) => {
                let Some(index) = layout.index(spots[at]) else { continue };
                let sector = disk.sector_mut(index);
                sector.fill(layout.fill);
                sector[..bytes.len()].copy_from_slice(&bytes);
            }
            Err(unfit) => {
                problems.push(writer.unfit(unfit));
                break;
            }
        }
    }
    if problems.has_errors() {
        return Err(problems);
    }
    let sectors = spots.into_iter().zip(&pieces).map(|(spot, &(base, count))| (spot, base, count)).collect();
    Ok(Written { sectors, bytes: program.image.len(), carries_entry: layout.record.entry().is_some() })
}

/// What a file of a form has of a sector.
fn cell(layout: &Layout, form: Form, values: &Values) -> Result<Vec<u8>, Unfit> {
    let record = &layout.record;
    let bytes = record.write(&coding(), values)?;
    Ok(match form {
        Form::Whole => bytes,
        Form::Data => {
            let ranges = record.ranges(values.count);
            record.data().flat_map(|(field, _)| bytes[ranges[field].clone()].to_vec()).collect()
        }
    })
}

struct Writer<'a> {
    layout: &'a Layout,
    program: &'a Program<'a>,
    notation: Notation,
}

impl Writer<'_> {
    fn record(&self) -> &Record {
        &self.layout.record
    }

    fn refused(&self, headline: impl Into<String>, help: impl Into<String>) -> Diagnostics {
        Diagnostics::from_iter([Diagnostic::error(Code::DiskUnfit, headline).with_help(help)])
    }

    /// The program cut into what each sector carries: first address and number of bytes.
    fn pieces(&self) -> Result<Vec<(Address, usize)>, Diagnostics> {
        let image = self.program.image;
        if image.is_empty() {
            return Err(self.refused(format!("`{}` has no bytes", self.program.name), "give a program with code"));
        }
        match self.record().address() {
            Some((_, Pointer::Page)) => self.addressed(true),
            Some(_) => self.addressed(false),
            None => self.in_turn(),
        }
    }

    /// Every sector says where its bytes belong.
    fn addressed(&self, pages: bool) -> Result<Vec<(Address, usize)>, Diagnostics> {
        let (most, counts) = (self.layout.data_bytes(), self.record().counter().is_some());
        let mut pieces: Vec<(Address, usize)> = Vec::new();
        for extent in self.program.image.extents() {
            let (mut at, end) = (extent.base.index(), extent.base.index() + extent.bytes.len());
            // A full sector reaches past a run: what it holds of the next one is not said twice.
            if let (false, Some(&(base, count))) = (counts, pieces.last()) {
                at = at.max(base.index() + count);
            }
            while at < end {
                let count = if counts { most.min(end - at) } else { most.min(0x1_0000 - at) };
                if pages && at % 0x100 != 0 {
                    return Err(self.refused(
                        format!(
                            "`{}` needs a sector from {}, which begins no page",
                            self.program.name,
                            self.address(at)
                        ),
                        "let the sector carry the whole address, or let the program begin at a page",
                    ));
                }
                pieces.push((Address(at as u16), count));
                at += count;
            }
        }
        match counts {
            true => Ok(pieces),
            false => self.full(pieces),
        }
    }

    /// Sectors that are always full write all their bytes, those that the program does not have too.
    fn full(&self, pieces: Vec<(Address, usize)>) -> Result<Vec<(Address, usize)>, Diagnostics> {
        match pieces.last() {
            Some(&(base, count)) if count < self.layout.data_bytes() => Err(self.refused(
                format!(
                    "the last sector of `{}`, from {}, would pass the top of memory",
                    self.program.name,
                    self.address(base.index())
                ),
                "give the sector a `length`, or let the program begin lower",
            )),
            _ => Ok(pieces),
        }
    }

    /// Sectors follow one another in memory, from where the area is loaded.
    fn in_turn(&self) -> Result<Vec<(Address, usize)>, Diagnostics> {
        let Program { name, image, area } = *self.program;
        let load = area.load.unwrap_or_default();
        let low = image.extents().next().map_or(load, |extent| extent.base);
        let high = image.extents().last().map_or(load, |extent| extent.last());
        if low < load {
            let headline = format!(
                "`{name}` begins at {}, and the area `{}` is loaded at {}",
                self.address(low.index()),
                area.name,
                self.address(load.index())
            );
            return Err(self.refused(
                headline,
                format!("let the program begin at {} or above, or change `load`", self.address(load.index())),
            ));
        }
        let most = self.layout.data_bytes();
        let length = high.index() - load.index() + 1;
        let counts = self.record().counter().is_some();
        let piece = |at: usize| {
            let base = load.index() + at * most;
            (Address(base as u16), if counts { most.min(length - at * most) } else { most })
        };
        let pieces: Vec<_> = (0..length.div_ceil(most)).map(piece).collect();
        match pieces.last() {
            Some(&(base, count)) if base.index() + count > 0x1_0000 => Err(self.refused(
                format!(
                    "the last sector of `{name}`, from {}, would pass the top of memory",
                    self.address(base.index())
                ),
                "give the sector a `length`, or load the area lower",
            )),
            _ => Ok(pieces),
        }
    }

    fn too_long(&self, needed: usize, sectors: usize) -> Vec<Diagnostic> {
        let Program { name, image, area } = *self.program;
        let room = sectors * self.layout.data_bytes();
        let headline =
            format!("`{name}` needs {}, and the area `{}` has {sectors}", counted(needed, "sector"), area.name);
        let note = format!("{} of the program, room for {room}", counted(image.len(), "byte"));
        let problem = Diagnostic::error(Code::DiskUnfit, headline).with_note(note);
        vec![problem.with_help("make the area longer, or the program shorter")]
    }

    fn unfit(&self, unfit: Unfit) -> Diagnostic {
        let name = self.program.name;
        match unfit {
            Unfit::NoEntry => Diagnostic::error(Code::DiskUnfit, format!("nothing tells where `{name}` starts"))
                .with_note("a sector of this layout carries the entry")
                .with_help("end its source with `END` and the label"),
            Unfit::EntryElsewhere(entry) => {
                let entry = self.address(entry.index());
                Diagnostic::error(Code::DiskUnfit, format!("the entry {entry} of `{name}` lies in another page"))
                    .with_note("a sector of this layout carries the low byte of the entry alone")
                    .with_help("carry both bytes, or begin where the program begins")
            }
            Unfit::Avoided { character, .. } => {
                let byte = self.notation.byte(character);
                Diagnostic::error(Code::DiskUnfit, format!("`{name}` needs the byte {byte}, which a sector avoids"))
            }
        }
    }

    fn address(&self, at: usize) -> String {
        self.notation.address(Address(at as u16)).to_string()
    }
}
