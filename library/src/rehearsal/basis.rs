//! What a rehearsal rests on, in words.

use std::collections::BTreeSet;

use super::cast;
use super::chain::Run;
use super::incident::What;
use super::memory::UNDRIVEN;
use super::outcome::Basis;
use super::words::seconds;
use crate::notation::Address;
use crate::panel::Reset;

/// What no rehearsal shows, whatever it rests on.
pub const NOT_SHOWN: [&str; 4] =
    ["wiring", "levels", "the timing of mechanics", "anything that the machine file does not say"];

impl Run<'_> {
    /// What the outcome rests on, once the run is over.
    pub fn basis(&self) -> Basis {
        let mut programs: Vec<String> = Vec::new();
        for &number in &self.start.stages {
            let file = &self.plan.stages[number].file;
            if !programs.contains(file) {
                programs.push(file.clone());
            }
        }
        let machine = self.plan.machine_file.clone();
        Basis { machine, programs, assumed: self.assumed(), departures: self.departures() }
    }

    fn assumed(&self) -> Vec<String> {
        let (machine, notation) = (&self.plan.machine, self.plan.machine.panel.notation);
        let mut assumed = Vec::new();
        if machine.clock_hz.is_none() {
            assumed.push(format!("a clock of {} MHz", cast::USUAL_CLOCK as f64 / 1e6));
        }
        if machine.panel.reset == Reset::Missing {
            assumed
                .push("a reset at power-on that stops the processor and resets every chip (the panel has none)".into());
        }
        let unknown = self.machine.board.incidents().iter().filter_map(|incident| match incident.what {
            What::InputUnknown(port) => Some(port),
            _ => None,
        });
        let undriven = notation.byte(UNDRIVEN);
        assumed.extend(unknown.collect::<BTreeSet<_>>().into_iter().map(|port| {
            format!("port {}, which the machine file does not describe, always reads {undriven}", notation.byte(port))
        }));
        assumed.extend(self.machine.board.fixed_ports_read().map(|(port, byte)| {
            let name = machine.ports.inputs.get(&port).map_or("", |known| known.name.as_str());
            let named = if name.is_empty() { String::new() } else { format!(" \"{name}\"") };
            format!("port {}{named} always reads {}", notation.byte(port), notation.byte(byte))
        }));
        assumed.extend(self.assumed_of_holes());
        assumed.extend(self.assumed_of_drives());
        assumed.extend(self.plan.assumed_of_sockets(self.start));
        assumed
    }

    /// What was read where there is no memory.
    fn assumed_of_holes(&self) -> Option<String> {
        let (notation, board) = (self.plan.machine.panel.notation, &self.machine.board);
        let is_memory = |address: Address| board.memory.is_ram(address) || board.memory.is_rom(address);
        let read = board.incidents().iter().filter_map(|incident| match incident.what {
            What::ReadsUnloaded(address) if !is_memory(address) => Some(address),
            _ => None,
        });
        let read: BTreeSet<Address> = read.collect();
        let undriven = notation.byte(UNDRIVEN);
        let first = notation.address(*read.first()?);
        Some(match read.len() {
            1 => format!("{first}, where the machine file has no memory, reads {undriven}"),
            more => format!("{first} and {} more addresses without memory read {undriven}", more - 1),
        })
    }

    /// What the request asked to be otherwise than the chain says.
    pub fn departures(&self) -> Vec<String> {
        let notation = self.plan.machine.panel.notation;
        let right = |address: Address| {
            let right = self.start.stages.iter().find_map(|&stage| self.plan.stages[stage].image.byte(address));
            right.map_or("nothing".into(), |right| notation.byte(right).to_string())
        };
        let slips = self.request.slips.iter().map(|&(address, byte)| {
            let (place, byte) = (notation.address(address), notation.byte(byte));
            format!("the slip: {place} was set to {byte} instead of {}", right(address))
        });
        let skips = self.request.skips.iter().map(|&address| {
            let place = notation.address(address);
            format!("the skip: {} was not deposited at {place}", right(address))
        });
        let sense = self.request.sense.filter(|sense| *sense != self.start.sense).map(|sense| {
            let (set, right) = (notation.byte(sense), notation.byte(self.start.sense));
            format!("the sense switches stood at {set} instead of {right}")
        });
        let tapes = self.outcome.tapes.iter().filter_map(|tape| {
            let after = *self.request.after.get(&tape.name)?;
            Some(match after {
                after if after < 0.0 => {
                    format!("the tape `{}` ran for {} when RUN was pressed", tape.name, seconds(-after))
                }
                after => {
                    let after = seconds(after);
                    format!("the tape `{}` was started {after} after the stage that reads it", tape.name)
                }
            })
        });
        slips.chain(skips).chain(sense).chain(tapes).chain(self.speeds()).chain(self.drive_departures()).collect()
    }

    /// What ran at another speed than described.
    fn speeds(&self) -> Vec<String> {
        let mut speeds = Vec::new();
        if let Some(hertz) = self.request.clock_hz {
            speeds.push(format!("the processor had a clock of {} MHz", hertz as f64 / 1e6));
        }
        if let Some(pace) = self.request.pace {
            let (stage, serial) = (&self.plan.stages[pace.stage].name, &self.plan.machine.serial[pace.serial].name);
            let per_cent = f64::from(pace.parts) / 100.0;
            speeds.push(format!("while `{stage}` ran, `{serial}` had {per_cent} per cent of its speed"));
        }
        speeds.extend(self.request.senders.iter().map(|(name, speed)| {
            let baud = f64::from(speed.hundredths()) / 100.0;
            format!("what came down the line of `{name}` came at {baud} baud")
        }));
        speeds
    }
}
