//! A start under way: the machine, how far the chain has come, and what watches it.

use super::fault::Slip;
use super::hand::Hand;
use super::outcome::Checks;
use super::scene::{Props, Scene};
use super::wires::{Wired, Wires};
use crate::cpu::Cpu;
use crate::isa::TStates;
use crate::notation::Address;
use crate::rehearsal::{Board, Machine, Stop, Witness};

/// A start under way.
#[derive(Clone, Debug)]
pub struct Going {
    pub machine: Machine,
    /// The place of the stage that runs.
    pub place: usize,
    /// When each stage was entered.
    pub entered: Vec<TStates>,
    /// Which character of its line the first frame of each tape is, once the tape has been started.
    pub played: Vec<Option<usize>>,
}

/// The most instructions of a play that are run one by one; turns of a loop that waits do not count.
pub const MOST_INSTRUCTIONS: u64 = 250_000;

/// How long the machine runs from one look at it to the next.
const LOOK: u64 = 1 << 22;

/// Who watches a play: it counts instructions, and puts wires between the processor and its board.
pub struct Watcher {
    pub wires: Option<Wires>,
    pub count: u64,
    pub most: u64,
}

impl Watcher {
    pub fn new(wires: Wires, most: u64) -> Watcher {
        Watcher { wires: (wires != Wires::default()).then_some(wires), count: 0, most }
    }
}

impl Witness for Watcher {
    #[inline]
    fn advance(&mut self, cpu: &mut Cpu, board: &mut Board) {
        self.count += 1;
        match &self.wires {
            None => cpu.step(board),
            Some(wires) => cpu.step(&mut Wired { bus: board, wires }),
        }
    }

    fn goes_on(&mut self, _now: TStates) -> bool {
        self.count < self.most
    }
}

/// Somebody who watches a play and counts.
pub trait Counts: Witness {
    /// Whether it has run enough instructions.
    fn has_enough(&self) -> bool;
}

impl Counts for Watcher {
    fn has_enough(&self) -> bool {
        self.count >= self.most
    }
}

/// How a stretch of a play came to its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pause {
    /// The last stage is about to run its first instruction.
    Payload,
    /// The machine stopped, or is not to be watched any longer.
    Stopped(Stop),
    /// The moment came up to which it was to run.
    Moment,
}

impl Going {
    /// Power on, and all that the hand does; the first stage is about to run.
    pub fn begin(scene: &Scene, props: &Props, slips: &[(usize, Slip)]) -> Option<(Going, Checks)> {
        let mut machine = Machine::new(&props.setup).ok()?;
        machine.board.bear_everything();
        machine.board.latches = true;
        let mut hand = Hand::new(&scene.panel, props.wires, props.lever);
        hand.work(&scene.tasks, slips, &mut machine);
        for (drive, disk) in &props.disks {
            if let Some(disk) = disk {
                machine.board.insert(*drive, disk.clone(), TStates(0));
            }
        }
        for &(drive, after) in &props.doors {
            machine.board.open(drive, TStates(u64::from(after) * props.setup.clock_hz / 1000));
        }
        let played = vec![None; props.runs.len()];
        let going = Going { machine, place: 0, entered: vec![TStates(0)], played };
        Some((going, hand.checks))
    }

    /// The same machine, stopped, reset and started anew with all tapes at their beginnings.
    pub fn again(&mut self, scene: &Scene, props: &Props) {
        let now = self.machine.cpu.clock;
        self.machine.cpu.reset();
        self.machine.board.reset(now);
        if let Some(next) = scene.stage(self.place + 1) {
            self.machine.set_stop(next.entry, false);
        }
        let mut hand = Hand::new(&scene.panel, props.wires, props.lever);
        hand.start(&scene.tasks, &mut self.machine);
        (self.place, self.entered) = (0, vec![now]);
        self.played.fill(None);
    }

    /// Runs on until the last stage is entered, the machine stays, or a moment comes.
    pub fn go<W: Counts>(&mut self, scene: &Scene, props: &Props, until: TStates, watcher: &mut W) -> Pause {
        while self.place < scene.last() {
            if let Some(pause) = self.go_to_next(scene, props, until, watcher) {
                return pause;
            }
        }
        Pause::Payload
    }

    /// Runs on until the next stage is entered; says why it is not.
    pub fn go_to_next<W: Counts>(
        &mut self,
        scene: &Scene,
        props: &Props,
        until: TStates,
        watcher: &mut W,
    ) -> Option<Pause> {
        let next = scene.stage(self.place + 1)?;
        self.start_tape(scene, props);
        self.machine.set_stop(next.entry, true);
        let deadline = self.deadline(scene, props);
        loop {
            match self.stretch(deadline.min(until), watcher) {
                Stop::Deadline if until < deadline => return Some(Pause::Moment),
                Stop::Reached(_) if !self.is_passing(scene) => break,
                Stop::Reached(_) => {
                    if let Some(stop) = self.machine.step(watcher) {
                        return Some(Pause::Stopped(stop));
                    }
                }
                stop => return Some(Pause::Stopped(stop)),
            }
        }
        self.machine.set_stop(next.entry, false);
        self.place += 1;
        self.entered.push(self.machine.cpu.clock);
        None
    }

    /// Runs on up to a moment, or until enough instructions were run.
    pub fn stretch<W: Counts>(&mut self, deadline: TStates, watcher: &mut W) -> Stop {
        loop {
            let pause = deadline.min(TStates(self.machine.cpu.clock.0 + LOOK));
            match self.machine.run(pause, watcher) {
                Stop::Deadline if self.machine.cpu.clock >= deadline => return Stop::Deadline,
                Stop::Deadline if watcher.has_enough() => return Stop::GivenUp,
                Stop::Deadline => {}
                stop => return stop,
            }
        }
    }

    /// Where a loader and what it loads lie at one place, the loader passes the entry as a part of itself, as long as
    /// something else stands there.
    fn is_passing(&self, scene: &Scene) -> bool {
        let (Some(runs), Some(next)) = (scene.stage(self.place), scene.stage(self.place + 1)) else { return false };
        let stands = |at: u16| {
            let address = next.entry.wrapping_add(at);
            next.image.byte(address).is_none_or(|byte| byte == self.machine.board.memory.byte(address))
        };
        runs.image.byte(next.entry).is_some() && !(0..3).all(stands)
    }

    /// Starts the tape of the next stage, if it has one that does not run yet.
    fn start_tape(&mut self, scene: &Scene, props: &Props) {
        let Some(tape) = scene.tape_of(self.place + 1) else { return };
        if self.played[tape].is_some() {
            return;
        }
        let run = &props.runs[tape];
        // The person is as late or early as the clock on the wall says, not as that of the machine.
        let after = (run.after.max(0.0) * props.setup.clock_hz as f64) as u64;
        let at = TStates(self.machine.cpu.clock.0 + after);
        let feed = run.feed(0).passed(-run.after);
        self.played[tape] = Some(self.machine.board.play(run.serial, &feed, at));
    }

    /// When the stage that runs is given up: in its time, but not long after the last tape has run out.
    fn deadline(&self, scene: &Scene, props: &Props) -> TStates {
        let second = props.setup.clock_hz;
        let now = self.entered.last().copied().unwrap_or_default().0;
        let limit = now.saturating_add(u64::from(scene.limit) * second);
        let started = props.runs.iter().zip(&self.played).filter(|(_, played)| played.is_some());
        let ends = started.map(|(run, _)| self.machine.board.line_ends(run.serial).0).max().unwrap_or(0);
        TStates(limit.min(now.max(ends).saturating_add(scene.patience.saturating_mul(second))))
    }

    /// Whether another play of the same start, at the same moment, will go on exactly as this one.
    pub fn is_like(&self, other: &Going) -> bool {
        let (one, two) = (&self.machine, &other.machine);
        self.place == other.place
            && one.cpu == two.cpu
            && self.played == other.played
            && one.board.memory.whole() == two.board.memory.whole()
            && one.board.goes_on_like(&two.board)
            && self.has_shown_the_same(other)
    }

    /// Whether both have put out the same so far.
    pub fn has_shown_the_same(&self, other: &Going) -> bool {
        let (one, two) = (self.machine.board.went_out(), other.machine.board.went_out());
        one == two
    }

    /// The byte that the processor finds at an address.
    pub fn find(&self, wires: &Wires, address: Address) -> u8 {
        wires.find(&self.machine, address)
    }
}
