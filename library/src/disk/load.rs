//! From a layout file to a [`Layout`]. Every mistake of the file is told, each at its place.

use super::layout::{Area, Fill, Layout, Plan, Sectoring};
use super::lint::{self, Places};
use super::numbering::Numbering;
use super::turn::Turn;
use crate::notation::{Address, Notation};
use crate::record::{Medium, Record, Spot};
use crate::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap, Table, TomlText, Value};

/// Tracks of a disk: their numbers are bytes, and 377 octal is kept for "none".
const TRACKS: std::ops::RangeInclusive<i64> = 1..=255;

/// Sectors of a track: as many as a byte can number.
const SECTORS: std::ops::RangeInclusive<i64> = 1..=255;

/// The most bytes of a filling: more than a track of any disk.
const MOST_FILL: i64 = 65_536;

/// Turns in a minute that a disk can make.
const RPM: std::ops::RangeInclusive<f64> = 10.0..=10_000.0;

/// Microseconds that a byte can take.
const BYTE_US: std::ops::RangeInclusive<f64> = 0.1..=10_000.0;

/// By how many per cent the speed of a drive can be said to be off.
const TOLERANCE: std::ops::RangeInclusive<f64> = 0.0..=20.0;

/// Millimetres on a disk.
const MM: std::ops::RangeInclusive<f64> = 0.01..=500.0;

/// Reads a layout file. Numbers in its problems are written in `notation`.
///
/// Nothing is returned if a mistake is among the problems that are pushed: an unknown key, a value out of range, or a
/// layout that could not be written or read back.
pub fn load(sources: &SourceMap, source: SourceId, notation: Notation, problems: &mut Diagnostics) -> Option<Layout> {
    let mut own = Diagnostics::default();
    let text = TomlText::parse(sources, source, &mut own);
    let layout = if own.has_errors() { None } else { Reader { problems: &mut own }.layout(text.table()) };
    let layout = layout.filter(|_| !own.has_errors());
    if let Some((layout, places)) = &layout {
        lint::check(layout, places, notation, &mut own);
    }
    let layout = layout.filter(|_| !own.has_errors());
    problems.append(own);
    layout.map(|(layout, _)| layout)
}

const KEYS: [&str; 19] = [
    "name",
    "about",
    "tracks",
    "rpm",
    "tolerance",
    "byte_us",
    "radius_mm",
    "pitch_mm",
    "holes",
    "marks",
    "first",
    "interleave",
    "skew",
    "fill",
    "sync",
    "sector",
    "preamble",
    "gap",
    "area",
];

/// What is said of the table of the whole file.
const WHAT: &str = "a layout";

struct Reader<'a> {
    problems: &'a mut Diagnostics,
}

impl Reader<'_> {
    fn layout(&mut self, table: Table) -> Option<(Layout, Places)> {
        table.allow(&KEYS, WHAT, self.problems);
        let name = table.need("name", WHAT, self.problems).and_then(|name| name.string(self.problems));
        let about = table.get("about").and_then(|about| about.string(self.problems)).unwrap_or_default();
        let tracks = table.need("tracks", WHAT, self.problems).and_then(|it| it.integer(TRACKS, self.problems));
        let turn = self.turn(table);
        let plan = self.plan(table, tracks);
        let skew = table.get("skew").map_or(Some(0), |skew| skew.integer(0..=254, self.problems));
        let fill = table.get("fill").map_or(Some(0o377), |fill| fill.byte(self.problems));
        let sync = self.fills(table, "sync");
        let record = table.need("sector", WHAT, self.problems);
        let record = record.and_then(|value| Record::load(value, Medium::Disk, self.problems));
        let sectoring = self.sectoring(table);
        let first = table.get("first").map_or(Some(0), |first| first.integer(0..=255, self.problems));
        let (sectoring, first) = (sectoring?, first?);
        let count = sectoring_count(&sectoring);
        if first as usize + count > 256 {
            table.get("first")?.wrong(&format!("`0..={}`: numbers of sectors are bytes", 256 - count), self.problems);
            return None;
        }
        let first = first as u8;
        let passing = self.numbering(table.get("interleave"), first, count);
        let areas = self.areas(table, first, count);
        let place = |key: &str| table.get(key).map(|value| value.span());
        let (record, fields) = record?;
        let places = Places {
            file: table.span(),
            fields,
            begins: place("holes").or(place("marks")).unwrap_or(table.span()),
            areas: areas.iter().map(|(_, span)| *span).collect(),
        };
        let areas = areas.into_iter().map(|(area, _)| area).collect();
        let layout = Layout {
            name: name?.to_owned(),
            about: about.to_owned(),
            tracks: tracks? as usize,
            turn: turn?,
            plan: plan?,
            sectoring,
            sync,
            record,
            first,
            passing: passing?,
            skew: skew? as usize,
            fill: fill?,
            areas,
        };
        Some((layout, places))
    }

    fn turn(&mut self, table: Table) -> Option<Turn> {
        let rpm = table.need("rpm", WHAT, self.problems).and_then(|it| it.number(RPM, self.problems));
        let byte_us = table.need("byte_us", WHAT, self.problems).and_then(|it| it.number(BYTE_US, self.problems));
        let tolerance = table.need("tolerance", WHAT, self.problems);
        let tolerance = tolerance.and_then(|it| it.number(TOLERANCE, self.problems));
        Some(Turn { rpm: rpm?, tolerance: tolerance?, byte_us: byte_us? })
    }

    /// The innermost track must have a radius too.
    fn plan(&mut self, table: Table, tracks: Option<i64>) -> Option<Plan> {
        let radius = table.need("radius_mm", WHAT, self.problems);
        let radius_mm = radius.and_then(|it| it.number(MM, self.problems));
        let pitch = table.need("pitch_mm", WHAT, self.problems)?;
        let pitch_mm = pitch.number(MM, self.problems)?;
        let (radius_mm, tracks) = (radius_mm?, tracks?);
        if (tracks - 1) as f64 * pitch_mm >= radius_mm {
            pitch.wrong(
                &format!("less than {:.3}: the tracks lie within the disk", radius_mm / tracks as f64),
                self.problems,
            );
            return None;
        }
        Some(Plan { radius_mm, pitch_mm })
    }

    fn sectoring(&mut self, table: Table) -> Option<Sectoring> {
        let (preamble, gap) = (self.fills(table, "preamble"), self.fills(table, "gap"));
        let count = |value: Value, problems: &mut Diagnostics| Some(value.integer(SECTORS, problems)? as usize);
        match (table.get("holes"), table.get("marks")) {
            (Some(_), Some(marks)) => {
                marks.wrong("`holes` or `marks`, not both", self.problems);
                None
            }
            (None, Some(marks)) => Some(Sectoring::Marks { count: count(marks, self.problems)?, preamble, gap }),
            (Some(holes), None) => {
                for (key, value) in ["preamble", "gap"].iter().filter_map(|key| Some((key, table.get(key)?))) {
                    let problem = Diagnostic::error(Code::LayoutUnusable, format!("no `{key}` goes with `holes`"));
                    let problem =
                        problem.at(value.span(), "each hole begins a sector, wherever the one before it ends");
                    self.problems
                        .push(problem.with_help("leave it out, or say what stands before a sector with `sync`"));
                }
                Some(Sectoring::Holes(count(holes, self.problems)?))
            }
            (None, None) => {
                table.need("holes", "a layout without `marks`", self.problems);
                None
            }
        }
    }

    fn fills(&mut self, table: Table, key: &str) -> Vec<Fill> {
        let values = table.get(key).and_then(|value| value.array(self.problems)).unwrap_or_default();
        values.into_iter().filter_map(|value| self.fill(value, key)).collect()
    }

    fn fill(&mut self, value: Value, key: &str) -> Option<Fill> {
        let table = value.table(self.problems)?;
        let what = format!("a filling of `{key}`");
        table.allow(&["byte", "count"], &what, self.problems);
        let byte = table.need("byte", &what, self.problems).and_then(|byte| byte.byte(self.problems));
        let count = table.get("count").map_or(Some(1), |it| it.integer(0..=MOST_FILL, self.problems));
        Some(Fill { byte: byte?, count: count? as usize })
    }

    /// A step, or a list of the numbers; without either, the numbers as they rise.
    fn numbering(&mut self, value: Option<Value>, first: u8, count: usize) -> Option<Numbering> {
        let Some(value) = value else { return Some(Numbering::every(1, first, count)) };
        if !value.is_array() {
            let step = value.integer(1..=(count as i64 - 1).max(1), self.problems)?;
            return Some(Numbering::every(step as usize, first, count));
        }
        let numbers = value.array(self.problems)?.into_iter().map(|number| number.byte(self.problems));
        let listed = Numbering::listed(numbers.collect::<Option<Vec<_>>>()?, first);
        if listed.is_none() {
            let last = usize::from(first) + count - 1;
            value.wrong(&format!("each number from `{first}` to `{last}` once"), self.problems);
        }
        listed
    }

    fn areas(&mut self, table: Table, first: u8, count: usize) -> Vec<(Area, crate::source::Span)> {
        let values = table.get("area").and_then(|value| value.array(self.problems)).unwrap_or_default();
        let mut areas = Vec::new();
        for value in values {
            let Some(entry) = value.table(self.problems) else { continue };
            if let Some(area) = self.area(entry, first, count) {
                areas.push((area, entry.span()));
            }
        }
        areas
    }

    fn area(&mut self, table: Table, first: u8, count: usize) -> Option<Area> {
        let what = "`[[area]]`";
        table.allow(&["name", "track", "sector", "sectors", "order", "load"], what, self.problems);
        let last = i64::from(first) + count as i64 - 1;
        let name = table.need("name", what, self.problems).and_then(|name| name.string(self.problems));
        let track = table.need("track", what, self.problems).and_then(|it| it.integer(0..=254, self.problems));
        let sector = table.need("sector", what, self.problems);
        let sector = sector.and_then(|it| it.integer(first.into()..=last, self.problems));
        let sectors = table.need("sectors", what, self.problems);
        let sectors = sectors.and_then(|it| it.integer(1..=65_025, self.problems));
        let order = self.numbering(table.get("order"), first, count);
        let load = table.get("load").map(|load| load.integer(0..=0xFFFF, self.problems));
        let load = match load {
            Some(load) => Some(Address(load? as u16)),
            None => None,
        };
        let first = Spot { track: track? as u8, sector: sector? as u8 };
        Some(Area { name: name?.to_owned(), first, sectors: sectors? as usize, order: order?, load })
    }
}

fn sectoring_count(sectoring: &Sectoring) -> usize {
    match sectoring {
        Sectoring::Holes(count) | Sectoring::Marks { count, .. } => *count,
    }
}
