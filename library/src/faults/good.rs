//! The start without a fault: what it leaves, what it shows, and moments of it from which a play can go on.

use super::ending::good_ending;
use super::outcome::Ending;
use super::player::{Counts, Going, Pause, Watcher};
use super::scene::{Props, Scene};
use super::wires::Wires;
use crate::cpu::{Cpu, MachineCycle};
use crate::image::MEMORY;
use crate::isa::{CycleKind, TStates};
use crate::notation::Address;
use crate::rehearsal::{Board, Lens, Stop, Witness};

/// The good start with one noise.
pub struct Good {
    /// What is played.
    pub props: Props,
    /// Moments of it, in order of time; the first is the one of RUN.
    pub moments: Vec<Going>,
    /// It as each stage but the first is entered, and at the end.
    pub entries: Vec<Going>,
    /// What it touches on the way.
    pub way: Way,
    /// What its last program does.
    pub act: Act,
    /// Instructions that are run one by one up to the last stage.
    pub count: u64,
    /// Its end.
    pub ending: Ending,
    /// All addresses of its stages.
    pub chain: Vec<Address>,
}

/// What a start touches up to its last stage.
pub struct Way {
    /// When each byte of memory is read or written first.
    first: Box<[TStates; MEMORY]>,
    /// Which addresses are run as instructions, those of the last stage included.
    runs: Box<[bool; MEMORY]>,
}

impl Way {
    /// When a byte of memory is touched first; never is the end of time.
    pub fn first(&self, address: Address) -> TStates {
        self.first[address.index()]
    }

    /// Whether an instruction is run.
    pub fn runs(&self, address: Address) -> bool {
        self.runs[address.index()]
    }

    fn new() -> Way {
        Way { first: Box::new([TStates(u64::MAX); MEMORY]), runs: Box::new([false; MEMORY]) }
    }

    fn see(&mut self, cycle: &MachineCycle) {
        let Some(address) = cycle.address.filter(|_| touches_memory(cycle.kind)) else { return };
        let at = usize::from(address);
        self.first[at] = self.first[at].min(cycle.at);
        self.runs[at] |= cycle.kind == CycleKind::Fetch;
    }
}

fn touches_memory(kind: CycleKind) -> bool {
    matches!(kind, CycleKind::Fetch | CycleKind::Read | CycleKind::Write | CycleKind::StackRead | CycleKind::StackWrite)
}

/// What the last program does while it is watched.
pub struct Act {
    /// Bytes that it takes from memory as it finds it, and those of its own image.
    pub uses: Vec<Address>,
    /// Bytes that it leaves behind if it stays somewhere.
    pub leaves: Vec<Address>,
    /// Input ports that it reads.
    pub reads: Vec<u8>,
    /// What it puts out in half the time for which it is watched, and in twice that time.
    pub little: Shown,
    /// See `little`.
    pub much: Shown,
    /// How it ends, if it comes to an end within twice the time.
    pub stop: Option<Stop>,
    /// It as it has come to that end.
    pub last: Going,
}

/// What a program has put out since a moment.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Shown {
    /// Ports with their bytes; one that a port has already is not put there again.
    pub ports: Vec<(u8, u8)>,
    /// Characters, by lines.
    pub lines: Vec<Vec<u8>>,
}

/// Up to where a machine has put things out.
#[derive(Clone, Debug)]
pub struct Mark {
    outputs: usize,
    sent: Vec<usize>,
}

impl Mark {
    /// Everything up to now.
    pub fn here(going: &Going, lines: usize) -> Mark {
        let board = &going.machine.board;
        Mark { outputs: board.outputs().len(), sent: (0..lines).map(|line| board.sent(line).len()).collect() }
    }
}

impl Shown {
    /// Nothing, on so many lines.
    pub fn nothing(lines: usize) -> Shown {
        Shown { ports: Vec::new(), lines: vec![Vec::new(); lines] }
    }

    /// What was put out since.
    pub fn since(going: &Going, mark: &Mark) -> Shown {
        let board = &going.machine.board;
        let mut ports: Vec<(u8, u8)> = Vec::new();
        for output in &board.outputs()[mark.outputs..] {
            let before = ports.iter().rev().find(|(port, _)| *port == output.port);
            if before.is_none_or(|(_, byte)| *byte != output.byte) {
                ports.push((output.port, output.byte));
            }
        }
        let sent = |(line, from): (usize, &usize)| board.sent(line)[*from..].iter().map(|sent| sent.byte).collect();
        Shown { ports, lines: mark.sent.iter().enumerate().map(sent).collect() }
    }

    /// Whether the other has put out all that this one has, and perhaps more.
    pub fn begins(&self, other: &Shown) -> bool {
        let lines = self.lines.iter().zip(&other.lines).all(|(one, other)| other.starts_with(one));
        lines && other.ports.starts_with(&self.ports)
    }
}

/// How long the last program is watched, in thousandths of a second.
const WATCHED_MS: u64 = 100;

/// For how long that is.
pub fn watched(clock_hz: u64) -> TStates {
    TStates(clock_hz * WATCHED_MS / 1000)
}

/// Moments that are kept of a start.
const MOMENTS: u64 = 96;

/// The most instructions of a good start; a start that needs more is not played with faults.
const MOST: u64 = 200_000_000;

/// Why a start is not played with faults.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooLong;

impl Good {
    /// Plays the start with a noise.
    ///
    /// # Errors
    /// It does not come to its last stage in the instructions that are played of it.
    pub fn new(scene: &Scene, noise: usize) -> Result<Good, TooLong> {
        let props = scene.props(noise);
        let begin = Going::begin(scene, &props, &[]).ok_or(TooLong)?.0;
        let (length, count) = length(scene, &props, begin.clone())?;
        let (moments, mut entries) = moments(scene, &props, &begin, length);
        let way = way(scene, &props, begin);
        let last = entries.last().cloned().unwrap_or_else(|| moments[0].clone());
        let act = act(scene, &props, &last);
        entries.push(act.last.clone());
        let ending = good_ending(scene, &props, &act.last, act.stop);
        Ok(Good { props, moments, entries, way, act, count, ending, chain: scene.chain() })
    }

    /// The last moment before another.
    pub fn moment_before(&self, at: TStates) -> &Going {
        let later = self.moments.partition_point(|moment| moment.machine.cpu.clock < at);
        &self.moments[later.saturating_sub(1)]
    }

    /// The first moment that is not before another.
    pub fn moment_after(&self, at: TStates) -> Option<&Going> {
        let later = self.moments.partition_point(|moment| moment.machine.cpu.clock < at);
        self.moments.get(later)
    }

    /// It as the last stage is entered.
    pub fn entry(&self) -> &Going {
        self.entries.len().checked_sub(2).map_or(&self.moments[0], |at| &self.entries[at])
    }
}

/// How long the start takes, and how many instructions are run one by one.
fn length(scene: &Scene, props: &Props, mut going: Going) -> Result<(TStates, u64), TooLong> {
    let mut watcher = Watcher::new(Wires::default(), MOST);
    match going.go(scene, props, TStates(u64::MAX), &mut watcher) {
        Pause::Payload => Ok((going.machine.cpu.clock, watcher.count)),
        _ => Err(TooLong),
    }
}

/// Moments of the start, and it as each later stage is entered.
fn moments(scene: &Scene, props: &Props, begin: &Going, length: TStates) -> (Vec<Going>, Vec<Going>) {
    let (mut moments, mut entries) = (vec![begin.clone()], Vec::new());
    let mut going = begin.clone();
    let mut watcher = Watcher::new(Wires::default(), u64::MAX);
    let step = length.0 / MOMENTS + 1;
    for number in 1.. {
        let place = going.place;
        let pause = going.go(scene, props, TStates(number * step), &mut watcher);
        if going.place != place {
            // What lies between is played again, up to each entry.
            entries.extend(entered(scene, props, moments.last().unwrap_or(begin), going.place));
        }
        if pause != Pause::Moment {
            break;
        }
        moments.push(going.clone());
    }
    (moments, entries)
}

/// A start played on from a moment, as each stage up to a place is entered.
fn entered(scene: &Scene, props: &Props, from: &Going, place: usize) -> Vec<Going> {
    let mut going = from.clone();
    let mut entries = Vec::new();
    while going.place < place {
        going.go_to_next(scene, props, TStates(u64::MAX), &mut Watcher::new(Wires::default(), u64::MAX));
        entries.push(going.clone());
    }
    entries
}

/// Sees every machine cycle of a play.
struct Seer<F> {
    see: F,
}

impl<F: FnMut(MachineCycle)> Witness for Seer<F> {
    fn advance(&mut self, cpu: &mut Cpu, board: &mut Board) {
        cpu.step(&mut Lens { board, see: &mut self.see });
    }
}

impl<F: FnMut(MachineCycle)> Counts for Seer<F> {
    fn has_enough(&self) -> bool {
        false
    }
}

/// What the start touches, its last program included.
fn way(scene: &Scene, props: &Props, mut going: Going) -> Way {
    let mut way = Way::new();
    let mut seer = Seer { see: |cycle: MachineCycle| way.see(&cycle) };
    going.go(scene, props, TStates(u64::MAX), &mut seer);
    let until = TStates(going.machine.cpu.clock.0 + 2 * watched(props.setup.clock_hz).0);
    going.stretch(until, &mut seer);
    way
}

/// What the last program does, from its entry on.
fn act(scene: &Scene, props: &Props, entry: &Going) -> Act {
    let lines = props.setup.serial.len();
    let mark = Mark::here(entry, lines);
    let mut going = entry.clone();
    let (mut found, mut left) = (vec![false; MEMORY], vec![false; MEMORY]);
    let mut reads = [false; 256];
    let mut seer = Seer {
        see: |cycle: MachineCycle| {
            let Some(address) = cycle.address else { return };
            let at = usize::from(address);
            match cycle.kind {
                CycleKind::Input => reads[at & 0xFF] = true,
                CycleKind::Write | CycleKind::StackWrite => left[at] = true,
                kind if touches_memory(kind) => found[at] |= !left[at],
                _ => {}
            }
        },
    };
    let begin = entry.machine.cpu.clock;
    let time = watched(props.setup.clock_hz).0;
    going.stretch(TStates(begin.0 + time / 2), &mut seer);
    let little = Shown::since(&going, &mark);
    let stop = going.stretch(TStates(begin.0 + 2 * time), &mut seer);
    let much = Shown::since(&going, &mark);
    if let Some(payload) = scene.stage(scene.last()) {
        for extent in payload.image.extents() {
            (0..extent.bytes.len()).for_each(|at| found[extent.base.index() + at] = true);
        }
    }
    let all = |cells: &[bool]| (0..MEMORY).filter(|&at| cells[at]).map(|at| Address(at as u16)).collect();
    let stop = (stop != Stop::Deadline).then_some(stop);
    let reads = (0..=u8::MAX).filter(|&port| reads[usize::from(port)]).collect();
    Act { uses: all(&found), leaves: all(&left), reads, little, much, stop, last: going }
}
