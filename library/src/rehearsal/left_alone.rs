//! What is seen where a start, or a program by itself, is left alone until it stays somewhere.

use super::board::Board;
use super::cast;
use super::chain::{Run, prepare};
use super::machine::{Machine, Stop, Witness};
use super::rehearse::Attempt;
use super::request::Request;
use super::stays::{LeftAlone, Told, seen};
use super::tapes::rolls;
use super::unset::{Misuse, Unset};
use crate::cpu::Cpu;
use crate::image::{Image, MEMORY};
use crate::isa::TStates;
use crate::notation::Address;
use crate::panel::card::{Doubt, Seen, Stays};
use crate::project::{self, Artefacts, Id, Plan, Start, Tape};
use crate::source::{Diagnostics, Severity, SourceMap};

/// The most instructions that are played until a program stays somewhere; turns of a loop that waits do not count.
const PATIENCE: u64 = 2_000_000;

/// How long what nobody set is followed of a program that may run on for ever, in thousandths of a second. One that comes to
/// rest later is played once more, and followed to its end.
const FOLLOWED_MS: u64 = 50;

/// The most instructions of a stage that loads another.
const MOST_LOADING: u64 = 50_000_000;

/// Plays a start as [`rehearse`](super::rehearse) does, and leaves the machine alone before each of its tapes and at its
/// end, until it stays somewhere.
pub fn left_alone(plan: &Plan, made: &Artefacts, start: Id<Start>, sources: &SourceMap) -> LeftAlone {
    let request = Request { most_instructions: Some(MOST_LOADING), ..Request::default() };
    let attempt = Attempt { plan, made, start, request: &request, sources };
    let followed = |most| seen_of(&attempt, LeftAlone { followed: most, ..LeftAlone::default() });
    let watched = || followed(Some(FOLLOWED_MS)).and_then(|seen| if seen.lost { followed(None) } else { Some(seen) });
    // Left alone before its tapes, a start may go another way than in its rehearsal.
    let (outcome, seen) = rayon::join(|| attempt.at_its_pace(None, &mut |_| ()), watched);
    let fails = outcome.problems.iter().filter(|problem| problem.severity == Severity::Error);
    let doubt = if outcome.gave_up { Doubt::Unfinished } else { Doubt::Fails };
    let doubts: Vec<_> = fails.map(|problem| doubt(problem.headline.clone())).collect();
    LeftAlone { doubts, ..seen.unwrap_or_default() }
}

/// What is seen where a start is left alone; `None` if it cannot be played.
fn seen_of(attempt: &Attempt, alone: LeftAlone) -> Option<LeftAlone> {
    let mut progress = |_| ();
    let Attempt { plan, made, start, request, sources } = *attempt;
    let mut run = prepare(plan, made, start, request, sources, None, &mut progress).ok()?;
    run.rolls = rolls(plan, made, start, &request.tapes, request.sound).ok()?;
    run.recorder.unset = Some(Unset::new());
    run.left_alone = Some(alone);
    run.whole();
    run.left_alone
}

impl Run<'_> {
    /// Before a tape is started, if that is to be seen.
    pub(super) fn before_tape(&mut self, place: usize, tape: Id<Tape>) {
        let Some(mut alone) = self.left_alone.take() else { return };
        let stop = self.stay_on(&mut alone);
        alone.before.extend(self.see(place, stop, &mut alone.told).map(|seen| (tape, seen)));
        self.left_alone = Some(alone);
    }

    /// At the end, if that is to be seen; gives back what ended it.
    pub(super) fn at_the_end(&mut self, place: usize) -> Option<Stop> {
        let mut alone = self.left_alone.take()?;
        let lost = alone.lost;
        let stop = self.stay_on(&mut alone);
        alone.last = self.see(place, stop, &mut alone.told);
        // Of what runs on no light and no byte is told but what it types.
        let tells = alone.last.as_ref().is_none_or(|seen| seen.stays != Stays::RunsOn || !seen.typed.is_empty());
        alone.lost &= lost || tells;
        self.left_alone = Some(alone);
        Some(stop)
    }

    fn stay_on(&mut self, alone: &mut LeftAlone) -> Stop {
        let now = self.machine.cpu.clock;
        let limit = u64::from(self.plan.limit) * self.outcome.clock_hz;
        let deadline = TStates(now.0.saturating_add(limit));
        self.recorder.begin(now, deadline, PATIENCE);
        self.machine.board.latches = true;
        let followed = alone.followed.map(|most| TStates(now.0 + self.outcome.clock_hz * most / 1000));
        let followed = followed.map_or(deadline, |until| until.min(deadline));
        let mut stop = self.machine.run(followed, &mut self.recorder);
        if stop == Stop::Deadline && followed < deadline {
            let unset = self.recorder.unset.take();
            stop = self.machine.run(deadline, &mut self.recorder);
            self.recorder.unset = unset;
            alone.lost = true;
        }
        self.machine.board.latches = false;
        stop
    }

    fn see(&mut self, place: usize, stop: Stop, told: &mut Told) -> Option<Seen> {
        let name = &self.plan.stages[self.start.stages[place]].name;
        let unset = self.recorder.unset.as_mut()?;
        seen(&mut self.machine, unset, (&self.plan.machine, name), stop, told)
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
        let (seen, forks) = self.played(on, 0)?;
        let stays_same = |seed| self.played(on, seed).is_some_and(|(other, _)| other.stays == seen.stays);
        match forks.is_empty() || (1..NOISES).all(stays_same) {
            true => Some(seen),
            false => Some(Seen { stays: Stays::Hangs, ..seen }),
        }
    }

    /// What is seen of it with one noise at power-on, and what it does with what nobody set.
    fn played(&self, on: &project::Machine, seed: u64) -> Option<(Seen, Vec<(Misuse, Address)>)> {
        let mut setup = cast::wires(on, self.sense, &mut Diagnostics::default());
        if setup.ram.is_empty() {
            setup.ram.push((Address(0), MEMORY));
        }
        setup.seed = seed;
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
        let mut patience = Patience { instructions: 0, unset: Unset::new() };
        let stop = machine.run(TStates(SECONDS * setup.clock_hz), &mut patience);
        let seen = seen(&mut machine, &mut patience.unset, (on, self.name), stop, &mut Told::default())?;
        Some((seen, patience.unset.take_misused()))
    }
}

/// Noises with which a program is played that does something with what nobody set.
const NOISES: u64 = 32;

/// Looks on for a while, and at what nobody set.
struct Patience {
    instructions: u64,
    unset: Unset,
}

impl Witness for Patience {
    fn instruction(&mut self, cpu: &Cpu, board: &Board) {
        self.instructions += 1;
        self.unset.observe(cpu, board);
    }

    fn goes_on(&mut self, _now: TStates) -> bool {
        self.instructions < PATIENCE
    }
}
