//! What a person sees of a machine that stays somewhere.

use super::outcome::{Lamps, Rest, TapeEnd, Text};
use super::player::Going;
use super::scene::{Props, Scene};
use super::wires::{Wired, Wires};
use crate::cpu::{Cpu, MachineCycle};
use crate::isa::CycleKind;
use crate::notation::Address;
use crate::panel::card::{Overlay, PanelLights};
use crate::rehearsal::{Lens, Machine, Stop, What};

/// The most instructions of a turn that is looked at.
const LONGEST: usize = 1 << 18;

/// Where a machine stays, and what its panel shows there.
pub struct Look {
    pub rest: Rest,
    pub lamps: Option<Lamps>,
    /// The instructions that it runs there.
    pub runs: Vec<Address>,
}

/// Looks at a machine that stopped for a reason.
pub fn look(machine: &mut Machine, wires: &Wires, stop: Stop) -> Look {
    let nothing = |rest| Look { rest, lamps: None, runs: Vec::new() };
    match stop {
        Stop::Halted => halted(machine, wires),
        Stop::Endless { port, .. } => circling(machine, wires, port),
        Stop::Incident(incident) => match incident.what {
            What::HeldForever { port } => nothing(Rest::Held { port }),
            _ => nothing(Rest::Noise { at: incident.pc }),
        },
        Stop::Deadline | Stop::GivenUp | Stop::Reached(_) => nothing(Rest::RunsOn),
    }
}

/// One instruction, every cycle of which is seen as the lamps show it.
fn step(cpu: &mut Cpu, machine: &mut Machine, wires: &Wires, mut see: impl FnMut(MachineCycle)) {
    let mut bus = Wired { bus: &mut machine.board, wires };
    cpu.step(&mut Lens { board: &mut bus, see: |cycle| see(wires.lamps(cycle)) });
}

fn halted(machine: &mut Machine, wires: &Wires) -> Look {
    let at = machine.cpu.registers.pc.wrapping_sub(1);
    let mut again = Cpu::default();
    again.registers = machine.cpu.registers;
    again.registers.pc = at;
    again.clock = machine.cpu.clock;
    let mut last = None;
    step(&mut again, machine, wires, |cycle| last = Some(cycle));
    let lamps = last.filter(|cycle: &MachineCycle| cycle.kind == CycleKind::HaltAcknowledge);
    let lamps = lamps.map(|cycle| Lamps::from(&PanelLights::still(&cycle)));
    Look { rest: Rest::Halts { at: Address(at) }, lamps, runs: vec![Address(at)] }
}

fn circling(machine: &mut Machine, wires: &Wires, port: Option<u8>) -> Look {
    let mut cpu = machine.cpu.clone();
    let (begin, mut overlay, mut runs) = (cpu.registers, Overlay::default(), Vec::new());
    let (mut low, mut high) = (u16::MAX, 0);
    for _ in 0..LONGEST {
        runs.push(Address(cpu.registers.pc));
        step(&mut cpu, machine, wires, |cycle| {
            overlay.add(&cycle);
            // A line that is stuck is stuck on the lights too.
            if let Some(fetched) = cycle.address.filter(|_| cycle.kind == CycleKind::Fetch) {
                (low, high) = (low.min(fetched), high.max(fetched));
            }
        });
        if cpu.registers == begin {
            break;
        }
    }
    runs.sort_unstable();
    runs.dedup();
    Look {
        rest: Rest::Circles { low: Address(low), high: Address(high), port },
        lamps: Some(Lamps::from(&overlay.lights())),
        runs,
    }
}

/// What each port of a machine was given last.
pub fn ports(going: &Going) -> Vec<(u8, u8)> {
    let mut ports: Vec<(u8, u8)> = Vec::new();
    for output in going.machine.board.outputs().iter().rev() {
        if !ports.iter().any(|(port, _)| *port == output.port) {
            ports.push((output.port, output.byte));
        }
    }
    ports.sort_unstable();
    ports
}

/// What was sent down each line.
pub fn text(going: &Going, scene: &Scene) -> Vec<Text> {
    let lines = (0..scene.stands[0].setup.serial.len()).map(|line| (line, going.machine.board.sent(line)));
    let text = lines.filter(|(_, sent)| !sent.is_empty()).map(|(line, sent)| {
        let last = sent[sent.len().saturating_sub(Text::KEPT)..].iter().map(|sent| sent.byte).collect();
        Text { line, count: sent.len(), last }
    });
    text.collect()
}

/// How far the tapes have come.
pub fn tapes(going: &Going, props: &Props) -> Vec<TapeEnd> {
    let now = going.machine.cpu.clock;
    let started = props.runs.iter().zip(&going.played).enumerate();
    let ends = started.filter_map(|(tape, (run, first))| {
        let frames = run.frames.len();
        let passed = going.machine.board.begun(run.serial, now).saturating_sub((*first)?).min(frames);
        Some(TapeEnd { tape, passed, frames })
    });
    ends.collect()
}
