//! What is seen where a start, or a program by itself, is left alone until it stays somewhere.

use super::cast;
use super::chain::{Run, prepare};
use super::machine::{Machine, Stop, Witness};
use super::rehearse::rehearse;
use super::request::Request;
use super::stays::{LeftAlone, Told, seen};
use super::tapes::rolls;
use crate::image::{Image, MEMORY};
use crate::isa::TStates;
use crate::notation::Address;
use crate::panel::card::{Doubt, Seen};
use crate::project::{self, Artefacts, Id, Plan, Start, Tape};
use crate::source::{Diagnostic, Diagnostics, Severity, SourceMap};

/// The most instructions that are played until a program stays somewhere; turns of a loop that waits do not count.
const PATIENCE: u64 = 2_000_000;

/// The most instructions of a stage that loads another.
const MOST_LOADING: u64 = 50_000_000;

/// Plays a start as [`rehearse`](super::rehearse) does, and leaves the machine alone before each of its tapes and at its
/// end, until it stays somewhere.
pub fn left_alone(plan: &Plan, made: &Artefacts, start: Id<Start>, sources: &SourceMap) -> LeftAlone {
    let request = Request { most_instructions: Some(MOST_LOADING), ..Request::default() };
    let mut progress = |_| ();
    // Left alone before its tapes, a start may go another way than in its rehearsal.
    let outcome = rehearse(plan, made, start, &request, sources, None, &mut |_| ());
    let fails = outcome.problems.iter().filter(|problem| problem.severity == Severity::Error);
    let doubt = if outcome.gave_up { Doubt::Unfinished } else { Doubt::Fails };
    let doubts: Vec<_> = fails.map(|problem| doubt(problem.headline.clone())).collect();
    let run = prepare(plan, made, start, &request, sources, None, &mut progress);
    let (Ok(mut run), Ok(rolls)) = (run, rolls(plan, made, start, &request.tapes, request.sound)) else {
        return LeftAlone { doubts, ..LeftAlone::default() };
    };
    run.rolls = rolls;
    run.left_alone = Some(LeftAlone::default());
    run.whole();
    let mut alone = run.left_alone.unwrap_or_default();
    if !doubts.is_empty() {
        alone.doubts = doubts;
    }
    alone
}

impl Run<'_> {
    /// Before a tape is started, if that is to be seen.
    pub(super) fn before_tape(&mut self, place: usize, tape: Id<Tape>) {
        let Some(mut alone) = self.left_alone.take() else { return };
        alone.before.extend(self.stay(place, &mut alone.told).map(|seen| (tape, seen)));
        self.left_alone = Some(alone);
    }

    /// At the end, if that is to be seen; gives back what ended it.
    pub(super) fn at_the_end(&mut self, place: usize) -> Option<Stop> {
        let mut alone = self.left_alone.take()?;
        let stop = self.stay_on();
        alone.last = self.see(place, stop, &mut alone.told);
        self.left_alone = Some(alone);
        Some(stop)
    }

    /// What goes wrong at the end, at so many seconds from the start of the last stage on.
    pub(super) fn goes_wrong(&mut self, after: f64, problem: &Diagnostic) {
        if let Some(alone) = &mut self.left_alone {
            alone.doubts.push(Doubt::FailsLater { after, why: problem.headline.clone() });
        }
    }

    fn stay(&mut self, place: usize, told: &mut Told) -> Option<Seen> {
        let stop = self.stay_on();
        self.see(place, stop, told)
    }

    fn stay_on(&mut self) -> Stop {
        let now = self.machine.cpu.clock;
        let limit = u64::from(self.plan.limit) * self.outcome.clock_hz;
        let deadline = TStates(now.0.saturating_add(limit));
        self.recorder.begin(now, deadline, PATIENCE);
        self.machine.board.latches = true;
        let stop = self.machine.run(deadline, &mut self.recorder);
        self.machine.board.latches = false;
        stop
    }

    fn see(&mut self, place: usize, stop: Stop, told: &mut Told) -> Option<Seen> {
        let name = &self.plan.stages[self.start.stages[place]].name;
        seen(&mut self.machine, &self.plan.machine, name, stop, told)
    }
}

/// A program that is deposited or lies in ROM, and is started by itself: no chain, no tape.
#[derive(Clone, Copy, Debug)]
pub struct Lone<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Its bytes.
    pub image: &'a Image,
    /// Where it starts.
    pub entry: Address,
    /// Whether it lies in ROM.
    pub in_rom: bool,
    /// How the sense switches stand.
    pub sense: u8,
}

/// Seconds after which it is no longer watched.
const SECONDS: u64 = 60;

impl Lone<'_> {
    /// What is seen of it on a machine; `None` where it goes wrong. A machine of which no memory is known has some
    /// everywhere.
    pub fn left_alone(&self, on: &project::Machine) -> Option<Seen> {
        let mut setup = cast::wires(on, self.sense, &mut Diagnostics::default());
        if setup.ram.is_empty() {
            setup.ram.push((Address(0), MEMORY));
        }
        let extents: Vec<_> = self.image.extents().collect();
        if self.in_rom {
            setup.rom = extents.iter().map(|extent| (extent.base, extent.bytes.to_vec())).collect();
        }
        let mut machine = Machine::new(&setup).ok()?;
        for extent in extents.iter().filter(|_| !self.in_rom) {
            for (at, &byte) in extent.bytes.iter().enumerate() {
                machine.deposit(extent.base.wrapping_add(at as u16), byte);
            }
        }
        machine.examine(self.entry);
        machine.board.latches = true;
        let stop = machine.run(TStates(SECONDS * setup.clock_hz), &mut Patience::default());
        seen(&mut machine, on, self.name, stop, &mut Told::default())
    }
}

/// Looks on for a while.
#[derive(Default)]
struct Patience(u64);

impl Witness for Patience {
    fn instruction(&mut self, _cpu: &crate::cpu::Cpu, _board: &super::board::Board) {
        self.0 += 1;
    }

    fn goes_on(&mut self, _now: TStates) -> bool {
        self.0 < PATIENCE
    }
}
