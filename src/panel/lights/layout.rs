//! What the rows of a lights sheet say: the one source of every output.

use std::collections::BTreeSet;

use super::fold::{Loop, Passage};
use super::trace::{Cycle, Instruction};
use super::{End, Lights};
use crate::cautions::{When, applying};
use crate::isa::{CycleKind, decode};
use crate::notation::{Address, Notation, counted};
use crate::panel::lamps::{Lamp, lamps};
use crate::panel::ports::{Port, Ports};
use crate::panel::program::{Program, statement};
use crate::panel::text::notation_name;

/// The status lights, bit 7 of the status byte first: names and the letters of the text output.
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, Table 2-1.
pub const STATUS: [(&str, char); 8] =
    [("MEMR", 'R'), ("INP", 'I'), ("M1", 'M'), ("OUT", 'O'), ("HLTA", 'H'), ("STACK", 'S'), ("WO", 'W'), ("INTA", 'A')];

/// A row of the sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum Line {
    /// The instruction whose cycles follow.
    Statement {
        /// Where it stands.
        address: String,
        /// What it is, and what the source says of it.
        text: String,
    },
    /// A machine cycle.
    Cycle {
        /// Steps from the start of the run, from 1, later passes of a loop counted too; `None` where the panel does not
        /// stop.
        number: Option<u64>,
        /// Address lights, 15 first; empty if none is meant.
        address: Vec<Lamp>,
        /// Data lights, 7 first; empty if none is meant.
        data: Vec<Lamp>,
        /// Status lights in the order of `STATUS`; empty for an internal cycle.
        status: Vec<Lamp>,
        /// The bus action in words.
        words: String,
    },
    /// What is to be said between the rows.
    Note(String),
}

impl Lights {
    /// The rows in groups that stay together on a page: an instruction, its cycles and what is to be said of them.
    pub(super) fn groups(&self, program: &Program, ports: &Ports) -> Vec<Vec<Line>> {
        let (told, warned) = (BTreeSet::new(), BTreeSet::new());
        let mut clerk =
            Clerk { lights: self, program, ports, number: 1, told, warned, groups: Vec::new(), pending: None };
        clerk.passages(&self.passages);
        clerk.note(self.end_words());
        clerk.groups
    }

    /// The rows in words, in order.
    pub fn lines(&self, program: &Program, ports: &Ports) -> Vec<Line> {
        self.groups(program, ports).into_iter().flatten().collect()
    }

    fn end_words(&self) -> String {
        let address = |address| self.notation.address(address).to_string();
        match self.end {
            End::Halted => "The processor has halted.".into(),
            End::Reached(at) => format!("The run is ended before {}, as asked.", address(at)),
            End::Count(at) => {
                format!("The run is ended after {} cycles; it would go on at {}.", self.cycles, address(at))
            }
            End::Endless => "END OF LOOP: it repeats for ever, unless an input changes.".into(),
            End::NoProgram(at) => format!("The run comes to {}, where nobody put a program.", address(at)),
        }
    }
}

struct Clerk<'a> {
    lights: &'a Lights,
    program: &'a Program,
    ports: &'a Ports,
    number: u64,
    /// Ports whose bits were explained.
    told: BTreeSet<(bool, u8)>,
    /// Output ports that were cautioned for.
    warned: BTreeSet<u8>,
    groups: Vec<Vec<Line>>,
    /// A note that opens the next group.
    pending: Option<String>,
}

impl Clerk<'_> {
    fn passages(&mut self, passages: &[Passage]) {
        for passage in passages {
            match passage {
                Passage::Instruction(instruction) => self.instruction(instruction),
                Passage::Loop(inner) => {
                    let forever = self.lights.end == End::Endless && self.lights.passages.last() == Some(passage);
                    self.repeat(inner, forever);
                }
            }
        }
    }

    fn note(&mut self, note: String) {
        match self.groups.last_mut() {
            Some(group) => group.push(Line::Note(note)),
            None => self.groups.push(vec![Line::Note(note)]),
        }
    }

    fn repeat(&mut self, inner: &Loop, forever: bool) {
        let start = self.number;
        let opening = match inner.last_count {
            _ if forever => "LOOP without end. The first pass:".to_owned(),
            Some(last) => format!("LOOP, run {} times, at last {last} times. The first pass:", inner.count),
            None => format!("LOOP, run {} times. The first pass:", inner.count),
        };
        self.pending = Some(match self.pending.take() {
            Some(outer) => format!("{outer} {opening}"),
            None => opening,
        });
        self.passages(&inner.body);
        self.number = start + inner.steps;
        if !forever {
            self.note(format!("END OF LOOP: its last step is {}.", self.number - 1));
        }
    }

    fn instruction(&mut self, instruction: &Instruction) {
        let notation = self.lights.notation;
        let mut group: Vec<Line> = self.pending.take().map(Line::Note).into_iter().collect();
        let address = notation.address(instruction.address).to_string();
        group.push(Line::Statement { address, text: self.statement(instruction) });
        group.extend(self.caution(instruction).map(Line::Note));
        for cycle in &instruction.cycles {
            let number = cycle.stops().then_some(self.number);
            group.push(line(number, cycle, notation, self.ports));
            self.number += u64::from(cycle.stops());
            group.extend(self.bits(cycle).map(Line::Note));
        }
        self.groups.push(group);
    }

    fn statement(&self, instruction: &Instruction) -> String {
        match self.program.remarks.get(&instruction.address) {
            Some(remark) if remark.comment.is_empty() => remark.statement.clone(),
            Some(remark) => format!("{}   {}", remark.statement, remark.comment),
            None => {
                let fetched = instruction.cycles.iter().filter_map(|cycle| cycle.data);
                let length = instruction.cycles[0].data.map_or(1, |opcode| decode(opcode).length);
                let bytes: Vec<u8> = fetched.take(usize::from(length)).collect();
                statement(&bytes, self.lights.notation)
            }
        }
    }

    /// Before the first step that writes to a port: what hangs on it may move.
    fn caution(&mut self, instruction: &Instruction) -> Option<String> {
        let mut steps = instruction.cycles.iter().filter(|cycle| cycle.stops()).zip(self.number..);
        let (cycle, step) = steps.find(|(cycle, _)| cycle.kind == CycleKind::Output)?;
        self.warned.insert(port_number(cycle.address?)).then(|| {
            let place = place(cycle, cycle.address, self.lights.notation, self.ports);
            format!("CAUTION: step {step} writes to {place}: what it drives may move and stay on.")
        })
    }

    /// What the bits of a port mean, the first time it is used.
    fn bits(&mut self, cycle: &Cycle) -> Option<String> {
        let reads = cycle.kind == CycleKind::Input;
        if !reads && cycle.kind != CycleKind::Output {
            return None;
        }
        let number = port_number(cycle.address?);
        let port = port(self.ports, reads, number)?;
        let bits = port.bit_words();
        if bits.is_empty() || !self.told.insert((reads, number)) {
            return None;
        }
        Some(format!(
            "Bits of {} port {}: {bits}.",
            if reads { "input" } else { "output" },
            self.lights.notation.byte(number)
        ))
    }
}

fn port_number(address: u16) -> u8 {
    address.to_le_bytes()[0]
}

fn port(ports: &Ports, reads: bool, number: u8) -> Option<&Port> {
    if reads { ports.inputs.get(&number) } else { ports.outputs.get(&number) }
}

fn line(number: Option<u64>, cycle: &Cycle, notation: Notation, ports: &Ports) -> Line {
    Line::Cycle {
        number,
        address: cycle.address.map_or_else(Vec::new, |address| lamps(address, 16)),
        data: match cycle.data {
            Some(_) if cycle.window => vec![Lamp::Window; 8],
            Some(data) => lamps(u16::from(data), 8),
            None => Vec::new(),
        },
        status: cycle.kind.status().map_or_else(Vec::new, |status| lamps(u16::from(status), 8)),
        words: words(cycle, notation, ports),
    }
}

/// The bus action of a machine cycle.
fn words(cycle: &Cycle, notation: Notation, ports: &Ports) -> String {
    let byte = notation.byte(cycle.data.unwrap_or_default()).to_string();
    let place = place(cycle, cycle.address, notation, ports);
    let unknown = "an unknown byte".to_owned();
    let read = if cycle.window { &unknown } else { &byte };
    let words = match cycle.kind {
        CycleKind::Fetch | CycleKind::Read | CycleKind::StackRead => format!("reads {read} from {place}"),
        CycleKind::Input if cycle.window => format!("reads {place}, taken as {byte}"),
        CycleKind::Input => format!("reads {byte} from {place}"),
        CycleKind::Write | CycleKind::StackWrite | CycleKind::Output => format!("writes {byte} to {place}"),
        CycleKind::HaltAcknowledge => "halts".into(),
        CycleKind::InterruptAcknowledge | CycleKind::InterruptAcknowledgeWhileHalted => {
            format!("takes {byte} from the interrupting device")
        }
        CycleKind::Internal => "internal: no lights, no stop".into(),
    };
    match varying(cycle, notation) {
        Some(last) => format!("{words} (last pass: {last})"),
        None => words,
    }
}

/// Where the byte goes or comes from.
fn place(cycle: &Cycle, address: Option<u16>, notation: Notation, ports: &Ports) -> String {
    let Some(address) = address else { return String::new() };
    let memory = notation.address(Address(address));
    match cycle.kind {
        CycleKind::Input | CycleKind::Output => {
            let number = port_number(address);
            let text = format!("port {}", notation.byte(number));
            match port(ports, cycle.kind == CycleKind::Input, number) {
                Some(port) if !port.name.is_empty() => format!("{text} \"{}\"", port.name),
                _ => text,
            }
        }
        CycleKind::StackRead | CycleKind::StackWrite => format!("the stack at {memory}"),
        _ => memory.to_string(),
    }
}

/// What the last pass of a loop showed instead.
fn varying(cycle: &Cycle, notation: Notation) -> Option<String> {
    let last = cycle.varying?;
    let byte =
        last.data.filter(|_| !cycle.window && last.data != cycle.data).map(|byte| notation.byte(byte).to_string());
    let address = last.address.filter(|_| last.address != cycle.address);
    let address = address.map(|address| notation.address(Address(address)).to_string());
    match (byte, address) {
        (Some(byte), Some(address)) => {
            let way = if matches!(cycle.kind, CycleKind::Write | CycleKind::StackWrite) { "to" } else { "from" };
            Some(format!("{byte} {way} {address}"))
        }
        (Some(one), None) | (None, Some(one)) => Some(one),
        (None, None) => None,
    }
}

/// The words around the rows.
pub struct Frame {
    /// The name of what is run.
    pub name: String,
    /// What the sheet is.
    pub kind: String,
    /// Start and length.
    pub facts: String,
    /// What can hurt at the steps.
    pub caution: String,
    /// How it is used, in paragraphs.
    pub how: Vec<String>,
}

impl Lights {
    /// The words around the rows.
    pub(super) fn frame(&self) -> Frame {
        let start = self.notation.address(self.start);
        Frame {
            name: self.name.clone(),
            kind: format!("lights sheet, {}", notation_name(self.notation)),
            facts: format!("from {start}, {}", counted(self.cycles, "machine cycle")),
            caution: applying(&[When::Step]).map(|caution| caution.short).collect(),
            how: vec![
                format!(
                    "Stop, set {start}, EXAMINE: row 1 stands. Each press of SINGLE STEP brings the next row: one machine \
                     cycle."
                ),
                "The panel holds the processor in the wait state between T2 and T3 of the cycle. So WAIT is lit, address \
                 and status stand still, and the data lights show the byte that is about to be read, or the byte being \
                 written. A cycle inside the processor has no status and no wait state: the panel does not stop in it."
                    .into(),
            ],
        }
    }
}
