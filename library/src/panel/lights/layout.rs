//! What the rows of a lights sheet say: the one source of every output.

use std::collections::{BTreeMap, BTreeSet};

use super::fold::{self, Loop, Passage};
use super::sheet::Lights;
use super::trace::{Cycle, Instruction};
use super::ways::{Branch, End, Place, Way};
use super::words::{Wordsmith, port_number};
use crate::isa::{CycleKind, decode};
use crate::panel::lamps::{Lamp, lamps_with_open};
use crate::panel::live::LiveByte;
use crate::panel::ports::Ports;
use crate::panel::program::{Program, statement};

/// The status lights, bit 7 of the status byte first: names and the letters of the text output.
/// Source: Intel 8080 Microcomputer Systems User's Manual, September 1975, Table 2-1.
const STATUS: [(&str, char); 8] =
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
        /// The status lights that the panel has, in the order of [`Lights::status`]; empty for an internal cycle.
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
        let (told, granted, warned) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        let words = Wordsmith { notation: self.panel.notation, ports, branch: None };
        let (moves, groups, pending) = (BTreeMap::new(), Vec::new(), None);
        let mut clerk =
            Clerk { lights: self, program, words, number: 1, told, moves, granted, warned, groups, pending };
        clerk.passages(&self.passages, Some(self.end));
        clerk.note(clerk.words.end(self.end, self.cycles));
        for (number, branch) in self.branches.iter().enumerate() {
            clerk.branch(number, branch);
        }
        clerk.groups
    }

    /// The status lights that are drawn, those of the status word that the panel has: names and the letters of the text
    /// output, bit 7 first.
    pub fn status(&self) -> impl Iterator<Item = (&'static str, char)> {
        STATUS.into_iter().filter(|(name, _)| self.panel.lamps.names().any(|has| has == *name))
    }

    /// The rows in words, in order.
    pub fn lines(&self, program: &Program, ports: &Ports) -> Vec<Line> {
        self.groups(program, ports).into_iter().flatten().collect()
    }
}

struct Clerk<'a> {
    lights: &'a Lights,
    program: &'a Program,
    words: Wordsmith<'a>,
    number: u64,
    /// Ports whose bits were explained.
    told: BTreeSet<(bool, u8)>,
    /// How input ports were last said to move.
    moves: BTreeMap<u8, LiveByte>,
    /// What was said to be taken for granted.
    granted: BTreeSet<&'a str>,
    /// Output ports that were cautioned for.
    warned: BTreeSet<u8>,
    groups: Vec<Vec<Line>>,
    /// A note that opens the next group.
    pending: Option<String>,
}

/// Whether a loop is left.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Leaves {
    /// In a row that is drawn.
    Drawn,
    /// If ever, where nothing is drawn any more.
    NotDrawn,
    /// Never.
    Never,
}

impl Clerk<'_> {
    /// The rows of passages, and how they end if nothing is drawn behind them.
    fn passages(&mut self, passages: &[Passage], end: Option<End>) {
        for (at, passage) in passages.iter().enumerate() {
            match passage {
                Passage::Instruction(instruction) => self.instruction(instruction),
                Passage::Loop(inner) => {
                    let rest = &passages[at + 1..];
                    let leaves = match end {
                        Some(End::Endless) if rest.is_empty() => Leaves::Never,
                        Some(End::Endless | End::Halted) | None => Leaves::Drawn,
                        Some(End::Count(next) | End::Reached(next) | End::NoProgram(next))
                            if rest.is_empty() && fold::begin(&inner.body) != Some(next) =>
                        {
                            Leaves::Drawn
                        }
                        Some(_) if fold::continues(&inner.body, rest) => Leaves::NotDrawn,
                        Some(_) => Leaves::Drawn,
                    };
                    self.repeat(inner, leaves);
                    if leaves == Leaves::NotDrawn && !rest.is_empty() {
                        self.pending = Some("One more pass of it, which is not drawn to its end:".into());
                    }
                }
            }
        }
    }

    /// The rows of another way.
    fn branch(&mut self, number: usize, branch: &Branch) {
        self.words.branch = branch.after.branch;
        self.pending = Some(self.words.branch_opens(number, branch));
        self.words.branch = Some(number);
        self.number = branch.first;
        self.passages(&branch.passages, Some(branch.end));
        let end = self.words.end(branch.end, branch.cycles);
        match self.pending.take() {
            // It ends before its first row.
            Some(opening) => self.groups.push(vec![Line::Note(opening), Line::Note(end)]),
            None => self.note(end),
        }
    }

    fn note(&mut self, note: String) {
        match self.groups.last_mut() {
            Some(group) => group.push(Line::Note(note)),
            None => self.groups.push(vec![Line::Note(note)]),
        }
    }

    fn repeat(&mut self, inner: &Loop, leaves: Leaves) {
        let start = self.number;
        let opening = match inner.last_count {
            _ if leaves == Leaves::Never => "LOOP without end. The first pass:".to_owned(),
            _ if leaves == Leaves::NotDrawn => {
                format!("LOOP, {} passes of it before the rows end. The first pass:", inner.count)
            }
            Some(last) => format!("LOOP, run {} times, at last {last} times. The first pass:", inner.count),
            None => format!("LOOP, run {} times. The first pass:", inner.count),
        };
        self.pending = Some(match self.pending.take() {
            Some(outer) => format!("{outer} {opening}"),
            None => opening,
        });
        self.passages(&inner.body, None);
        self.number = start + inner.steps;
        let last = self.number - 1;
        match leaves {
            Leaves::Never => {}
            Leaves::Drawn => self.note(format!("END OF LOOP: its last step is {last}.")),
            Leaves::NotDrawn => self.note(format!("END OF PASSES: the last step of them is {last}.")),
        }
    }

    fn instruction(&mut self, instruction: &Instruction) {
        let notation = self.lights.panel.notation;
        let mut group: Vec<Line> = self.pending.take().map(Line::Note).into_iter().collect();
        let address = notation.address(instruction.address).to_string();
        group.push(Line::Statement { address, text: self.statement(instruction) });
        group.extend(self.caution(instruction).map(Line::Note));
        for cycle in &instruction.cycles {
            let number = cycle.stops.then_some(self.number);
            group.push(self.cycle(number, cycle));
            self.number += u64::from(cycle.stops);
            group.extend(self.bits(cycle).map(Line::Note));
            group.extend(self.moves(cycle).map(Line::Note));
            group.extend(self.takes_for_granted(cycle).map(Line::Note));
        }
        if let Some(fork) = instruction.fork {
            let way = self.lights.ways.get(&fork.number).copied().unwrap_or(Way::Unfollowed);
            let here = Place { branch: self.words.branch, step: self.number.saturating_sub(1) };
            group.push(Line::Note(self.words.fork(fork, way, here)));
        }
        self.groups.push(group);
    }

    fn cycle(&self, number: Option<u64>, cycle: &Cycle) -> Line {
        let hidden = number.is_none();
        let lamps = |value: Option<u16>, open: u16, count| match value {
            Some(value) if !hidden => lamps_with_open(value, open, count),
            _ => Vec::new(),
        };
        Line::Cycle {
            number,
            address: lamps(cycle.address, cycle.open_address, 16),
            data: moving(lamps(cycle.data.map(u16::from), cycle.open_data.into(), 8), cycle.live),
            status: self.status(lamps(cycle.kind.status().map(u16::from), 0, 8)),
            words: self.words.cycle(cycle),
        }
    }

    /// What the eye can follow of a port that moves, unless it was said the last time.
    fn moves(&mut self, cycle: &Cycle) -> Option<String> {
        let live = cycle.live.filter(|live| live.moving() != 0)?;
        let number = port_number(cycle.address?);
        let is_new = self.moves.insert(number, live) != Some(live);
        let byte = self.lights.panel.notation.byte(number);
        is_new.then(|| format!("Port {byte} as the machine stands here: {}.", live.words()))
    }

    /// What a live port rests on, the first time that it is read.
    fn takes_for_granted(&mut self, cycle: &Cycle) -> Option<String> {
        let taken = self.lights.taken.get(&port_number(cycle.live.and(cycle.address)?))?;
        self.granted.insert(taken).then(|| taken.clone())
    }

    /// Those of all eight status lights that the panel has.
    fn status(&self, all: Vec<Lamp>) -> Vec<Lamp> {
        let has = |name: &str| self.lights.status().any(|(known, _)| known == name);
        all.into_iter().zip(STATUS).filter(|(_, (name, _))| has(name)).map(|(lamp, _)| lamp).collect()
    }

    /// What is executed. Where the program has changed it, what was there before is told as well.
    fn statement(&self, instruction: &Instruction) -> String {
        match (self.as_built(instruction), self.executed(instruction)) {
            (true, _) => self.as_written(instruction),
            (false, Some(now)) => format!("{now}   no longer {}", self.as_written(instruction)),
            (false, None) => format!("open in part, and no longer {}", self.as_written(instruction)),
        }
    }

    /// The cycles that fetch an instruction, as far as it was run: one a byte.
    fn fetches<'i>(&self, instruction: &'i Instruction) -> &'i [Cycle] {
        let cycles = &instruction.cycles;
        let opcode = cycles[0].data.filter(|_| cycles[0].kind == CycleKind::Fetch);
        let length = opcode.map_or(0, |opcode| usize::from(decode(opcode).length));
        &cycles[..length.min(cycles.len())]
    }

    /// Whether the bytes that were fetched are those of the program.
    fn as_built(&self, instruction: &Instruction) -> bool {
        let built = |at: usize| self.program.image.byte(instruction.address.wrapping_add(at as u16));
        let fetched = self.fetches(instruction).iter().enumerate();
        fetched.into_iter().all(|(at, cycle)| match (cycle.data, cycle.open_data) {
            (byte, 0) => built(at).is_none_or(|built| byte == Some(built)),
            (_, _) => built(at).is_none(),
        })
    }

    /// The instruction that was fetched, if all of it is known.
    fn executed(&self, instruction: &Instruction) -> Option<String> {
        let fetched = self.fetches(instruction);
        let bytes: Option<Vec<u8>> = fetched.iter().map(|cycle| cycle.data.filter(|_| cycle.open_data == 0)).collect();
        let bytes = bytes
            .filter(|bytes| bytes.first().is_some_and(|opcode| bytes.len() == usize::from(decode(*opcode).length)))?;
        Some(statement(&bytes, self.lights.panel.notation))
    }

    fn as_written(&self, instruction: &Instruction) -> String {
        match self.program.remarks.get(&instruction.address) {
            Some(remark) if remark.comment.is_empty() => remark.statement.clone(),
            Some(remark) => format!("{}   {}", remark.statement, remark.comment),
            None if instruction.cycles[0].kind != CycleKind::Fetch => "taken".into(),
            None => {
                let fetched = instruction.cycles.iter().filter_map(|cycle| cycle.data);
                let length = instruction.cycles[0].data.map_or(1, |opcode| decode(opcode).length);
                let bytes: Vec<u8> = fetched.take(usize::from(length)).collect();
                statement(&bytes, self.lights.panel.notation)
            }
        }
    }

    /// Before the first step that writes to a port: what hangs on it may move.
    fn caution(&mut self, instruction: &Instruction) -> Option<String> {
        let output = instruction.cycles.iter().position(|cycle| cycle.kind == CycleKind::Output)?;
        let stops = instruction.cycles[..output].iter().filter(|cycle| cycle.stops).count() as u64;
        let cycle = &instruction.cycles[output];
        let when = match cycle.stops {
            true => format!("step {}", self.number + stops),
            false => format!("the press of SINGLE STEP after step {}", (self.number + stops).saturating_sub(1)),
        };
        self.warned.insert(port_number(cycle.address?)).then(|| {
            let place = self.words.place(cycle);
            format!("CAUTION: {when} writes to {place}: what it drives may move and stay on.")
        })
    }

    /// What the bits of a port mean, the first time it is used.
    fn bits(&mut self, cycle: &Cycle) -> Option<String> {
        let reads = cycle.kind == CycleKind::Input;
        if !reads && cycle.kind != CycleKind::Output {
            return None;
        }
        let number = port_number(cycle.address?);
        let port = self.words.port(reads, number)?;
        let bits = port.bit_words();
        if bits.is_empty() || !self.told.insert((reads, number)) {
            return None;
        }
        Some(format!(
            "Bits of {} port {}: {bits}.",
            if reads { "input" } else { "output" },
            self.lights.panel.notation.byte(number)
        ))
    }
}

/// Data lights of which some move, the highest first.
fn moving(mut lamps: Vec<Lamp>, live: Option<LiveByte>) -> Vec<Lamp> {
    let Some(live) = live else { return lamps };
    for (lamp, live) in lamps.iter_mut().zip(live.0.into_iter().rev()) {
        if live.moves() {
            *lamp = Lamp::Live(live.step());
        }
    }
    lamps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::image::Image;
    use crate::notation::{Address, Notation};
    use crate::panel::lights::Request;
    use crate::panel::live::LiveLamp;
    use crate::panel::{Panel, Port};
    use crate::source::{Origin, Position, SourceMap};

    /// `IN 40; JMP 0`, where the port shows the number of a sector and the index hole.
    fn stepped() -> (Program, Lights, Ports) {
        let mut sources = SourceMap::default();
        let made_by = Position { source: sources.add("turning", "", Origin::Given), offset: 0 };
        let mut image = Image::default();
        image.insert(Address(0), &[0o333, 0o40, 0o303, 0, 0], made_by).unwrap();
        let program = Program::from_bytes("turning", image, Notation::Octal);
        let mut byte = LiveByte::fixed(0o300);
        byte.0[0] = LiveLamp { lit: 500, goes_on: 960, open: false };
        byte.0[1] = LiveLamp { lit: 500, goes_on: 480, open: false };
        byte.0[3] = LiveLamp { lit: 500, goes_on: 120, open: false };
        byte.0[5] = LiveLamp { lit: 10, goes_on: 60, open: false };
        let live = [(0o40, vec![byte])].into();
        let panel = Panel { notation: Notation::Octal, ..Panel::default() };
        let lights = Lights::run(&program, &Request { cycles: 100, live, panel, ..Request::default() });
        let ports =
            Ports { inputs: [(0o40, Port { name: "disk".into(), ..Port::default() })].into(), ..Ports::default() };
        (program, lights, ports)
    }

    #[test]
    fn a_port_that_moves_shows_how_bright_its_lamps_are() {
        let (program, lights, ports) = stepped();
        let lines = lights.lines(&program, &ports);
        let data = lines.iter().find_map(|line| match line {
            Line::Cycle { data, words, .. } if words.contains("moves") => Some(data.clone()),
            _ => None,
        });
        let signs: String = data.unwrap().iter().map(|lamp| lamp.sign()).collect();
        assert_eq!(signs, "**1.3.33");
        let notes: Vec<_> =
            lines.iter().filter(|line| matches!(line, Line::Note(note) if note.starts_with("Port"))).collect();
        assert_eq!(notes.len(), 1, "{notes:?}");
        assert!(lights.text(&program, &ports).contains("1 to 5: goes on and off"));
    }

    #[test]
    fn a_loop_that_reads_it_is_folded() {
        let (program, lights, ports) = stepped();
        let is_loop = |line: &Line| matches!(line, Line::Note(note) if note.contains("LOOP without end"));
        assert!(lights.lines(&program, &ports).iter().any(is_loop));
    }
}
