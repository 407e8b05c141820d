//! Which device answers to which port.

use super::board::Board;
use super::setup::{Setup, SetupError};

/// What an input port reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Source {
    Nothing,
    Fixed(u8),
    Sense,
    Status(usize),
    Data(usize),
}

/// Where an output port leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sink {
    Nothing,
    Recorded,
    Control(usize),
    Data(usize),
}

impl Board {
    /// Connects the ports.
    ///
    /// # Errors
    /// [`SetupError`] if two devices answer to one.
    pub(super) fn wire(&mut self, setup: &Setup) -> Result<(), SetupError> {
        for (number, serial) in setup.serial.iter().enumerate() {
            self.wire_source(serial.status, Source::Status(number))?;
            self.wire_source(serial.data_in, Source::Data(number))?;
            if let Some(control) = serial.control {
                self.wire_sink(control, Sink::Control(number))?;
            }
            self.wire_sink(serial.data_out, Sink::Data(number))?;
        }
        if let Some((port, _)) = setup.sense {
            self.wire_source(port, Source::Sense)?;
        }
        for &(port, value) in &setup.inputs {
            self.wire_source(port, Source::Fixed(value))?;
        }
        setup.outputs.iter().try_for_each(|&port| self.wire_sink(port, Sink::Recorded))
    }

    fn wire_source(&mut self, port: u8, source: Source) -> Result<(), SetupError> {
        match std::mem::replace(&mut self.sources[usize::from(port)], source) {
            Source::Nothing => Ok(()),
            _ => Err(SetupError::InputTaken(port)),
        }
    }

    fn wire_sink(&mut self, port: u8, sink: Sink) -> Result<(), SetupError> {
        match std::mem::replace(&mut self.sinks[usize::from(port)], sink) {
            Sink::Nothing => Ok(()),
            _ => Err(SetupError::OutputTaken(port)),
        }
    }
}
