//! The serial interfaces of a machine file.

use super::entries::{Placed, needed};
use super::machine::{Chip, Serial, UartBit, UartBits};
use super::machine_file::{Reader, Way};
use crate::line::LineFormat;
use crate::panel::Port;
use crate::source::{Code, Diagnostic, Diagnostics, Span, Table, Value, nearest};

/// What a status pin of a hard-wired UART may be called; the same words as those of the chips with registers.
const UART_WORDS: [&str; 5] = ["character received", "ready to send", "overrun", "framing error", "parity error"];

/// The clock of a chip whose entry does not say, as a multiple of the line's speed.
const USUAL_CLOCK: u8 = 16;

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

impl Reader<'_> {
    /// Every `[[serial]]`; the names of all of them, and whether each has a line.
    pub(super) fn serial(&mut self, list: &[Table]) -> Vec<(Placed<String>, bool)> {
        let mut names: Vec<(Placed<String>, bool)> = Vec::new();
        for table in list {
            let Some(name) = self.interface(*table) else { continue };
            if let Some((first, _)) = names.iter().find(|(first, _)| first.value == name.value) {
                let headline = format!("two serial interfaces have the name `{}`", name.value);
                let problem = Diagnostic::error(Code::NameTwice, headline).at(name.span, "the second");
                self.problems.push(problem.and_at(first.span, "the first"));
            }
            names.push((name, table.get("line").is_some()));
        }
        names
    }

    /// One interface, wired to its ports; its name.
    fn interface(&mut self, table: Table) -> Option<Placed<String>> {
        let what = "`[[serial]]`";
        table.allow(&["name", "chip", "status", "data", "line", "clock", "bits"], what, self.problems);
        let name = needed(table, "name", what, self.problems);
        let bits = table.get("bits");
        let pins = bits.map(|value| self.pins(value)).unwrap_or_default();
        let words = [("mc6850", Chip::Mc6850), ("i8251", Chip::I8251), ("uart", Chip::Uart(pins))];
        let chip = table.need("chip", what, self.problems).and_then(|value| value.choice(&words, self.problems));
        if let (Some(bits), Some(Chip::Mc6850 | Chip::I8251)) = (bits, chip) {
            let headline = "this chip has its status pins on bits of its own".to_owned();
            self.refuse(headline, bits.span(), "expected only with `chip = \"uart\"`");
        }
        let status = port(table, "status", self.problems);
        let data = port(table, "data", self.problems);
        let line = table.get("line").map(|value| self.line(value));
        let clock = table.get("clock").map(|value| self.clock(value));
        let (Some(chip), Some(status), Some(data), Some(name)) = (chip, status, data, &name) else { return name };
        self.wire_chip(&name.value, chip, status, data);
        self.machine.serial.push(Serial {
            name: name.value.clone(),
            chip,
            status: status.0,
            data: data.0,
            line: line.flatten(),
            clock: clock.map_or(USUAL_CLOCK, |clock| clock.unwrap_or(USUAL_CLOCK)),
        });
        Some(name.clone())
    }

    fn wire_chip(&mut self, name: &str, chip: Chip, status: (u8, Span), data: (u8, Span)) {
        let bits = match chip {
            Chip::Mc6850 => MC6850_STATUS.map(String::from),
            Chip::I8251 => I8251_STATUS.map(String::from),
            Chip::Uart(pins) => pins.meanings(),
        };
        let port = |what: &str| Port { name: format!("{name} {what}"), ..Port::default() };
        self.wire(Way::In, status.0, Port { bits, ..port("status") }, status.1);
        if chip.has_control() {
            self.wire(Way::Out, status.0, port("control"), status.1);
        }
        self.wire(Way::In, data.0, port("data"), data.1);
        self.wire(Way::Out, data.0, port("data"), data.1);
    }

    fn line(&mut self, value: Value) -> Option<LineFormat> {
        let text = value.string(self.problems)?;
        text.parse()
            .map_err(|error| {
                let headline = format!("`{text}` is not the format of a line");
                let problem = Diagnostic::error(Code::MachineValue, headline).at(value.span(), format!("{error}"));
                self.problems.push(problem.with_help("write speed, data bits, parity, stop bits, such as `300 8N2`"));
            })
            .ok()
    }

    fn clock(&mut self, value: Value) -> Option<u8> {
        let clock = value.integer(1..=64, self.problems)?;
        if ![1, 16, 64].contains(&clock) {
            let headline = format!("a clock of `{clock}` times the speed is none that a chip divides");
            self.refuse(headline, value.span(), "expected `1`, `16` or `64`");
            return None;
        }
        Some(clock as u8)
    }

    /// The status pins of a hard-wired UART.
    fn pins(&mut self, value: Value) -> UartBits {
        let mut pins = UartBits::default();
        let Some(table) = value.table(self.problems) else { return pins };
        let mut taken: [Option<Span>; 8] = [None; 8];
        for (word, spot) in table.keys() {
            let wire = table.get(word).and_then(|value| self.pin(value, &mut taken));
            let place = match UART_WORDS.iter().position(|known| *known == word) {
                Some(0) => &mut pins.received,
                Some(1) => &mut pins.ready,
                Some(2) => &mut pins.overrun,
                Some(3) => &mut pins.framing_error,
                Some(_) => &mut pins.parity_error,
                None => {
                    self.no_pin(word, spot);
                    continue;
                }
            };
            *place = wire;
        }
        pins
    }

    fn no_pin(&mut self, word: &str, spot: Span) {
        let headline = format!("`{word}` is no status pin of a UART");
        let problem = Diagnostic::error(Code::MachineValue, headline);
        let problem = problem.at(spot, format!("known: {}", UART_WORDS.join(", ")));
        self.problems.push(match nearest(word, UART_WORDS) {
            Some(near) => problem.with_near(near),
            None => problem,
        });
    }

    /// The bit of a pin; `taken` are the bits that other pins have.
    fn pin(&mut self, value: Value, taken: &mut [Option<Span>; 8]) -> Option<UartBit> {
        let table = value.table(self.problems)?;
        table.allow(&["bit", "active"], "a status pin", self.problems);
        let bit = table.need("bit", "a status pin", self.problems);
        let number = bit.and_then(|bit| bit.integer(0..=7, self.problems));
        let levels = [("high", false), ("low", true)];
        let low = table.get("active").and_then(|value| value.choice(&levels, self.problems)).unwrap_or(false);
        let (number, spot) = (number? as u8, bit?.span());
        if let Some(first) = taken[usize::from(number)].replace(spot) {
            let headline = format!("two status pins are on bit `{number}`");
            let problem = Diagnostic::error(Code::MachineValue, headline).at(spot, "the second");
            self.problems.push(problem.and_at(first, "the first"));
        }
        Some(UartBit { bit: number, low })
    }
}

/// A port under a key that must be there, with its place.
fn port(table: Table, key: &str, problems: &mut Diagnostics) -> Option<(u8, Span)> {
    let value = table.need(key, "`[[serial]]`", problems)?;
    Some((value.byte(problems)?, value.span()))
}

impl UartBits {
    /// What a one in each bit of the status port means.
    fn meanings(self) -> [String; 8] {
        let mut bits: [String; 8] = Default::default();
        let pins = [self.received, self.ready, self.overrun, self.framing_error, self.parity_error];
        for (word, pin) in UART_WORDS.iter().zip(pins) {
            if let Some(UartBit { bit, low }) = pin {
                bits[usize::from(bit)] = if low { format!("not {word}") } else { (*word).to_owned() };
            }
        }
        bits
    }
}
