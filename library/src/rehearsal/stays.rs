//! Where a machine stays when it is left alone. What is said of a light there was seen: one turn of the loop in which it
//! stays is played on a bus that shows every machine cycle.

use std::collections::{BTreeMap, BTreeSet};

use super::incident::What;
use super::machine::{Machine, Stop};
use super::outcome::Rest;
use super::round::Round;
use super::unset::Unset;
use crate::cpu::{Bus, Cpu, MachineCycle};
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;
use crate::panel::card::{Doubt, Overlay, PanelLights, Seen, Stays, Typed, Written};
use crate::project::{self, Id, Tape};

/// What was seen of a start, as far as it came.
#[derive(Clone, Debug, Default)]
pub struct LeftAlone {
    /// Before a tape was started, in the order in which they are read.
    pub before: Vec<(Id<Tape>, Seen)>,
    /// At the end.
    pub last: Option<Seen>,
    /// What went wrong on the way.
    pub doubts: Vec<Doubt>,
    pub(super) told: Told,
    /// For how many thousandths of a second what nobody set is followed where the start is left alone, if not to the end.
    pub(super) followed: Option<u64>,
    /// Whether that was not long enough to say what is seen.
    pub(super) lost: bool,
}

/// How much of what a machine put out has been told.
#[derive(Clone, Debug, Default)]
pub struct Told {
    outputs: usize,
    sent: BTreeMap<usize, usize>,
}

/// What is seen of a machine whose run has stopped, and what it put out since it was told last. `None` where it stopped for
/// something that should not happen.
pub(super) fn seen(
    machine: &mut Machine,
    unset: &mut Unset,
    (of, name): (&project::Machine, &str),
    stop: Stop,
    told: &mut Told,
) -> Option<Seen> {
    let stays = match stop {
        Stop::Halted => Stays::Halts(PanelLights::still(&halt(machine)?)),
        Stop::Endless { .. } => circle(machine, unset),
        Stop::Deadline | Stop::GivenUp => Stays::RunsOn,
        Stop::Reached(_) | Stop::Incident(_) => {
            let assumed = assumed(machine);
            (!assumed.is_empty()).then(|| Stays::Depends(assumed.into_iter().collect()))?
        }
    };
    let (mut written, typed) = (written(machine, unset, told), typed(machine, unset, of, told));
    if let Stays::Circles { puts, .. } = &stays {
        // How often that was before it was looked at says nothing.
        written.retain(|written| puts.iter().all(|put| put.port != written.port));
    }
    Some(Seen { name: name.to_owned(), stays, assumed: assumed(machine).into_iter().collect(), written, typed })
}

/// Where a machine stays whose run has stopped; it is a turn of its loop further afterwards.
pub(super) fn rest(machine: &mut Machine, stop: Stop) -> Option<Rest> {
    match stop {
        Stop::Halted => Some(Rest::Halts(Address(machine.cpu.registers.pc.wrapping_sub(1)))),
        Stop::Endless { .. } => {
            let begin = machine.cpu.registers;
            let mut lowest = begin.pc;
            for _ in 0..LONGEST {
                if machine.step(&mut ()).is_some() || machine.cpu.registers == begin {
                    break;
                }
                lowest = lowest.min(machine.cpu.registers.pc);
            }
            Some(Rest::Circles(Address(lowest)))
        }
        _ => None,
    }
}

/// The lowest and the highest instruction of the loop in which a machine stays, if it is short.
pub(super) fn circles(machine: &Machine) -> Option<(Address, Address)> {
    let mut machine = machine.clone();
    let begin = machine.cpu.registers;
    let (mut low, mut high) = (begin.pc, begin.pc);
    for _ in 0..LONGEST {
        machine.step(&mut ());
        if machine.cpu.registers == begin {
            return Some((Address(low), Address(high)));
        }
        (low, high) = (low.min(machine.cpu.registers.pc), high.max(machine.cpu.registers.pc));
    }
    None
}

/// The ports that were written since it was told last.
fn written(machine: &Machine, unset: &Unset, told: &mut Told) -> Vec<Written> {
    let outputs = machine.board.outputs();
    let mut ports: BTreeMap<u8, Written> = BTreeMap::new();
    for (output, number) in outputs[told.outputs..].iter().zip(told.outputs..) {
        let port = output.port;
        let count = ports.get(&port).map_or(0, |written| written.count) + 1;
        ports.insert(port, Written { port, count, last: output.byte, open: unset.put(number) });
    }
    told.outputs = outputs.len();
    ports.into_values().collect()
}

/// What was sent down the lines since it was told last.
fn typed(machine: &Machine, unset: &Unset, of: &project::Machine, told: &mut Told) -> Vec<Typed> {
    let lines = of.serial.iter().filter(|serial| serial.line.is_some()).enumerate();
    let typed = lines.filter_map(|(number, serial)| {
        let sent = machine.board.sent(number);
        let from = told.sent.insert(number, sent.len()).unwrap_or(0);
        let text: String = sent[from..].iter().map(|sent| char::from(sent.byte & 0x7F)).collect();
        (!text.is_empty()).then(|| Typed { line: serial.name.clone(), text, open: unset.gave(number) })
    });
    typed.collect()
}

/// The machine cycle in which the processor halted.
fn halt(machine: &mut Machine) -> Option<MachineCycle> {
    let mut again = Cpu::default();
    again.registers = machine.cpu.registers;
    again.registers.pc = again.registers.pc.wrapping_sub(1);
    again.clock = machine.cpu.clock;
    let mut last = None;
    again.step(&mut Lens { board: &mut machine.board, see: |cycle| last = Some(cycle) });
    last.filter(|cycle| cycle.kind == CycleKind::HaltAcknowledge)
}

/// Plays one turn of a loop that goes on for ever; the machine is as it was afterwards.
fn circle(machine: &mut Machine, unset: &mut Unset) -> Stays {
    let waits = Round::of(machine).decides.into_keys().collect();
    let (mut overlay, mut reads, mut puts) = (Overlay::default(), BTreeSet::new(), BTreeMap::new());
    let Machine { cpu, board, .. } = machine;
    let begin = cpu.registers;
    for _ in 0..LONGEST {
        unset.observe(cpu, board);
        let shown = unset.shown();
        // Its first byte is on the lights as it is in memory, whatever the instruction then does.
        let fetched = (0, unset.byte(board, Address(cpu.registers.pc)));
        let open = unset.put(board.outputs().len());
        board.begin_instruction(Address(cpu.registers.pc));
        let see = |cycle: MachineCycle| {
            overlay.add_open(&cycle, if cycle.kind == CycleKind::Fetch { fetched } else { shown });
            let port = cycle.address.map(|port| port as u8);
            reads.extend(port.filter(|_| cycle.kind == CycleKind::Input));
            let put = port.zip(cycle.data).filter(|_| cycle.kind == CycleKind::Output);
            puts.extend(put.map(|(port, last)| (port, Written { port, count: 1, last, open })));
        };
        cpu.step(&mut Lens { board: &mut *board, see });
        if cpu.registers == begin {
            break;
        }
    }
    let (reads, puts) = (reads.into_iter().collect(), puts.into_values().collect());
    Stays::Circles { reads, waits, puts, lights: overlay.lights() }
}

/// The ports that were read although nothing is known to answer there.
fn assumed(machine: &Machine) -> BTreeSet<u8> {
    let board = &machine.board;
    let unknown = board.incidents().iter().filter_map(|incident| match incident.what {
        What::InputUnknown(port) => Some(port),
        _ => None,
    });
    board.fixed_ports_read().map(|(port, _)| port).chain(unknown).collect()
}

/// The most instructions of a turn.
const LONGEST: usize = 1 << 20;

/// A bus with somebody who sees every machine cycle.
pub struct Lens<'a, B, F> {
    /// The bus.
    pub board: &'a mut B,
    /// Who sees.
    pub see: F,
}

impl<B: Bus, F: FnMut(MachineCycle)> Bus for Lens<'_, B, F> {
    fn read(&mut self, address: u16) -> u8 {
        self.board.read(address)
    }

    fn write(&mut self, address: u16, byte: u8) {
        self.board.write(address, byte);
    }

    fn input(&mut self, port: u8) -> u8 {
        self.board.input(port)
    }

    fn output(&mut self, port: u8, byte: u8) {
        self.board.output(port, byte);
    }

    fn begin(&mut self, kind: CycleKind, address: Option<u16>, at: TStates) -> TStates {
        self.board.begin(kind, address, at)
    }

    fn complete(&mut self, cycle: MachineCycle) {
        (self.see)(cycle);
    }
}
