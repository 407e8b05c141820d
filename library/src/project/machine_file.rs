//! `machine.toml`, read into a [`Machine`]. Every mistake of the file is told, each at its place.

use std::collections::BTreeMap;

use super::entries::{Placed, needed, tables, text};
use super::machine::{Machine, Memory};
use crate::image::MEMORY;
use crate::notation::Address;
use crate::panel::Port;
use crate::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap, Span, Table, TomlText, Value};

/// What a machine file says.
#[derive(Debug)]
pub struct MachineFile {
    /// The machine; it lacks what is wrong in the file.
    pub machine: Machine,
    /// The names of all sockets, sound or not: the chain file may name them.
    pub sockets: Vec<Placed<String>>,
    /// The names of all disk drives, sound or not.
    pub drives: Vec<Placed<String>>,
    /// The names of all serial interfaces, sound or not, and whether each has a line.
    pub serial: Vec<(Placed<String>, bool)>,
}

/// Reads a machine file and pushes what is wrong with it; nothing if it is no TOML.
pub fn read(sources: &SourceMap, id: SourceId, problems: &mut Diagnostics) -> Option<MachineFile> {
    let mut own = Diagnostics::default();
    let toml = TomlText::parse(sources, id, &mut own);
    let file = (!own.has_errors()).then(|| Reader::new(&mut own).file(toml.table()));
    problems.append(own);
    file
}

impl Machine {
    /// Reads a machine file.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn read(sources: &SourceMap, id: SourceId) -> Result<Machine, Diagnostics> {
        let mut problems = Diagnostics::default();
        match read(sources, id, &mut problems) {
            Some(file) if !problems.has_errors() => Ok(file.machine),
            _ => Err(problems),
        }
    }
}

/// Which way bytes pass a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Way {
    /// `IN`
    In,
    /// `OUT`
    Out,
}

/// Reads the tables of a machine file and collects what is wrong.
pub(super) struct Reader<'a> {
    pub(super) problems: &'a mut Diagnostics,
    pub(super) machine: Machine,
    /// Where the file says what is wired to a port.
    owners: BTreeMap<(Way, u8), Span>,
}

impl<'a> Reader<'a> {
    fn new(problems: &'a mut Diagnostics) -> Self {
        Reader { problems, machine: Machine::default(), owners: BTreeMap::new() }
    }

    fn file(mut self, root: Table) -> MachineFile {
        let keys = ["clock_hz", "panel", "memory", "serial", "drive", "part", "socket", "port", "sound"];
        root.allow(&keys, "a machine file", self.problems);
        let clock = root.get("clock_hz").and_then(|value| value.integer(1..=100_000_000, self.problems));
        self.machine.clock_hz = clock.map(|clock| clock as u64);
        if let Some(panel) = root.get("panel").and_then(|value| value.table(self.problems)) {
            self.panel(panel);
        }
        let keys = ["memory", "serial", "drive", "part", "socket", "port", "sound"];
        let [memory, serial, drives, parts, sockets, ports, sounds] =
            keys.map(|key| tables(root.get(key), self.problems));
        self.memory(&memory);
        let serial = self.serial(&serial);
        let drives = self.drives(&drives);
        let (parts, broken) = self.parts(&parts);
        let sockets = self.sockets(&sockets, &parts, &broken);
        ports.into_iter().for_each(|table| self.port(table));
        self.sounds(&sounds);
        self.machine.panel.senses = self.machine.sense_port.is_some();
        MachineFile { machine: self.machine, sockets, drives, serial }
    }

    /// Refuses a value for what it says rather than for what it is.
    pub(super) fn refuse(&mut self, headline: String, spot: Span, expected: &str) {
        self.problems.push(Diagnostic::error(Code::MachineValue, headline).at(spot, expected));
    }

    /// Wires something to a port that is still free.
    pub(super) fn wire(&mut self, way: Way, number: u8, port: Port, spot: Span) {
        if let Some(first) = self.owners.get(&(way, number)) {
            let headline = format!("two things are wired to port `{}`", self.machine.panel.notation.byte(number));
            let problem = Diagnostic::error(Code::MachineValue, headline).at(spot, "the second");
            return self.problems.push(problem.and_at(*first, "the first"));
        }
        self.owners.insert((way, number), spot);
        let ports = &mut self.machine.ports;
        let ports = if way == Way::In { &mut ports.inputs } else { &mut ports.outputs };
        ports.insert(number, port);
    }

    fn memory(&mut self, list: &[Table]) {
        let mut spots: Vec<Span> = Vec::new();
        for table in list {
            table.allow(&["base", "size"], "`memory`", self.problems);
            let base = table.need("base", "`memory`", self.problems);
            let size = table.need("size", "`memory`", self.problems);
            let at = base.and_then(|value| value.integer(0..=0xFFFF, self.problems));
            let count = size.and_then(|value| value.integer(1..=MEMORY as i64, self.problems));
            let (Some(at), Some(count), Some(base), Some(size)) = (at, count, base, size) else { continue };
            if at + count > MEMORY as i64 {
                let (size_text, base_text) = (size.written(), base.written());
                let headline = format!("memory of `{size_text}` bytes from `{base_text}` passes the top");
                self.refuse(headline, size.span(), &format!("expected `1..={}`", MEMORY as i64 - at));
                continue;
            }
            let memory = Memory { base: Address(at as u16), size: count as usize };
            self.apart(memory, table.span(), &spots);
            self.machine.memory.push(memory);
            spots.push(table.span());
        }
    }

    /// Refuses memory that lies where other memory lies; `spots` are the places of those before it.
    fn apart(&mut self, memory: Memory, spot: Span, spots: &[Span]) {
        let range = |memory: &Memory| (memory.base.index(), memory.base.index() + memory.size - 1);
        let (first, last) = range(&memory);
        let overlap = self.machine.memory.iter().zip(spots).find_map(|(other, place)| {
            let (low, high) = (range(other).0.max(first), range(other).1.min(last));
            (low <= high).then_some((low, high, *place))
        });
        let Some((low, high, place)) = overlap else { return };
        let notation = self.machine.panel.notation;
        let [low, high] = [low, high].map(|at| notation.address(Address(at as u16)).to_string());
        let headline = format!("two runs of memory lie at `{low}` to `{high}`");
        let problem = Diagnostic::error(Code::MachineValue, headline).at(spot, "the second");
        self.problems.push(problem.and_at(place, "the first"));
    }

    fn port(&mut self, table: Table) {
        let what = "`[[port]]`";
        table.allow(&["number", "in", "out", "in_bits", "out_bits"], what, self.problems);
        let number = table.need("number", what, self.problems);
        let spot = number.map_or(table.span(), |value| value.span());
        let number = number.and_then(|value| value.byte(self.problems));
        let mut described = false;
        for (way, key, bits) in [(Way::In, "in", "in_bits"), (Way::Out, "out", "out_bits")] {
            let name = table.get(key).map(|value| text(value, self.problems));
            let bits = table.get(bits).map(|value| self.bits(value));
            if name.is_none() && bits.is_none() {
                continue;
            }
            described = true;
            let name = name.flatten().map(|name| name.value).unwrap_or_default();
            if let Some(number) = number {
                self.wire(way, number, Port { name, bits: bits.unwrap_or_default() }, spot);
            }
        }
        if !described {
            self.refuse("nothing is said of this port".into(), spot, "expected `in` or `out` beside it");
        }
    }

    /// What the bits of a port mean, by the number of the bit.
    fn bits(&mut self, value: Value) -> [String; 8] {
        let mut bits: [String; 8] = Default::default();
        let Some(table) = value.table(self.problems) else { return bits };
        for (key, spot) in table.keys() {
            let name = needed(table, key, "a bit", self.problems);
            match key.parse::<usize>() {
                Ok(number) if number < 8 => bits[number] = name.map(|name| name.value).unwrap_or_default(),
                _ => self.refuse(format!("`{key}` is no bit of a port"), spot, "expected `0..=7`"),
            }
        }
        bits
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::notation::Notation;
    use crate::panel::{Panel, SenseLevers};
    use crate::source::Origin;

    fn machine(text: &str) -> Result<Machine, Vec<String>> {
        let mut sources = SourceMap::default();
        let id = sources.add("machine.toml", text, Origin::Given);
        Machine::read(&sources, id)
            .map_err(|problems| problems.iter().map(|problem| problem.headline.clone()).collect())
    }

    #[test]
    fn an_empty_file_is_the_usual_panel() {
        let panel = Panel { senses: false, ..Panel::default() };
        assert_eq!(machine(""), Ok(Machine { panel, ..Machine::default() }), "no port reads sense switches");
    }

    #[test]
    fn a_panel_is_as_the_file_says() {
        let machine =
            machine("panel = { address = 'split', switches = 12, keys = ['examine-next'], sense_port = 0o165 }");
        let machine = machine.unwrap();
        assert_eq!((machine.panel.notation, machine.panel.switches), (Notation::SplitOctal, 12));
        assert!(machine.panel.examine_next && !machine.panel.deposit_next);
        assert_eq!((machine.panel.sense, machine.sense_port), (SenseLevers::Own, Some(0o165)));
        assert_eq!(machine.ports.inputs[&0o165].name, "sense switches");
    }

    #[test]
    fn a_chip_names_the_bits_of_its_status() {
        let text = "[[serial]]\nname = 'reader'\nchip = 'uart'\nstatus = 1\ndata = 2\n\
                    [serial.bits]\n'character received' = { bit = 7, active = 'low' }";
        let machine = machine(text).unwrap();
        assert_eq!(machine.ports.inputs[&1].bits[7], "not character received");
        assert_eq!(machine.ports.outputs[&2].name, "reader data");
    }

    #[test]
    fn every_wrong_value_is_told() {
        let text = "clock_hz = 0\npanel = { switches = 7 }\nmemory = [{ base = 0o200000, size = '1' }]\nport = 1";
        let problems = machine(text).unwrap_err();
        assert_eq!(problems, ["0", "7", "1", "0o200000", "1"].map(|value| format!("`{value}` cannot stand here")));
    }
}
