//! The chain from power-on to the payload's first instructions, stage by stage.

use std::collections::BTreeMap;

use super::diagnose::{self, Scene};
use super::machine::{Machine, Stop};
use super::outcome::{Outcome, StageOutcome, TapeOutcome};
use super::recorder::{Progress, Recorder, Trace};
use super::request::{MOST_INSTRUCTIONS, Request};
use super::round::Round;
use super::serial::Frame;
use super::setup::Setup;
use super::stays::LeftAlone;
use super::tapes::Roll;
use super::{cast, gaps, stays};
use crate::isa::TStates;
use crate::project::{Artefacts, Home, Id, Plan, Serial, Stage, Start};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// How long the last stage is watched, in thousandths of a second.
const WATCHED_MS: u64 = 100;

/// How long it is looked at behind that, in thousandths of a second: a delay that counts a register pair down ends within it.
const LATER_MS: u64 = 1000;

/// The pace of a line that is as fast as it is described.
const AS_DESCRIBED: u32 = 10_000;

/// The outcome of a start of which nothing was played.
pub(super) fn nothing_yet(plan: &Plan, start: &Start) -> Outcome {
    Outcome::new(start.name.clone(), plan.machine.clock_hz.unwrap_or(cast::USUAL_CLOCK))
}

/// A start before anything is done, and without its tapes.
///
/// # Errors
/// What cannot be put into a socket or on a tape, or a machine that is not described well enough.
pub(super) fn prepare<'a>(
    plan: &'a Plan,
    made: &'a Artefacts,
    number: Id<Start>,
    request: &'a Request,
    sources: &'a SourceMap,
    trace: Option<&'a mut Trace<'a>>,
    progress: &'a mut dyn FnMut(Progress),
) -> Result<Run<'a>, Diagnostics> {
    let start = &plan.starts[number];
    let setup = Setup { faster: request.faster, slower: request.slower, ..cast::setup(plan, made, start, request)? };
    let (machine, clock_hz) = (machine(&setup)?, setup.clock_hz);
    let programs = start.stages.iter().map(|&stage| made.program(stage)).collect();
    let recorder = Recorder::new(plan.machine.panel.notation, programs, sources, trace, progress);
    Ok(Run {
        plan,
        made,
        start,
        request,
        sense: request.sense.unwrap_or(start.sense),
        machine,
        rolls: Vec::new(),
        played: BTreeMap::new(),
        recorder,
        compared: BTreeMap::new(),
        left_alone: None,
        stopped: None,
        outcome: Outcome::new(start.name.clone(), clock_hz),
    })
}

fn machine(setup: &Setup) -> Result<Machine, Diagnostics> {
    Machine::new(setup)
        .map_err(|error| Diagnostics::from_iter([Diagnostic::error(Code::MachineValue, error.to_string())]))
}

/// A rehearsal under way.
pub(super) struct Run<'a> {
    pub plan: &'a Plan,
    pub made: &'a Artefacts,
    pub start: &'a Start,
    pub request: &'a Request,
    /// How the sense switches stand.
    pub sense: u8,
    pub machine: Machine,
    pub rolls: Vec<Roll>,
    /// The number that the first character of each tape has on its line.
    pub played: BTreeMap<usize, usize>,
    pub recorder: Recorder<'a>,
    /// How the chips were set up when their formats were last compared.
    pub compared: BTreeMap<Id<Serial>, Frame>,
    /// What is seen where the start is left alone, if that is what it is played for.
    pub left_alone: Option<LeftAlone>,
    /// How the last stage stopped.
    pub stopped: Option<Stop>,
    pub outcome: Outcome,
}

impl Run<'_> {
    /// What comes of all of the start.
    pub(super) fn all_of_it(mut self) -> Outcome {
        self.whole();
        self.outcome.ended = self.machine.cpu.clock;
        self.outcome.instructions = self.machine.board.counts().instructions;
        self.outcome.went_out = self.machine.board.went_out();
        self.outcome.basis = self.basis();
        self.outcome.gaps = gaps::gaps(self.plan, self.start, &self.outcome.stages);
        self.later();
        self.outcome.rest = self.stopped.and_then(|stop| stays::rest(&mut self.machine, stop));
        self.outcome
    }

    /// All of the start, or as much of it as goes well.
    pub(super) fn whole(&mut self) {
        if let Err(problem) = self.power_on() {
            return self.outcome.problems.push(*problem);
        }
        let first = &self.plan.stages[self.start.stages[0]];
        let wrong = diagnose::wrong_byte(&self.machine, self.plan.machine.panel.notation, first);
        for place in 0..self.start.stages.len() {
            self.enter(place);
            let sent = self.sent_so_far();
            let next = self.start.stages.get(place + 1).copied();
            let done = match next {
                Some(next) => self.load(place, next),
                None => self.watch(place),
            };
            self.measure();
            let done = self.compare_formats(place, next, done);
            self.tell_sent(place, &sent);
            if let Err(problem) = done {
                self.outcome.problems.push(self.with_faults(*problem));
                return;
            }
            self.tell_unset(place);
        }
        // Nothing came of it, and yet the first stage was not what it should be.
        if let Some(problem) = wrong {
            self.outcome.problems.push(self.with_faults(problem));
        }
    }

    /// A stage is about to run its first instruction.
    fn enter(&mut self, place: usize) {
        let (plan, number) = (self.plan, self.start.stages[place]);
        let stage = &plan.stages[number];
        let now = self.machine.cpu.clock;
        let arrived = self.machine.board.arrival().map(|arrival| (arrival.first, arrival.last));
        self.announce(number);
        self.pace(place);
        let board = &mut self.machine.board;
        board.set_running(&stage.image);
        board.clear_stack();
        for extent in stage.image.extents() {
            board.set_needed(extent.base, extent.bytes.len(), false);
        }
        for serial in 0..plan.machine.serial.iter().filter(|serial| serial.line.is_some()).count() {
            board.clear_margin(serial);
        }
        if place == 0 {
            self.machine.examine(stage.entry);
        }
        self.machine.set_stop(stage.entry, false);
        self.tell_start(place);
        self.tell_tapes_done(place);
        self.outcome.stages.push(StageOutcome {
            name: stage.name.clone(),
            bytes: stage.image.len(),
            entry: stage.entry,
            entered: now,
            arrived: arrived.filter(|_| matches!(stage.home, Home::Tape { .. } | Home::Disk { .. })),
            margin: None,
            mismatch: None,
            stack: None,
        });
    }

    /// Lets the line that a stage reads be as fast as it was asked for, and as it is described behind that.
    fn pace(&mut self, place: usize) {
        let Some(pace) = self.request.pace else { return };
        let (stages, now) = (&self.start.stages, self.machine.cpu.clock);
        let serial = cast::station(&self.plan.machine, pace.serial);
        if stages[place] == pace.stage {
            self.machine.board.set_pace(serial, now, pace.parts);
        } else if place > 0 && stages[place - 1] == pace.stage {
            self.machine.board.set_pace(serial, now, AS_DESCRIBED);
        }
    }

    /// Runs a stage until the next one is reached, and compares it with what it should be.
    fn load(&mut self, place: usize, next: Id<Stage>) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let (runs, loaded) = (&plan.stages[self.start.stages[place]], &plan.stages[next]);
        let mut roll = None;
        if let Home::Tape { .. } | Home::Disk { .. } = loaded.home {
            self.machine.board.expect(&loaded.image);
        }
        if let Home::Tape { tape, .. } = loaded.home {
            roll = self.rolls.iter().position(|roll| roll.reel.tape == tape);
            if let Some(roll) = roll.filter(|roll| !self.played.contains_key(roll)) {
                self.before_tape(place, tape);
                self.play(roll)?;
            }
        }
        let used = (self.machine.cpu.clock, self.drive_use(loaded).unwrap_or_default());
        self.machine.set_stop(loaded.entry, true);
        let began = self.machine.cpu.clock;
        let first = roll.and_then(|roll| self.played.get(&roll)).copied().unwrap_or_default();
        let from = roll.map_or(0, |roll| self.heard(roll).saturating_sub(first));
        let seen = self.machine.board.incidents().len();
        let limit = u64::from(plan.limit) * u64::from(self.request.patience.max(1)) * self.outcome.clock_hz;
        let deadline = TStates(began.0.saturating_add(limit));
        self.recorder.begin(began, deadline, self.most());
        let stop = self.run_to_entry(runs, loaded, deadline);
        self.tell_loaded(loaded, stop);
        self.tell_drive(loaded, used);
        let roll = roll.map(|roll| &self.rolls[roll]);
        let scene = Scene {
            plan,
            machine: &self.machine,
            runs,
            loaded: Some(loaded),
            roll,
            first,
            from,
            seen,
            began,
            most: self.most(),
        };
        let done = diagnose::loading(&scene, stop);
        let warned = diagnose::warnings(&scene, &done);
        self.outcome.gave_up |= stop == Stop::GivenUp;
        self.outcome.problems.extend(warned);
        done
    }

    /// Runs until the loaded stage is about to start. Where both lie at one place, the loader passes the entry as a part
    /// of itself.
    fn run_to_entry(&mut self, runs: &Stage, loaded: &Stage, deadline: TStates) -> Stop {
        let shares = runs.image.byte(loaded.entry).is_some();
        loop {
            let stop = self.machine.run(deadline, &mut self.recorder);
            if matches!(stop, Stop::Deadline | Stop::GivenUp) {
                return Round::for_ever(&self.machine).unwrap_or(stop);
            }
            let arrived = self.machine.board.arrival().map_or(0, |arrival| arrival.count);
            if !(shares && matches!(stop, Stop::Reached(_)) && arrived < loaded.image.len()) {
                return stop;
            }
            if let Some(stop) = self.machine.step(&mut self.recorder) {
                return stop;
            }
        }
    }

    fn most(&self) -> u64 {
        self.request.most_instructions.unwrap_or(MOST_INSTRUCTIONS)
    }

    /// Starts a tape.
    fn play(&mut self, number: usize) -> Result<(), Box<Diagnostic>> {
        let roll = &self.rolls[number];
        let tape = &self.plan.tapes[roll.reel.tape];
        let serial = cast::station(&self.plan.machine, tape.serial);
        let after = self.request.after.get(&tape.name).copied().unwrap_or(tape.after);
        let now = self.machine.cpu.clock;
        if after < 0.0 && now > TStates(0) {
            let headline = format!("the tape `{}` cannot run before the first stage is started", tape.name);
            let problem = Diagnostic::error(Code::TapeUnfit, headline);
            return Err(Box::new(problem.with_help("say `--after` with nought or more seconds")));
        }
        let at = TStates(now.0 + (after.max(0.0) * self.outcome.clock_hz as f64) as u64);
        let feed = roll.feed.clone().passed(-after);
        let first = self.machine.board.play(serial, &feed, at);
        self.played.insert(number, first);
        let (name, frames, played) = (tape.name.clone(), roll.reel.bytes.len(), roll.played);
        let begins = self.machine.board.begins(serial, first).unwrap_or(at);
        let ends = self.machine.board.line_ends(serial);
        let before = (-after).max(0.0);
        let tape = TapeOutcome { name, frames, played, started: at, before, begins, ends, done: None };
        self.tell_played(&tape);
        self.outcome.tapes.push(tape);
        Ok(())
    }

    /// The number of the next character on the line of a tape.
    fn heard(&self, roll: usize) -> usize {
        let serial = self.plan.tapes[self.rolls[roll].reel.tape].serial;
        self.machine.board.line_use(cast::station(&self.plan.machine, serial)).heard
    }

    /// What comes later than the last stage is watched, of a start that agrees so far and whose noise is followed.
    fn later(&mut self) {
        if !self.outcome.agrees() || self.stopped != Some(Stop::Deadline) || self.recorder.unset.take().is_none() {
            return;
        }
        let (runs, watched) = (&self.plan.stages[self.start.stages[self.start.stages.len() - 1]], WATCHED_MS);
        let seen = self.machine.board.incidents().len();
        let deadline = TStates(self.outcome.ended.0 + self.outcome.clock_hz * LATER_MS / 1000);
        self.recorder.begin(self.outcome.ended, deadline, self.most());
        self.machine.board.latches = true;
        let stop = self.machine.run(deadline, &mut self.recorder);
        self.stopped = Some(stop);
        let Err(problem) = diagnose::watching(&self.scene(runs, seen, self.outcome.ended), stop) else { return };
        if stop != Stop::GivenUp {
            let seconds = self.outcome.seconds(self.machine.cpu.clock) - self.outcome.seconds(self.outcome.ended);
            let after = super::words::seconds(seconds + watched as f64 / 1000.0);
            let note = format!("that is {after} after `{}` was started, later than a start is watched", runs.name);
            self.outcome.problems.push(problem.with_note(note));
        }
    }

    /// What there is to look at when the last stage has stopped.
    fn scene<'s>(&'s self, runs: &'s Stage, seen: usize, began: TStates) -> Scene<'s> {
        Scene {
            plan: self.plan,
            machine: &self.machine,
            runs,
            loaded: None,
            roll: None,
            first: 0,
            from: 0,
            seen,
            began,
            most: self.most(),
        }
    }

    /// Runs the last stage for a while.
    fn watch(&mut self, place: usize) -> Result<(), Box<Diagnostic>> {
        let plan = self.plan;
        let runs = &plan.stages[self.start.stages[place]];
        let began = self.machine.cpu.clock;
        let (outputs, seen) = (self.machine.board.outputs().len(), self.machine.board.incidents().len());
        self.machine.board.expect(&crate::image::Image::default());
        let left_alone = self.at_the_end(place);
        let stop = left_alone.unwrap_or_else(|| {
            let deadline = TStates(began.0 + self.outcome.clock_hz * WATCHED_MS / 1000);
            self.recorder.begin(began, deadline, self.most());
            self.machine.run(deadline, &mut self.recorder)
        });
        self.stopped = Some(stop);
        self.tell_outputs(runs, outputs);
        self.tell_end(runs, stop);
        let scene = self.scene(runs, seen, began);
        let done = diagnose::watching(&scene, stop);
        let warned = diagnose::warnings(&scene, &done);
        self.outcome.problems.extend(warned);
        done
    }
}
