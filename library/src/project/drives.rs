//! The disk drives of a machine file, and how their controllers are wired.

use super::disk_drive::{DiskDrive, DriveController};
use super::entries::{Placed, needed};
use super::machine_file::{Reader, Way};
use crate::disk::{Act, Deed, Shown, Signal, Times, Wire, Wires};
use crate::panel::Port;
use crate::source::{Code, Diagnostic, Span, Table, Value, nearest};

/// Which controller.
#[derive(Clone, Copy)]
enum Kind {
    Wired,
    Chip,
}

/// What a bit that is put out may do.
const ACTS: [(&str, Act); 7] = [
    ("select", Act::Select),
    ("release", Act::Deselect),
    ("load head", Act::Load),
    ("unload head", Act::Unload),
    ("step in", Act::StepIn),
    ("step out", Act::StepOut),
    ("write", Act::Write),
];

/// What a bit that is read may show, besides the number of the sector.
const SHOWN: [(&str, Shown); 9] = [
    ("ready", Shown::Signal(Signal::Ready)),
    ("index pulse", Shown::Signal(Signal::Index)),
    ("sector pulse", Shown::Signal(Signal::Hole)),
    ("track zero", Shown::Signal(Signal::TrackZero)),
    ("head settled", Shown::Signal(Signal::Settled)),
    ("may step", Shown::Signal(Signal::MayStep)),
    ("write protected", Shown::Signal(Signal::Protected)),
    ("byte waits", Shown::Waits),
    ("byte wanted", Shown::Wanted),
];

/// The number of the sector, of which each bit has a place of its own.
const SECTOR: &str = "sector";

/// Milliseconds that a drive can take for one thing.
const MS: std::ops::RangeInclusive<f64> = 0.0..=10_000.0;

/// Microseconds that a pulse of a hole can last.
const US: std::ops::RangeInclusive<f64> = 1.0..=5_000.0;

/// The bits of a drive by port and place, each with its name and where it is said.
type Taken = Vec<((Way, Wire), String, Span)>;

impl Reader<'_> {
    /// Every `[[drive]]`; the names of all of them.
    pub(super) fn drives(&mut self, list: &[Table]) -> Vec<Placed<String>> {
        let mut names: Vec<Placed<String>> = Vec::new();
        for table in list {
            let Some(name) = self.drive(*table) else { continue };
            if let Some(first) = names.iter().find(|first| first.value == name.value) {
                let headline = format!("two drives have the name `{}`", name.value);
                let problem = Diagnostic::error(Code::NameTwice, headline).at(name.span, "the second");
                self.problems.push(problem.and_at(first.span, "the first"));
            }
            names.push(name);
        }
        names
    }

    fn drive(&mut self, table: Table) -> Option<Placed<String>> {
        let what = "`[[drive]]`";
        let general = ["name", "controller", "select_loads"];
        let times = ["step_ms", "reverse_ms", "settle_ms", "load_ms", "index_us", "hole_us"];
        let (wired, chip) =
            (["data", "commands", "shows"], ["registers", "inverted", "clock_mhz", "requests", "select"]);
        let name = needed(table, "name", what, self.problems);
        let kinds = [("wired", Kind::Wired), ("fd1771", Kind::Chip)];
        let kind = table.need("controller", what, self.problems).and_then(|value| value.choice(&kinds, self.problems));
        let own: &[&str] = match kind {
            Some(Kind::Wired) => &wired,
            Some(Kind::Chip) => &chip,
            None => &[&wired[..], &chip].concat(),
        };
        table.allow(&[&general[..], own, &times].concat(), what, self.problems);
        let loads = table.get("select_loads").and_then(|value| value.boolean(self.problems));
        let usual = Times::default();
        let mut assumed = Vec::new();
        let mut time = |key: &str, usual: f64, range| match table.get(key) {
            Some(value) => value.number(range, self.problems).unwrap_or(usual),
            None => {
                assumed.push(format!("{key} {usual}"));
                usual
            }
        };
        let times = Times {
            step_ms: time("step_ms", usual.step_ms, MS),
            reverse_ms: time("reverse_ms", usual.reverse_ms, MS),
            settle_ms: time("settle_ms", usual.settle_ms, MS),
            load_ms: time("load_ms", usual.load_ms, MS),
            index_us: time("index_us", usual.index_us, US),
            hole_us: time("hole_us", usual.hole_us, US),
        };
        let (Some(kind), Some(name)) = (kind, &name) else { return name };
        let controller = match kind {
            Kind::Wired => self.wired(table, &name.value).map(DriveController::Wired),
            Kind::Chip => self.chip_drive(table, &name.value).map(DriveController::Chip),
        };
        let Some(controller) = controller else { return Some(name.clone()) };
        let select_loads = loads.unwrap_or(false);
        let drive = DiskDrive { name: name.value.clone(), controller, times, select_loads, assumed };
        self.machine.drives.push(drive);
        Some(name.clone())
    }

    /// A controller without registers, wired to its ports.
    fn wired(&mut self, table: Table, name: &str) -> Option<Wires> {
        let data = table.need("data", "`[[drive]]`", self.problems);
        let data = data.and_then(|value| Some((value.byte(self.problems)?, value.span())));
        let mut taken = Vec::new();
        let deeds = table.get("commands").and_then(|value| value.table(self.problems));
        let deeds = deeds.map(|table| self.deeds(table, &mut taken)).unwrap_or_default();
        let shown = table.get("shows").and_then(|value| value.table(self.problems));
        let shown = shown.map(|table| self.shown(table, &mut taken)).unwrap_or_default();
        let (data, spot) = data?;
        let wires = Wires { data, deeds, shown };
        self.wire_drive(name, &wires, spot, &taken);
        Some(wires)
    }

    fn deeds(&mut self, table: Table, taken: &mut Taken) -> Vec<Deed> {
        let mut deeds = Vec::new();
        for (word, spot) in table.keys() {
            let Some((_, act)) = ACTS.iter().find(|(known, _)| *known == word) else {
                self.no_word(word, spot, "command of a drive", &ACTS.map(|(known, _)| known));
                continue;
            };
            let Some(entry) = table.get(word).and_then(|value| value.table(self.problems)) else { continue };
            entry.allow(&["port", "bit", "active", "by"], "a command of a drive", self.problems);
            let ways = [("level", false), ("pulse", true)];
            let by = entry.get("by").and_then(|value| value.choice(&ways, self.problems));
            let Some(wire) = self.drive_wire(entry, "bit") else { continue };
            taken.push(((Way::Out, wire.0), word.to_owned(), wire.1));
            deeds.push(Deed { act: *act, wire: wire.0, pulse: by.unwrap_or(false) });
        }
        deeds
    }

    fn shown(&mut self, table: Table, taken: &mut Taken) -> Vec<(Shown, Wire)> {
        let mut shown = Vec::new();
        for (word, spot) in table.keys() {
            let known = SHOWN.iter().find(|(known, _)| *known == word).map(|(_, shown)| *shown);
            if known.is_none() && word != SECTOR {
                let words: Vec<_> = SHOWN.iter().map(|(known, _)| *known).chain([SECTOR]).collect();
                self.no_word(word, spot, "thing that a drive shows", &words);
                continue;
            }
            let Some(entry) = table.get(word).and_then(|value| value.table(self.problems)) else { continue };
            if let Some(known) = known {
                entry.allow(&["port", "bit", "active"], "a bit that is read", self.problems);
                if let Some((wire, spot)) = self.drive_wire(entry, "bit") {
                    taken.push(((Way::In, wire), word.to_owned(), spot));
                    shown.push((known, wire));
                }
                continue;
            }
            for (place, (wire, spot)) in self.sector_wires(entry).into_iter().enumerate() {
                taken.push(((Way::In, wire), format!("bit {place} of the sector"), spot));
                shown.push((Shown::Sector(place as u8), wire));
            }
        }
        shown
    }

    /// The bits of the sector's number, the lowest first.
    fn sector_wires(&mut self, entry: Table) -> Vec<(Wire, Span)> {
        entry.allow(&["port", "bits", "active"], "the number of the sector", self.problems);
        let what = "the number of the sector";
        let port = entry.need("port", what, self.problems).and_then(|value| value.byte(self.problems));
        let bits = entry.need("bits", what, self.problems).and_then(|value| value.array(self.problems));
        let low = self.drive_level(entry);
        let wire = |value: Value, problems: &mut _| {
            let bit = value.integer(0..=7, problems)? as u8;
            Some((Wire { port: port?, bit, low }, value.span()))
        };
        bits.unwrap_or_default().into_iter().filter_map(|value| wire(value, self.problems)).collect()
    }

    pub(super) fn drive_level(&mut self, entry: Table) -> bool {
        let levels = [("high", false), ("low", true)];
        entry.get("active").and_then(|value| value.choice(&levels, self.problems)).unwrap_or(false)
    }

    pub(super) fn drive_wire(&mut self, entry: Table, key: &str) -> Option<(Wire, Span)> {
        let what = "a bit of a drive";
        let port = entry.need("port", what, self.problems).and_then(|value| value.byte(self.problems));
        let bit = entry.need(key, what, self.problems);
        let number = bit.and_then(|bit| bit.integer(0..=7, self.problems));
        let low = self.drive_level(entry);
        Some((Wire { port: port?, bit: number? as u8, low }, bit?.span()))
    }

    /// Wires the ports of a drive; none of their bits has two meanings.
    fn wire_drive(&mut self, name: &str, wires: &Wires, data: Span, taken: &Taken) {
        for (at, ((way, wire), word, spot)) in taken.iter().enumerate() {
            let same = |((other, there), ..): &&((Way, Wire), String, Span)| {
                other == way && (there.port, there.bit) == (wire.port, wire.bit)
            };
            if let Some((_, first, place)) = taken[..at].iter().find(same) {
                let headline = format!("`{first}` and `{word}` are on one bit");
                let problem = Diagnostic::error(Code::MachineValue, headline).at(*spot, "the second");
                self.problems.push(problem.and_at(*place, "the first"));
            }
        }
        for ((_, wire), word, spot) in
            taken.iter().filter(|((way, wire), ..)| *way == Way::In && wire.port == wires.data)
        {
            let port = self.machine.panel.notation.byte(wire.port);
            self.refuse(
                format!("`{word}` is at port `{port}`, where bytes are fetched"),
                *spot,
                "expected another port",
            );
        }
        for (way, ports, what) in [(Way::In, wires.inputs(), "status"), (Way::Out, wires.outputs(), "commands")] {
            for port in ports {
                let what = if port == wires.data { "data" } else { what };
                let mut bits: [String; 8] = Default::default();
                let here = taken.iter().filter(|((other, wire), ..)| *other == way && wire.port == port);
                for ((_, wire), word, _) in here {
                    bits[usize::from(wire.bit)] = if wire.low { format!("not {word}") } else { word.clone() };
                }
                let said = taken.iter().find(|((other, wire), ..)| *other == way && wire.port == port);
                let spot = if port == wires.data { data } else { said.map_or(data, |(.., spot)| *spot) };
                self.wire(way, port, Port { name: format!("{name} {what}"), bits }, spot);
            }
        }
    }

    fn no_word(&mut self, word: &str, spot: Span, what: &str, known: &[&str]) {
        let headline = format!("`{word}` is no {what}");
        let problem = Diagnostic::error(Code::MachineValue, headline);
        let problem = problem.at(spot, format!("known: {}", known.join(", ")));
        self.problems.push(match nearest(word, known.iter().copied()) {
            Some(near) => problem.with_near(near),
            None => problem,
        });
    }
}
