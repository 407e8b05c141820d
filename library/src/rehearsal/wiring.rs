//! Which device answers to which port.

use super::setup::{Setup, SetupError};

/// What an input port reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Source {
    Nothing,
    Fixed(u8),
    Sense,
    Status(usize),
    Data(usize),
    /// A disk controller, and which of its ports.
    Disk(usize, usize),
}

/// Where an output port leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sink {
    Nothing,
    Recorded,
    Control(usize),
    Data(usize),
    /// A disk controller, and which of its ports.
    Disk(usize, usize),
}

/// What every port is connected to, by number.
#[derive(Clone, Debug)]
pub(super) struct Wiring {
    pub sources: Box<[Source; 256]>,
    pub sinks: Box<[Sink; 256]>,
}

impl Wiring {
    /// Connects the ports.
    ///
    /// # Errors
    /// [`SetupError`] if two devices answer to one.
    pub fn new(setup: &Setup) -> Result<Wiring, SetupError> {
        let mut wiring = Wiring { sources: Box::new([Source::Nothing; 256]), sinks: Box::new([Sink::Nothing; 256]) };
        for (number, serial) in setup.serial.iter().enumerate() {
            wiring.source(serial.status, Source::Status(number))?;
            wiring.source(serial.data_in, Source::Data(number))?;
            if let Some(control) = serial.control {
                wiring.sink(control, Sink::Control(number))?;
            }
            wiring.sink(serial.data_out, Sink::Data(number))?;
        }
        for (number, disk) in setup.disks.iter().enumerate() {
            for (role, port) in disk.controller.inputs().into_iter().enumerate() {
                wiring.source(port, Source::Disk(number, role))?;
            }
            for (role, port) in disk.controller.outputs().into_iter().enumerate() {
                wiring.sink(port, Sink::Disk(number, role))?;
            }
        }
        if let Some((port, _)) = setup.sense {
            wiring.source(port, Source::Sense)?;
        }
        for &(port, value) in &setup.inputs {
            wiring.source(port, Source::Fixed(value))?;
        }
        setup.outputs.iter().try_for_each(|&port| wiring.sink(port, Sink::Recorded))?;
        Ok(wiring)
    }

    fn source(&mut self, port: u8, source: Source) -> Result<(), SetupError> {
        match std::mem::replace(&mut self.sources[usize::from(port)], source) {
            Source::Nothing => Ok(()),
            _ => Err(SetupError::InputTaken(port)),
        }
    }

    fn sink(&mut self, port: u8, sink: Sink) -> Result<(), SetupError> {
        match std::mem::replace(&mut self.sinks[usize::from(port)], sink) {
            Sink::Nothing => Ok(()),
            _ => Err(SetupError::OutputTaken(port)),
        }
    }
}
