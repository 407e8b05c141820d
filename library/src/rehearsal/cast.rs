//! The machine of a rehearsal, made from the plan, with what lies in its sockets.

use super::drives;
use super::request::Request;
use super::serial::{StatusBit, StatusLayout};
use super::setup::{ChipSetup, SerialSetup, Setup, StatusWires};
use crate::line::LineFormat;
use crate::notation::{Address, Notation};
use crate::project::{Artefacts, Chip, Id, Machine, Plan, Serial, SocketContents, Start, UartBit, UartBits};
use crate::rom::{self, PartFormat, Socket};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// The processor's clock where the machine file does not say, in T-states a second: the fastest of the first 8080.
/// Source: Intel 8080 data sheet, 2 MHz with a clock period of 480 ns at least.
pub const USUAL_CLOCK: u64 = 2_000_000;

/// The machine of a start.
///
/// # Errors
/// What a socket cannot hold, or a machine that the file does not describe well enough.
pub fn setup(plan: &Plan, made: &Artefacts, start: &Start, request: &Request) -> Result<Setup, Diagnostics> {
    let mut problems = Diagnostics::default();
    let rom = roms(plan, made, start, &mut problems);
    if plan.machine.memory.is_empty() {
        let problem = Diagnostic::error(Code::MachineValue, "the machine has no memory to run in");
        problems.push(problem.with_help("say `memory = [{ base = 0, size = 0x2000 }]` in the machine file"));
    }
    let here = drives::disks_of(plan, start);
    let layout = |drive| here.iter().map(|&disk| &plan.disks[disk]).find(|disk| disk.drive == drive);
    let disks = drives::setups(&plan.machine, |drive| layout(drive).map(|disk| disk.layout.clone()), request);
    let seed = request.seed;
    let mut setup = Setup { seed, rom, disks, ..wires(&plan.machine, start.sense, &mut problems) };
    setup.clock_hz = request.clock_hz.unwrap_or(setup.clock_hz);
    for (number, serial) in plan.machine.serial.numbered().filter(|(_, serial)| serial.line.is_some()) {
        if let (Some(&speed), Some(line)) = (request.senders.get(&serial.name), serial.line) {
            setup.serial[station(&plan.machine, number)].sender = Some(LineFormat { speed, ..line });
        }
    }
    if problems.has_errors() { Err(problems) } else { Ok(setup) }
}

/// A machine with empty sockets: its memory, and what answers to its ports.
pub fn wires(machine: &Machine, sense: u8, problems: &mut Diagnostics) -> Setup {
    let serial = machine.serial.iter().filter_map(|serial| {
        Some(SerialSetup {
            chip: chip(serial.chip, &serial.name, problems)?,
            status: serial.status,
            control: serial.chip.has_control().then_some(serial.status),
            data_in: serial.data,
            data_out: serial.data,
            line: serial.line?,
            clock: serial.clock,
            sender: None,
            wires: StatusWires::default(),
        })
    });
    let serial = serial.collect();
    Setup {
        clock_hz: machine.clock_hz.unwrap_or(USUAL_CLOCK),
        ram: machine.memory.iter().map(|memory| (memory.base, memory.size)).collect(),
        serial,
        disks: drives::setups(machine, |_| None, &Request::default()),
        sense: machine.sense_port.map(|port| (port, sense)),
        inputs: other_inputs(machine),
        outputs: other_outputs(machine),
        ..Setup::default()
    }
}

/// The number that the serial interface of the plan's machine has among those with a line.
pub fn station(machine: &Machine, serial: Id<Serial>) -> usize {
    machine.serial.iter().take(serial.place()).filter(|serial| serial.line.is_some()).count()
}

fn roms(plan: &Plan, made: &Artefacts, start: &Start, problems: &mut Diagnostics) -> Vec<(Address, Vec<u8>)> {
    let mut roms = Vec::new();
    for seated in made.sockets.iter().filter(|seated| !start.empty.contains(&seated.socket)) {
        let socket = &plan.machine.sockets[seated.socket];
        match read_back(socket, seated, plan.machine.panel.notation) {
            Ok(bytes) => roms.push((socket.base, bytes)),
            Err(problem) => problems.push(problem),
        }
    }
    roms
}

/// What the machine reads in a socket whose parts were made from their part files.
fn read_back(socket: &Socket, seated: &SocketContents, notation: Notation) -> Result<Vec<u8>, Diagnostic> {
    let mut sources = SourceMap::default();
    let mut parts = Vec::new();
    for (_, file) in &seated.parts {
        let name = &file.part.name;
        let (part, problems) = PartFormat::IntelHex.read(name, name, file.bytes.clone(), &mut sources);
        match problems.iter().next() {
            Some(problem) => return Err(problem.clone()),
            None => parts.push(part),
        }
    }
    rom::join(socket, &parts, notation)
}

fn chip(chip: Chip, name: &str, problems: &mut Diagnostics) -> Option<ChipSetup> {
    match chip {
        Chip::Mc6850 => Some(ChipSetup::Mc6850),
        Chip::I8251 => Some(ChipSetup::I8251),
        Chip::Uart(bits) => {
            let layout = layout(bits);
            if layout.is_none() {
                let headline = format!("it is not known on which bit `{name}` shows that a character was received");
                let problem = Diagnostic::error(Code::MachineValue, headline);
                let help = "say `[serial.bits]` with `\"character received\" = { bit = 0, active = \"high\" }`";
                problems.push(problem.with_help(help));
            }
            layout.map(ChipSetup::HardWired)
        }
    }
}

fn layout(bits: UartBits) -> Option<StatusLayout> {
    let pin = |bit: UartBit| StatusBit { bit: bit.bit, inverted: bit.low };
    Some(StatusLayout {
        data_available: pin(bits.received?),
        buffer_empty: bits.ready.map(pin),
        overrun: bits.overrun.map(pin),
        framing_error: bits.framing_error.map(pin),
        parity_error: bits.parity_error.map(pin),
    })
}

/// Ports that a serial chip with a line or the sense switches already answer to.
fn is_taken(machine: &Machine, port: u8) -> bool {
    let serial = machine.serial.iter().filter(|serial| serial.line.is_some());
    serial.into_iter().any(|serial| serial.status == port || serial.data == port)
}

/// Other input ports read as a bus that nothing drives.
fn other_inputs(machine: &Machine) -> Vec<(u8, u8)> {
    let drives: Vec<_> = machine.drives.iter().flat_map(|drive| drive.controller.inputs()).collect();
    let free = |port: &&u8| !is_taken(machine, **port) && machine.sense_port != Some(**port) && !drives.contains(port);
    machine.ports.inputs.keys().filter(free).map(|&port| (port, 0o377)).collect()
}

fn other_outputs(machine: &Machine) -> Vec<u8> {
    let drives: Vec<_> = machine.drives.iter().flat_map(|drive| drive.controller.outputs()).collect();
    let free = |port: &&u8| !is_taken(machine, **port) && !drives.contains(port);
    machine.ports.outputs.keys().filter(free).copied().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::isa::TStates;
    use crate::rehearsal::serial::Station;

    /// What a silent line is said to show is what its simulated chip shows once it is set up.
    #[test]
    fn an_idle_chip_shows_what_the_machine_file_says() {
        let bit = |bit, low| Some(UartBit { bit, low });
        let pins =
            UartBits { received: bit(3, true), ready: bit(6, true), overrun: bit(1, false), ..UartBits::default() };
        let others = UartBits { received: bit(0, false), framing_error: bit(5, true), ..UartBits::default() };
        let chips = [
            (Chip::Mc6850, &[0o003, 0o021][..]),
            (Chip::I8251, &[0o316, 0o067]),
            (Chip::Uart(pins), &[]),
            (Chip::Uart(others), &[]),
        ];
        for (chip, setup) in chips {
            let line = "300 8N2".parse().unwrap();
            let serial = Serial { name: "x".into(), chip, status: 1, data: 2, line: Some(line), clock: 16 };
            let chip = super::chip(chip, "x", &mut Diagnostics::default()).unwrap();
            let (control, data_in, data_out) = (Some(1), 2, 2);
            let (sender, wires) = (None, StatusWires::default());
            let setup_of = SerialSetup { chip, status: 1, control, data_in, data_out, line, clock: 16, sender, wires };
            let mut station = Station::new(&setup_of, USUAL_CLOCK);
            for &byte in setup {
                station.control(byte, TStates(0), Address(0));
            }
            assert_eq!(station.status(), serial.idle_status(), "{chip:?}");
        }
    }
}
