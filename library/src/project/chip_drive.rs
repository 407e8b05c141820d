//! A drive whose controller is the FD1771: its registers, its requests, its selection.

use super::machine_file::{Reader, Way};
use crate::disk::{ChipWires, Line, Requests};
use crate::panel::Port;
use crate::source::{Span, Table, Value};

/// The registers in the order of their addresses, as they are read and as they are written.
///
/// Source: Western Digital FD1771-01 data sheet, by a retyped digest.
const REGISTERS: [(&str, &str); 4] =
    [("status", "command"), ("track", "track"), ("sector", "sector"), ("data", "data")];

/// The bits of the status behind a command of type I; those of the others differ. Source: the same.
const STATUS: [&str; 8] = [
    "busy",
    "index pulse",
    "track zero",
    "wrong check",
    "track not found",
    "head settled",
    "write protected",
    "not ready",
];

impl Reader<'_> {
    /// How the chip is wired; its ports are.
    pub(super) fn chip_drive(&mut self, table: Table, name: &str) -> Option<ChipWires> {
        let what = "`[[drive]]`";
        let registers = table.need("registers", what, self.problems);
        let registers = registers.and_then(|value| Some((self.registers(value)?, value.span())));
        let inverted = table.get("inverted").and_then(|value| value.boolean(self.problems)).unwrap_or(false);
        let clock = table.get("clock_mhz").and_then(|value| value.integer(1..=2, self.problems)).unwrap_or(2);
        let requests = table.get("requests").and_then(|value| Some((value.table(self.problems)?, value.span())));
        let requests = requests.and_then(|(table, spot)| Some((self.requests(table)?, spot)));
        let select = table.get("select").and_then(|value| value.table(self.problems));
        let select = select.and_then(|table| {
            table.allow(&["port", "bit", "active"], "the selection of a drive", self.problems);
            self.drive_wire(table, "bit")
        });
        let (registers, spot) = registers?;
        self.wire_registers(name, registers, inverted, spot);
        if let Some((requests, spot)) = requests {
            let mut bits: [String; 8] = Default::default();
            for (line, word) in [(requests.data, "byte asked for"), (requests.interrupt, "command done")] {
                bits[usize::from(line.bit)] = if line.low { format!("not {word}") } else { word.to_owned() };
            }
            self.wire(Way::In, requests.port, Port { name: format!("{name} requests"), bits }, spot);
        }
        if let Some((wire, spot)) = select {
            let mut bits: [String; 8] = Default::default();
            bits[usize::from(wire.bit)] = if wire.low { "not select".into() } else { "select".into() };
            self.wire(Way::Out, wire.port, Port { name: format!("{name} selection"), bits }, spot);
        }
        let (requests, select) = (requests.map(|(requests, _)| requests), select.map(|(wire, _)| wire));
        Some(ChipWires { registers, inverted, is_slow: clock == 1, requests, select })
    }

    /// Four ports: the first of four in a row, or each.
    fn registers(&mut self, value: Value) -> Option<[u8; 4]> {
        if !value.is_array() {
            let first = value.integer(0..=252, self.problems)? as u8;
            return Some([0, 1, 2, 3].map(|number| first + number));
        }
        let ports = value.array(self.problems)?;
        let [status, track, sector, data] = ports[..] else {
            let headline = format!("the chip has 4 registers, and {} ports are given", ports.len());
            self.refuse(headline, value.span(), "expected those of status, track, sector and data");
            return None;
        };
        let [status, track, sector, data] = [status, track, sector, data].map(|port| port.byte(self.problems));
        Some([status?, track?, sector?, data?])
    }

    fn wire_registers(&mut self, name: &str, registers: [u8; 4], inverted: bool, spot: Span) {
        for (port, (read, written)) in registers.into_iter().zip(REGISTERS) {
            let bits = if read == "status" {
                STATUS.map(|word| if inverted { format!("not {word}") } else { word.to_owned() })
            } else {
                Default::default()
            };
            self.wire(Way::In, port, Port { name: format!("{name} {read}"), bits }, spot);
            self.wire(Way::Out, port, Port { name: format!("{name} {written}"), ..Port::default() }, spot);
        }
    }

    fn requests(&mut self, table: Table) -> Option<Requests> {
        let what = "the requests of a chip";
        table.allow(&["port", "data", "done", "holds"], what, self.problems);
        let port = table.need("port", what, self.problems).and_then(|value| value.byte(self.problems));
        let data = table.need("data", what, self.problems).and_then(|value| self.request(value));
        let done = table.need("done", what, self.problems).and_then(|value| self.request(value));
        let holds = table.get("holds").and_then(|value| value.boolean(self.problems)).unwrap_or(false);
        let ((data, _), (interrupt, spot)) = (data?, done?);
        if data.bit == interrupt.bit {
            self.refuse("`data` and `done` are on one bit".into(), spot, "expected a bit of its own");
            return None;
        }
        Some(Requests { port: port?, data, interrupt, holds })
    }

    fn request(&mut self, value: Value) -> Option<(Line, Span)> {
        let table = value.table(self.problems)?;
        table.allow(&["bit", "active"], "a request", self.problems);
        let bit = table.need("bit", "a request", self.problems).and_then(|bit| bit.integer(0..=7, self.problems));
        let low = self.drive_level(table);
        Some((Line { bit: bit? as u8, low }, value.span()))
    }
}
