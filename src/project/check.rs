//! The entries of a machine file turned into checked values; all that is wrong is collected.

use std::collections::BTreeMap;
use std::ops::RangeInclusive;

use toml::Spanned;

use super::machine::{Machine, Memory};
use super::machine_file::{
    Active, AddressWord, ChipWord, KeyName, LeversWord, MachineFile, MemoryEntry, PanelEntry, PortEntry, SerialEntry,
};
use super::table::span_of;
use crate::image::MEMORY;
use crate::notation::{Address, Notation};
use crate::panel::{DataLevers, Port, Ports, SenseLevers};
use crate::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap};

/// The machine that a file describes.
///
/// # Errors
/// Every value that cannot be.
pub fn check(file: &MachineFile, sources: &SourceMap, id: SourceId) -> Result<Machine, Diagnostics> {
    let mut checker = Checker { sources, id, problems: Diagnostics::default() };
    let machine = checker.machine(file);
    if checker.problems.is_empty() { Ok(machine) } else { Err(checker.problems) }
}

/// Turns entries into checked values and collects what is wrong.
pub(super) struct Checker<'a> {
    sources: &'a SourceMap,
    pub(super) id: SourceId,
    pub(super) problems: Diagnostics,
}

impl Checker<'_> {
    /// A value as it stands in the file.
    pub(super) fn written<T>(&self, value: &Spanned<T>) -> &str {
        self.sources.text(span_of(self.id, value))
    }

    fn machine(&mut self, file: &MachineFile) -> Machine {
        let clock = file.clock_hz.as_ref().and_then(|clock| self.number(clock, "the clock", 1..=100_000_000));
        let mut machine = Machine { clock_hz: clock.map(|clock| clock as u64), ..Machine::default() };
        if let Some(entry) = &file.panel {
            self.panel(entry, &mut machine);
        }
        for entry in file.memory.iter().flatten() {
            machine.memory.extend(self.memory(entry));
        }
        for entry in &file.serial {
            self.serial(entry, &mut machine.ports);
            machine.serial.extend(self.interface(entry));
        }
        machine.sockets = self.sockets(file);
        for entry in &file.port {
            self.port(entry, &mut machine.ports);
        }
        machine
    }

    /// A value that must lie in a range.
    pub(super) fn number(&mut self, value: &Spanned<i64>, what: &str, range: RangeInclusive<i64>) -> Option<i64> {
        let number = *value.get_ref();
        if range.contains(&number) {
            return Some(number);
        }
        let (low, high) = (range.start(), range.end());
        let problem = Diagnostic::error(Code::MachineValue, format!("{what} cannot be `{}`", self.written(value)));
        self.problems.push(problem.at(span_of(self.id, value), format!("expected `{low}..={high}`")));
        None
    }

    pub(super) fn port_number(&mut self, value: &Spanned<i64>) -> Option<u8> {
        self.number(value, "a port", 0..=255).map(|number| number as u8)
    }

    fn panel(&mut self, entry: &PanelEntry, machine: &mut Machine) {
        let panel = &mut machine.panel;
        panel.notation = match entry.address {
            None | Some(AddressWord::Straight) => Notation::Octal,
            Some(AddressWord::Split) => Notation::SplitOctal,
            Some(AddressWord::Hex) => Notation::Hexadecimal,
        };
        if let Some(switches) = &entry.switches
            && let Some(switches) = self.number(switches, "the number of address switches", 8..=16)
        {
            panel.set_switches(switches as u8);
        }
        if entry.data == Some(LeversWord::Own) {
            panel.data = DataLevers::Own;
        }
        if entry.sense == Some(LeversWord::Own) {
            panel.sense = SenseLevers::Own;
        }
        if let Some(keys) = &entry.keys {
            panel.examine_next = keys.contains(&KeyName::ExamineNext);
            panel.deposit_next = keys.contains(&KeyName::DepositNext);
        }
        if let Some(port) = &entry.sense_port
            && let Some(number) = self.port_number(port)
        {
            machine.sense_port = Some(number);
            let port = Port { name: "sense switches".into(), ..Port::default() };
            machine.ports.inputs.insert(number, port);
        }
    }

    fn memory(&mut self, entry: &Spanned<MemoryEntry>) -> Option<Memory> {
        let MemoryEntry { base, size } = entry.get_ref();
        let (at, count) = (self.number(base, "a base", 0..=0xFFFF), self.number(size, "a size", 1..=MEMORY as i64));
        let (at, count) = (at?, count?);
        if at + count > MEMORY as i64 {
            let problem = Diagnostic::error(
                Code::MachineValue,
                format!("memory of `{}` bytes from `{}` passes the top", self.written(size), self.written(base)),
            );
            self.problems.push(problem.at(span_of(self.id, size), format!("expected `1..={}`", MEMORY as i64 - at)));
            return None;
        }
        Some(Memory { base: Address(at as u16), size: count as usize })
    }

    fn serial(&mut self, entry: &SerialEntry, ports: &mut Ports) {
        let (Some(status), Some(data)) = (self.port_number(&entry.status), self.port_number(&entry.data)) else {
            return;
        };
        let bits = match entry.chip {
            ChipWord::Mc6850 => MC6850_STATUS.map(String::from),
            ChipWord::I8251 => I8251_STATUS.map(String::from),
            ChipWord::Uart => self.uart_bits(entry),
        };
        let name = |what: &str| format!("{} {what}", entry.name);
        ports.inputs.insert(status, Port { name: name("status"), bits });
        ports.inputs.insert(data, Port { name: name("data"), ..Port::default() });
        ports.outputs.insert(status, Port { name: name("control"), ..Port::default() });
        ports.outputs.insert(data, Port { name: name("data"), ..Port::default() });
    }

    fn uart_bits(&mut self, entry: &SerialEntry) -> [String; 8] {
        let mut bits: [String; 8] = Default::default();
        for (meaning, wire) in &entry.bits {
            let Some(number) = self.number(&wire.bit, "a bit", 0..=7) else { continue };
            bits[number as usize] = match wire.active {
                Active::High => meaning.clone(),
                Active::Low => format!("not {meaning}"),
            };
        }
        bits
    }

    fn port(&mut self, entry: &PortEntry, ports: &mut Ports) {
        let Some(number) = self.port_number(&entry.number) else { return };
        let (inputs, outputs) = (self.bits(&entry.in_bits), self.bits(&entry.out_bits));
        let known = |names: &BTreeMap<u8, Port>, name: &Option<String>| name.is_some() && names.contains_key(&number);
        if known(&ports.inputs, &entry.input) || known(&ports.outputs, &entry.output) {
            let problem =
                Diagnostic::error(Code::MachineValue, format!("port `{}` has two owners", self.written(&entry.number)));
            self.problems
                .push(problem.at(span_of(self.id, &entry.number), "something else is wired to this port already"));
            return;
        }
        let port = |name: &Option<String>, bits: [String; 8]| Port { name: name.clone().unwrap_or_default(), bits };
        if entry.input.is_some() || !entry.in_bits.is_empty() {
            ports.inputs.insert(number, port(&entry.input, inputs));
        }
        if entry.output.is_some() || !entry.out_bits.is_empty() {
            ports.outputs.insert(number, port(&entry.output, outputs));
        }
    }

    fn bits(&mut self, names: &BTreeMap<Spanned<String>, String>) -> [String; 8] {
        let mut bits: [String; 8] = Default::default();
        for (key, name) in names {
            match key.get_ref().parse::<usize>() {
                Ok(number) if number < 8 => bits[number] = name.clone(),
                _ => {
                    let problem =
                        Diagnostic::error(Code::MachineValue, format!("`{}` is no bit of a port", key.get_ref()));
                    self.problems.push(problem.at(span_of(self.id, key), "expected `0..=7`"));
                }
            }
        }
        bits
    }
}

/// Source: Motorola MC6850 data sheet, status register (bits 2, 4, 5 and 6 from memory of it).
const MC6850_STATUS: [&str; 8] = [
    "character received",
    "ready to send",
    "carrier lost",
    "not clear to send",
    "framing error",
    "overrun",
    "parity error",
    "interrupt",
];

/// Source: Intel 8251 data sheet, status read format.
const I8251_STATUS: [&str; 8] = [
    "ready to send",
    "character received",
    "transmitter empty",
    "parity error",
    "overrun",
    "framing error",
    "sync found",
    "data set ready",
];
