//! The machine that the artefacts are for: the machine file, checked.

use std::collections::BTreeMap;

use super::disk_drive::DiskDrive;
use super::listed::Listed;
use crate::audio::{Modulation, Pauses, Preset};
use crate::image::{Extent, Image};
use crate::line::LineFormat;
use crate::notation::Address;
use crate::panel::lights::Grounds;
use crate::panel::{Panel, Ports};
use crate::rom::{self, Socket};
use crate::source::{Code, Diagnostic, Diagnostics};

/// A machine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Machine {
    /// Clock periods of the processor in a second, if the file says so.
    pub clock_hz: Option<u64>,
    /// The front panel.
    pub panel: Panel,
    /// The port that reads the sense switches.
    pub sense_port: Option<u8>,
    /// Where bytes can be written; empty if the file does not say.
    pub memory: Vec<Memory>,
    /// What ports are wired to.
    pub ports: Ports,
    /// Serial interfaces.
    pub serial: Listed<Serial>,
    /// Disk drives with their controllers.
    pub drives: Listed<DiskDrive>,
    /// ROM sockets.
    pub sockets: Listed<Socket>,
    /// What its cassette and modem interfaces sound like.
    pub sounds: Vec<MachineSound>,
}

/// A serial interface.
#[derive(Clone, Debug, PartialEq)]
pub struct Serial {
    /// What is connected to it.
    pub name: String,
    /// The chip that does the work.
    pub chip: Chip,
    /// The port of status and control.
    pub status: u8,
    /// The port of the data.
    pub data: u8,
    /// Speed and characters of the line, if the file says so.
    pub line: Option<LineFormat>,
    /// The chip's clock as a multiple of the line's speed: 1, 16 or 64.
    pub clock: u8,
}

impl Serial {
    /// The bits of the status port that show that a character was received.
    ///
    /// Source: Motorola MC6850 data sheet, status register, receive data register full; Intel 8251 data sheet, status read
    /// format, receiver ready.
    pub fn received(&self) -> u8 {
        match self.chip {
            Chip::Mc6850 => 0x01,
            Chip::I8251 => 0x02,
            Chip::Uart(pins) => pins.received.map_or(0, |pin| 1 << pin.bit),
        }
    }

    /// What the status port reads while the chip is set up, the line is silent and everything has been sent.
    ///
    /// Source: Motorola MC6850 data sheet, status register (CTS and DCD held active); Intel 8251 data sheet, status read
    /// format (DSR held active). Pins of a UART that are wired to no bit leave it floating, which reads one.
    pub fn idle_status(&self) -> u8 {
        match self.chip {
            // Transmit data register empty.
            Chip::Mc6850 => 0x02,
            // Data set ready, transmitter empty, transmitter ready.
            Chip::I8251 => 0x85,
            Chip::Uart(pins) => {
                let says_no = [pins.received, pins.overrun, pins.framing_error, pins.parity_error];
                let says_no = says_no.into_iter().flatten().map(|pin| (pin.bit, pin.low));
                let says_yes = pins.ready.map(|pin| (pin.bit, !pin.low));
                says_no.chain(says_yes).fold(0xFF, |status, (bit, one)| if one { status } else { status & !(1 << bit) })
            }
        }
    }
}

/// A serial chip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chip {
    /// Motorola MC6850.
    Mc6850,
    /// Intel 8251.
    I8251,
    /// A hard-wired UART with its status pins on these bits.
    Uart(UartBits),
}

impl Chip {
    /// Whether it has a register at the number of its status port that is written. A hard-wired UART has none.
    pub const fn has_control(self) -> bool {
        !matches!(self, Chip::Uart(_))
    }
}

/// On which bit of the status port each status pin of a hard-wired UART is seen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct UartBits {
    /// A character waits (DAV).
    pub received: Option<UartBit>,
    /// The transmitter's buffer is empty (TBMT).
    pub ready: Option<UartBit>,
    /// A character was lost (OR).
    pub overrun: Option<UartBit>,
    /// No valid stop bit (FE).
    pub framing_error: Option<UartBit>,
    /// Wrong parity (PE).
    pub parity_error: Option<UartBit>,
}

/// A bit with the level that means yes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct UartBit {
    /// `0..=7`.
    pub bit: u8,
    /// Whether a zero means yes.
    pub low: bool,
}

/// Tones and pauses of one interface of a machine.
#[derive(Clone, Debug, PartialEq)]
pub struct MachineSound {
    /// What is connected.
    pub name: String,
    /// Tones, rate, stop bits.
    pub modulation: Modulation,
    /// Leader, gap and trailer to write.
    pub pauses: Pauses,
}

impl From<&Preset> for MachineSound {
    fn from(preset: &Preset) -> MachineSound {
        MachineSound { name: preset.name.to_owned(), modulation: preset.modulation, pauses: preset.pauses }
    }
}

/// A run of addresses where bytes can be written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Memory {
    /// The first address.
    pub base: Address,
    /// Bytes, 1 to 65536.
    pub size: usize,
}

impl Memory {
    /// Whether an address lies in it.
    pub fn contains(&self, address: usize) -> bool {
        (self.base.index()..self.base.index() + self.size).contains(&address)
    }
}

impl Machine {
    /// What the status ports of its serial interfaces read while nothing happens on their lines, by number.
    pub fn idle_inputs(&self) -> BTreeMap<u8, u8> {
        self.serial.iter().map(|serial| (serial.status, serial.idle_status())).collect()
    }

    /// What ports drive in the owner's words, each thing once; serial chips, which the machine itself drives, are left out.
    pub fn driven(&self) -> Vec<String> {
        let is_chip = |port: u8| {
            let serial = self.serial.iter().any(|serial| serial.status == port || serial.data == port);
            serial || self.drives.iter().any(|drive| drive.controller.outputs().contains(&port))
        };
        let mut driven: Vec<String> = Vec::new();
        for (_, port) in self.ports.outputs.iter().filter(|(number, _)| !is_chip(**number)) {
            if !port.name.is_empty() && !driven.contains(&port.name) {
                driven.push(port.name.clone());
            }
        }
        driven
    }

    /// Every run of an image's bytes that lies where nothing can be written.
    pub fn unwritable(&self, image: &Image) -> Diagnostics {
        self.outside(image, |_| false)
    }

    /// The sockets that lie over bytes of an image: what is deposited there stays only while they are empty.
    pub fn covering(&self, image: &Image) -> impl Iterator<Item = &Socket> {
        self.sockets.iter().filter(|socket| socket.range().any(|at| image.byte(Address(at as u16)).is_some()))
    }

    /// A warning for every socket that lies over bytes of an image that is deposited.
    pub fn covered(&self, image: &Image) -> Diagnostics {
        let warn = |socket: &Socket| {
            let headline = format!("socket `{}` lies where bytes are deposited", socket.name);
            Diagnostic::warning(Code::OutsideMemory, headline)
                .with_note(format!(
                    "it is at {}; a part in it answers there, and keeps what it holds",
                    socket.place(self.panel.notation)
                ))
                .with_help("leave it empty")
        };
        self.covering(image).map(warn).collect()
    }

    /// Every run of an image's bytes that lies neither in memory nor in a socket.
    pub fn homeless(&self, image: &Image) -> Diagnostics {
        self.outside(image, |address| self.sockets.iter().any(|socket| socket.range().contains(&address)))
    }

    /// Every run of an image's bytes that lies in no socket.
    pub fn unseated(&self, image: &Image) -> Diagnostics {
        let sockets: Vec<_> = self.sockets.iter().cloned().collect();
        if sockets.is_empty() {
            let problem = Diagnostic::error(Code::SocketStray, "the machine file describes no socket");
            return [problem.with_help("describe the one in which the program lies: `[[socket]]`")]
                .into_iter()
                .collect();
        }
        let (_, found) = rom::fit(image, &sockets, 0, self.panel.notation);
        let is_outside = |problem: &&Diagnostic| matches!(problem.code, Code::SocketOverflow | Code::SocketStray);
        found.iter().filter(is_outside).cloned().collect()
    }

    /// Where memory and sockets lie.
    pub fn grounds(&self) -> Grounds {
        let memory = self.memory.iter().map(|memory| memory.base.index()..memory.base.index() + memory.size);
        Grounds { memory: memory.collect(), sockets: self.sockets.iter().map(Socket::range).collect() }
    }

    /// Every run of an image's bytes that lies in no memory and not where they `may` lie as well.
    fn outside(&self, image: &Image, may: impl Fn(usize) -> bool) -> Diagnostics {
        let mut problems = Diagnostics::default();
        if self.memory.is_empty() {
            return problems;
        }
        for extent in image.extents() {
            for (first, last) in self.gaps(&extent, &may) {
                problems.push(self.run_outside(image, first, last));
            }
        }
        problems
    }

    /// The runs of an extent that lie in no memory and not where they `may`, each by its first and last address.
    fn gaps(&self, extent: &Extent, may: impl Fn(usize) -> bool) -> Vec<(usize, usize)> {
        let mut gaps: Vec<(usize, usize)> = Vec::new();
        for address in extent.base.index()..=extent.last().index() {
            if self.memory.iter().any(|memory| memory.contains(address)) || may(address) {
                continue;
            }
            match gaps.last_mut() {
                Some((_, last)) if *last + 1 == address => *last = address,
                _ => gaps.push((address, address)),
            }
        }
        gaps
    }

    fn run_outside(&self, image: &Image, first: usize, last: usize) -> Diagnostic {
        let text = |address: usize| self.panel.notation.address(Address(address as u16)).to_string();
        let range = format!("`{}` to `{}`", text(first), text(last));
        let regions = self.memory.iter().map(|memory| {
            let first = memory.base.index();
            format!("`{}` to `{}`", text(first), text(first + memory.size - 1))
        });
        let problem = Diagnostic::error(Code::OutsideMemory, format!("bytes for {range} lie in no memory"))
            .with_note(format!("the machine has memory at {}", regions.collect::<Vec<_>>().join(" and ")));
        let socket = self.sockets.iter().find(|socket| socket.range().contains(&first));
        let problem = match socket {
            Some(socket) => {
                problem.with_note(format!("the ROM in socket {} lies there: it cannot be written", socket.name))
            }
            None => problem,
        };
        match image.made_by(Address(first as u16)) {
            Some(place) => problem.at(place.span(), "made here"),
            None => problem,
        }
    }
}
