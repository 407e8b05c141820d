//! Whether a layout can be written and read back: each reason why it cannot is told at its place, with the figure.

use super::layout::{Area, Layout, Sectoring, coding};
use crate::notation::{Notation, counted};
use crate::record::{self, Data, Kind, Pointer};
use crate::source::{Code, Diagnostic, Diagnostics, Span};

/// Where the parts of a layout stand in its file.
pub(super) struct Places {
    /// The whole file, for what is missing.
    pub file: Span,
    /// The fields of the sector.
    pub fields: Vec<Span>,
    /// What says how many sectors there are.
    pub begins: Span,
    /// The areas.
    pub areas: Vec<Span>,
}

/// Tells everything for which a layout could not be written or read back. Numbers are written in `notation`.
pub(super) fn check(layout: &Layout, places: &Places, notation: Notation, problems: &mut Diagnostics) {
    let fields =
        record::Places { name: "sector", fields: &places.fields, file: places.file, code: Code::LayoutUnusable };
    record::lint::fields(&layout.record, fields, problems);
    record::lint::avoided(&layout.record, &coding(), fields, notation, problems);
    let mut lint = Lint { layout, places, notation, problems };
    lint.carries_a_program();
    lint.fits_its_turn();
    lint.tells_blank_from_written();
    lint.has_areas_of_its_own();
}

struct Lint<'a> {
    layout: &'a Layout,
    places: &'a Places,
    notation: Notation,
    problems: &'a mut Diagnostics,
}

impl Lint<'_> {
    fn refuse(&mut self, place: Span, headline: impl Into<String>, label: impl Into<String>, help: &str) {
        let problem = Diagnostic::error(Code::LayoutUnusable, headline).at(place, label.into());
        self.problems.push(problem.with_help(help));
    }

    fn field(&self, index: usize) -> Span {
        self.places.fields.get(index).copied().unwrap_or(self.places.file)
    }

    /// One field of data, in rising order from the sector's own address on.
    fn carries_a_program(&mut self) {
        let data: Vec<_> = self.layout.record.data().map(|(index, data)| (index, *data)).collect();
        match data[..] {
            [] => {
                let help = "add `{ data = 128, pad = 0o000 }`";
                self.refuse(self.places.file, "a sector carries no data", "no field is `data`", help);
            }
            [(index, Data { at: 1.., .. })] => {
                let help = "leave `at` out";
                self.refuse(self.field(index), "the data of a sector are lifted above its address", "by `at`", help);
            }
            [_] => {}
            [_, (second, _), ..] => {
                let help = "make them one field";
                self.refuse(self.field(second), "a sector has two fields of data", "the second", help);
            }
        }
    }

    /// What is written must pass in the time that even a fast drive leaves for it.
    fn fits_its_turn(&mut self) {
        let Layout { turn, .. } = self.layout;
        let (needed, room) = (self.layout.needed_bytes(), self.layout.room_bytes());
        if needed as f64 <= room {
            return;
        }
        let us = |bytes: f64| bytes * turn.byte_us;
        let fast = match turn.tolerance {
            0.0 => String::new(),
            tolerance => format!(" on a drive {tolerance} % too fast"),
        };
        let (what, share) = match self.layout.sectoring {
            Sectoring::Holes(count) => ("a sector is longer than its share of a turn", format!("1/{count} of a turn")),
            Sectoring::Marks { .. } => ("the sectors of a track are longer than a turn", "a turn".to_owned()),
        };
        let label = format!(
            "{needed} bytes take {:.0} microseconds; {share}{fast} has {:.0}, {room:.1} bytes",
            us(needed as f64),
            us(room)
        );
        self.refuse(self.places.begins, what, label, "carry less data in a sector, or have fewer of them");
    }

    /// Where a sector without a program is left blank, it must not look like one with a program.
    fn tells_blank_from_written(&mut self) {
        let Layout { record, fill, .. } = self.layout;
        let blank = vec![*fill; self.layout.record_bytes()];
        let looks_written = record.parse(&coding(), &blank, 0).is_ok_and(|parsed| parsed.is_sound());
        if record.counter().is_some() && looks_written {
            let headline = format!("a blank sector of {} looks like a written one", self.notation.byte(*fill));
            let help = "begin the sector with a `mark`, or leave another `fill`";
            self.refuse(self.places.file, headline, "even its check agrees", help);
        }
    }

    /// Areas lie on the disk, apart from each other, each under a name of its own.
    fn has_areas_of_its_own(&mut self) {
        let layout = self.layout;
        let mut owners: Vec<Option<usize>> = vec![None; layout.tracks * layout.sectors()];
        let carries_address = layout.record.address().is_some_and(|(_, pointer)| pointer != Pointer::Low);
        for (number, (area, &place)) in layout.areas.iter().zip(&self.places.areas).enumerate() {
            if layout.areas[..number].iter().any(|other| other.name == area.name) {
                let headline = format!("two areas are named `{}`", area.name);
                self.refuse(place, headline, "the second", "a command names an area by its name");
            }
            if !area.name.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') || area.name.is_empty() {
                let headline = format!("`{}` is no name of an area", area.name);
                self.refuse(place, headline, "letters, digits and `-`", "a command says `NAME=FILE`");
            }
            match (carries_address, area.load) {
                (true, Some(_)) => self.refuse(
                    place,
                    format!("the area `{}` says where it is loaded, and so do its sectors", area.name),
                    "they could contradict each other",
                    "leave `load` out",
                ),
                (false, None) => self.refuse(
                    place,
                    format!("nothing tells where the area `{}` is loaded", area.name),
                    "sectors carry no address",
                    "say `load = 0o...`, or give the sector an `address`",
                ),
                _ => {}
            }
            self.stands_apart(area, number, place, &mut owners);
        }
        self.links();
    }

    fn stands_apart(&mut self, area: &Area, number: usize, place: Span, owners: &mut [Option<usize>]) {
        let spots = self.layout.spots(area);
        if spots.len() < area.sectors {
            let headline = format!("the area `{}` passes the last track", area.name);
            let label = format!("{}, and the disk has {} from there on", counted(area.sectors, "sector"), spots.len());
            self.refuse(place, headline, label, "make it shorter, or begin it further out");
        }
        let index = |spot| self.layout.index(spot);
        let taken = spots.iter().filter_map(|&spot| Some((spot, index(spot)?)));
        let taken = taken.filter_map(|(spot, at)| Some((spot, (*owners.get(at)?)?))).next();
        if let Some((spot, owner)) = taken {
            let (first, second) = (&self.layout.areas[owner].name, &area.name);
            let [track, sector] = [spot.track, spot.sector].map(|number| self.notation.byte(number).to_string());
            let headline = format!("the areas `{first}` and `{second}` share sector {sector} of track {track}");
            self.refuse(place, headline, "the second", "move one of them");
        }
        for at in spots.iter().filter_map(|&spot| self.layout.index(spot)) {
            owners[at].get_or_insert(number);
        }
    }

    /// What says where the program goes on must be able to say "nowhere".
    fn links(&mut self) {
        for index in 0..self.layout.record.fields.len() {
            let Kind::Next { of, end } = self.layout.record.fields[index].kind else { continue };
            let is_place = match of {
                record::Coordinate::Track => usize::from(end) < self.layout.tracks,
                record::Coordinate::Sector => {
                    let first = usize::from(self.layout.first);
                    (first..first + self.layout.sectors()).contains(&usize::from(end))
                }
            };
            if is_place {
                let headline = format!("`{}` says that a program ends, and is a place too", self.notation.byte(end));
                self.refuse(self.field(index), headline, "which of the two?", "say `end` with a number of none");
            }
        }
    }
}
