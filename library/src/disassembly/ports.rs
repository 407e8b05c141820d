//! What the machine and the hints say of ports: names, what bits mean, what a byte does.

use std::collections::BTreeSet;

use super::hints::Hints;
use crate::notation::Notation;
use crate::project::{Chip, Machine, Serial, UartBit};
use crate::syntax::Names;

/// Which way a byte goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Way {
    /// From the port, by IN.
    In,
    /// To the port, by OUT.
    Out,
}

/// A port as the source calls it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its name.
    pub name: String,
    /// What it is, for the line that defines the name; empty if nothing is known.
    pub about: String,
}

/// The ports of a machine.
pub struct PortNames<'a> {
    machine: Option<&'a Machine>,
    hints: &'a Hints,
    notation: Notation,
}

impl<'a> PortNames<'a> {
    /// What is known of ports.
    pub fn new(machine: Option<&'a Machine>, hints: &'a Hints, notation: Notation) -> PortNames<'a> {
        PortNames { machine, hints, notation }
    }

    /// The name of a port.
    pub fn named(&self, port: u8, way: Way) -> Named {
        let described = self.described(port, way);
        if let Some(hint) = self.hints.ports.get(&port) {
            return Named { name: hint.value.clone(), about: described.map(|(_, about)| about).unwrap_or_default() };
        }
        match described {
            Some((name, about)) => Named { name, about },
            None => Named { name: format!("PORT{}", self.notation.byte(port)), about: String::new() },
        }
    }

    fn described(&self, port: u8, way: Way) -> Option<(String, String)> {
        if let Some(serial) = self.serial(port) {
            let what = if port == serial.status { "STATUS" } else { "DATA" };
            let about = if port == serial.status { "status and control" } else { "data" };
            return Some((format!("{}_{what}", word(&serial.name)), format!("{}: {about}", serial.name)));
        }
        let machine = self.machine?;
        let ports = if way == Way::In { &machine.ports.inputs } else { &machine.ports.outputs };
        let port = ports.get(&port).filter(|port| !port.name.is_empty())?;
        Some((word(&port.name), port.name.clone()))
    }

    /// The serial interface of which a port is one.
    pub fn serial(&self, port: u8) -> Option<&'a Serial> {
        self.machine?.serial.iter().find(|serial| serial.status == port || serial.data == port)
    }

    /// What it means that a bit of an input port is one or zero, if that is known.
    pub fn meaning(&self, port: u8, bit: u8, one: bool) -> Option<String> {
        if let Some(serial) = self.serial(port).filter(|serial| serial.status == port) {
            return status_bit(serial.chip, bit, one).map(str::to_owned);
        }
        let name = &self.machine?.ports.inputs.get(&port)?.bits[usize::from(bit & 7)];
        (!name.is_empty()).then(|| if one { name.clone() } else { format!("not {name}") })
    }

    /// What a byte does at an output port, if that is known. `mode` says that the chip takes a mode next.
    pub fn effect(&self, port: u8, byte: u8, mode: bool) -> Option<String> {
        if let Some(serial) = self.serial(port).filter(|serial| serial.status == port) {
            return control_byte(serial.chip, byte, mode);
        }
        let port = self.machine?.ports.outputs.get(&port)?;
        let ones = port.ones(byte);
        (!ones.is_empty()).then(|| ones.join(", "))
    }
}

/// A name of the assembly language made of what a person calls a thing.
pub fn word(text: &str) -> String {
    let mut name = String::new();
    for letter in text.chars() {
        match letter.to_ascii_uppercase() {
            letter if letter.is_ascii_alphanumeric() => name.push(letter),
            _ if !name.is_empty() && !name.ends_with('_') => name.push('_'),
            _ => {}
        }
    }
    let name = name.trim_end_matches('_');
    let reserved = Names::default().intern(name).keyword().is_some();
    match name.starts_with(|first: char| first.is_ascii_alphabetic()) && !reserved {
        true => name.to_owned(),
        false => format!("X_{name}"),
    }
}

/// What a status bit of a serial chip says.
///
/// Source: Motorola MC6850 data sheet, status register; Intel 8251 data sheet, status read format.
fn status_bit(chip: Chip, bit: u8, one: bool) -> Option<&'static str> {
    let yes = match (chip, bit) {
        (Chip::Mc6850, 0) | (Chip::I8251, 1) => ("a character waits", "no character waits"),
        (Chip::Mc6850, 1) | (Chip::I8251, 0) => ("ready to send", "not ready to send"),
        (Chip::I8251, 2) => ("all is sent", "not all is sent"),
        (Chip::Mc6850, 5) | (Chip::I8251, 4) => ("a character was lost", "no character was lost"),
        (Chip::Mc6850, 4) | (Chip::I8251, 5) => ("a stop bit was missing", "the stop bit was there"),
        (Chip::Mc6850, 6) | (Chip::I8251, 3) => ("wrong parity", "right parity"),
        (Chip::Uart(pins), bit) => {
            let of = |pin: Option<UartBit>| pin.filter(|pin| pin.bit == bit);
            let (pin, texts) = [
                (of(pins.received), ("a character waits", "no character waits")),
                (of(pins.ready), ("ready to send", "not ready to send")),
                (of(pins.overrun), ("a character was lost", "no character was lost")),
                (of(pins.framing_error), ("a stop bit was missing", "the stop bit was there")),
                (of(pins.parity_error), ("wrong parity", "right parity")),
            ]
            .into_iter()
            .find_map(|(pin, texts)| Some((pin?, texts)))?;
            if pin.low { (texts.1, texts.0) } else { texts }
        }
        _ => return None,
    };
    Some(if one { yes.0 } else { yes.1 })
}

/// What a control byte of a serial chip does.
///
/// Source: Motorola MC6850 data sheet, control register; Intel 8251 data sheet, mode and command formats.
fn control_byte(chip: Chip, byte: u8, mode: bool) -> Option<String> {
    const WORDS: [&str; 8] = ["7E2", "7O2", "7E1", "7O1", "8N2", "8N1", "8E1", "8O1"];
    const CLOCKS: [&str; 3] = ["1", "16", "64"];
    match chip {
        Chip::Mc6850 => match CLOCKS.get(usize::from(byte & 3)) {
            None => Some("master reset".into()),
            Some(clock) => Some(format!("{}, clock of {clock} times", WORDS[usize::from(byte >> 2 & 7)])),
        },
        Chip::I8251 if mode => {
            let clock = CLOCKS.get(usize::from(byte & 3).checked_sub(1)?)?;
            let parity = match byte >> 4 & 3 {
                1 => 'O',
                3 => 'E',
                _ => 'N',
            };
            let stop = ["", "1", "1.5", "2"].get(usize::from(byte >> 6)).filter(|stop| !stop.is_empty())?;
            Some(format!("mode: {}{parity}{stop}, clock of {clock} times", 5 + (byte >> 2 & 3)))
        }
        Chip::I8251 if byte & 0x40 != 0 => Some("internal reset".into()),
        Chip::I8251 => {
            let bits = ["transmitter", "DTR", "receiver", "break", "errors cleared", "RTS"];
            let on: Vec<_> = (0..6).filter(|bit| byte >> bit & 1 == 1).map(|bit| bits[bit]).collect();
            (!on.is_empty()).then(|| format!("command: {}", on.join(", ")))
        }
        Chip::Uart(_) => None,
    }
}

/// The ports that a machine has, for knowing instructions that use them.
pub fn of_machine(machine: &Machine) -> Vec<u8> {
    let serial = machine.serial.iter().flat_map(|serial| [serial.status, serial.data]);
    let wired = machine.ports.inputs.keys().chain(machine.ports.outputs.keys()).copied();
    serial.chain(wired).chain(machine.sense_port).collect::<BTreeSet<_>>().into_iter().collect()
}
