//! How the lights look while a program goes round its last loop.

use std::collections::BTreeSet;

use crate::isa::CycleKind;
use crate::notation::{Address, Notation};
use crate::panel::lamps::Lamp;
use crate::panel::lights::{Cycle, End, Lights, Passage, Request, World};
use crate::panel::program::Program;

use super::PanelLights;

/// Machine cycles that a program may take until it waits.
const PATIENCE: u64 = 200_000;

/// What a program does when it is left alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Rest {
    /// It goes round a loop that reads these ports.
    Waits {
        /// The ports that it reads meanwhile.
        ports: BTreeSet<u8>,
        /// How the lights look.
        lights: PanelLights,
    },
    /// It halts.
    Halts(PanelLights),
    /// It does something else.
    Unknown,
}

/// Runs a program from its entry, with every input all zeros and with every input all ones. Where it waits with both, it is
/// taken to wait where it reads fewer ports: a status that says no, not one that says yes for ever.
pub fn rest(program: &Program, entry: Address, notation: Notation, sense: Option<(u8, u8)>) -> Rest {
    let run = |assumed| {
        let world = World::Taken(assumed);
        let mut request = Request { start: entry, cycles: PATIENCE, world, ..Request::default() };
        request.inputs.extend(sense.map(|(port, byte)| (port, [byte].into())));
        of_run(&Lights::run(program, notation, &request))
    };
    match (run(0), run(0xFF)) {
        (Rest::Waits { ports, .. }, ones @ Rest::Waits { .. }) if ones.reads() < ports.len() => ones,
        (zeros @ Rest::Waits { .. }, _) => zeros,
        (_, ones @ Rest::Waits { .. }) => ones,
        (zeros, _) => zeros,
    }
}

impl Rest {
    /// How many ports it reads meanwhile.
    fn reads(&self) -> usize {
        match self {
            Rest::Waits { ports, .. } => ports.len(),
            Rest::Halts(_) | Rest::Unknown => 0,
        }
    }
}

fn of_run(lights: &Lights) -> Rest {
    let mut cycles = Vec::new();
    match (lights.end, lights.passages.last()) {
        (End::Endless, Some(last)) => {
            collect(last, &mut cycles);
            let reads = cycles.iter().filter(|cycle| cycle.kind == CycleKind::Input);
            let ports: BTreeSet<u8> = reads.filter_map(|cycle| Some(cycle.address?.to_le_bytes()[0])).collect();
            if ports.is_empty() { Rest::Unknown } else { Rest::Waits { ports, lights: blend(&cycles) } }
        }
        (End::Halted, Some(Passage::Instruction(last))) => {
            let address = last.cycles.last().and_then(|cycle| cycle.address).unwrap_or_default();
            Rest::Halts(PanelLights { address: crate::panel::lamps::lamps(address, 16), data: Vec::new() })
        }
        _ => Rest::Unknown,
    }
}

fn collect<'a>(passage: &'a Passage, cycles: &mut Vec<&'a Cycle>) {
    match passage {
        Passage::Instruction(instruction) => cycles.extend(&instruction.cycles),
        Passage::Loop(inner) => inner.body.iter().for_each(|passage| collect(passage, cycles)),
    }
}

/// The address lights of many cycles at once: what is always on is lit, what is sometimes on flickers.
fn blend(cycles: &[&Cycle]) -> PanelLights {
    let addresses = || cycles.iter().filter_map(|cycle| cycle.address);
    let always = addresses().fold(0xFFFF, |all, address| all & address);
    let ever = addresses().fold(0, |any, address| any | address);
    let look = |bit: u32| match (always >> bit & 1, ever >> bit & 1) {
        (1, _) => Lamp::Lit,
        (_, 0) => Lamp::Dark,
        _ => Lamp::Flickers,
    };
    PanelLights { address: (0..16).rev().map(look).collect(), data: Vec::new() }
}
