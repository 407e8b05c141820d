//! Serial interfaces and ROM sockets of a machine file, checked.

use super::check::Checker;
use super::machine::{Chip, Serial, UartBit, UartBits};
use super::machine_file::{Active, ChipWord, MachineFile, SerialEntry};
use super::table::span_of;
use crate::line::LineFormat;
use crate::rom::{Parts, Socket, clashes};
use crate::source::{Code, Diagnostic, nearest};

/// What a status pin of a hard-wired UART may be called; the same words as those of the chips with registers.
const UART_WORDS: [&str; 5] = ["character received", "ready to send", "overrun", "framing error", "parity error"];

/// The clock of a chip whose entry does not say, as a multiple of the line's speed.
const USUAL_CLOCK: u8 = 16;

impl Checker<'_> {
    /// The interface behind an entry; none if a port of it cannot be.
    pub(super) fn interface(&mut self, entry: &SerialEntry) -> Option<Serial> {
        let line = entry.line.as_ref().and_then(|line| self.line(line));
        let clock = match &entry.clock {
            None => USUAL_CLOCK,
            Some(clock) => self.clock(clock)?,
        };
        let byte = |number: i64| u8::try_from(number).ok();
        let (status, data) = (byte(*entry.status.get_ref())?, byte(*entry.data.get_ref())?);
        let chip = match entry.chip {
            ChipWord::Mc6850 => Chip::Mc6850,
            ChipWord::I8251 => Chip::I8251,
            ChipWord::Uart => Chip::Uart(self.uart(entry)),
        };
        Some(Serial { name: entry.name.clone(), chip, status, data, line, clock })
    }

    fn line(&mut self, line: &toml::Spanned<String>) -> Option<LineFormat> {
        line.get_ref()
            .parse()
            .map_err(|error| {
                let problem =
                    Diagnostic::error(Code::MachineValue, format!("`{}` is not the format of a line", line.get_ref()));
                self.problems.push(problem.at(span_of(self.id, line), format!("{error}")));
            })
            .ok()
    }

    fn clock(&mut self, clock: &toml::Spanned<i64>) -> Option<u8> {
        match *clock.get_ref() {
            number @ (1 | 16 | 64) => Some(number as u8),
            _ => {
                let headline =
                    format!("a clock of `{}` times the speed is none that a chip divides", self.written(clock));
                let problem = Diagnostic::error(Code::MachineValue, headline);
                self.problems.push(problem.at(span_of(self.id, clock), "expected `1`, `16` or `64`"));
                None
            }
        }
    }

    fn uart(&mut self, entry: &SerialEntry) -> UartBits {
        let mut bits = UartBits::default();
        for (word, wire) in &entry.bits {
            let bit = UartBit { bit: *wire.bit.get_ref() as u8 & 7, low: wire.active == Active::Low };
            let place = match UART_WORDS.iter().position(|known| known == word) {
                Some(0) => &mut bits.received,
                Some(1) => &mut bits.ready,
                Some(2) => &mut bits.overrun,
                Some(3) => &mut bits.framing_error,
                Some(_) => &mut bits.parity_error,
                None => {
                    let headline = format!("`{word}` is no status pin of a UART");
                    let problem = Diagnostic::error(Code::MachineValue, headline)
                        .at(span_of(self.id, &wire.bit), format!("known: {}", UART_WORDS.join(", ")));
                    self.problems.push(match nearest(word, UART_WORDS) {
                        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
                        None => problem,
                    });
                    continue;
                }
            };
            *place = Some(bit);
        }
        bits
    }

    /// The socket map.
    pub(super) fn sockets(&mut self, file: &MachineFile) -> Vec<Socket> {
        let (mut parts, mut sockets) = (Parts::default(), Vec::new());
        for entry in &file.part {
            if let Err(problem) = parts.add(entry.get_ref()) {
                self.problems.push(problem.at(span_of(self.id, entry), "this part"));
            }
        }
        for entry in &file.socket {
            match Socket::new(entry.get_ref(), &parts) {
                Ok(socket) => sockets.push(socket),
                Err(problem) => self.problems.push(problem.at(span_of(self.id, entry), "this socket")),
            }
        }
        let clashes = clashes(&sockets);
        if let Some(entry) = file.socket.last() {
            let placed = clashes.iter().map(|problem| problem.clone().at(span_of(self.id, entry), "in this map"));
            self.problems.extend(placed.collect::<Vec<_>>());
        }
        sockets
    }
}
