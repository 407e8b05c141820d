//! A start is played as it is described; if it agrees, it is played again otherwise: with other noise at power-on, and
//! with faster lines.

use std::ops::ControlFlow;

use rayon::prelude::*;

use super::chain::{Run, nothing_yet, prepare};
use super::outcome::{Haste, Outcome};
use super::recorder::{Progress, Trace};
use super::request::Request;
use super::tapes::{Roll, rolls};
use super::unset::Unset;
use crate::project::{Artefacts, Home, Id, Plan, Start};
use crate::source::{Diagnostic, Diagnostics, Severity, SourceMap};

/// By what the seeds of the other noises differ. The first of them turns every bit over.
const NEIGHBOURS: [u64; 3] = [1, 2, 3];

/// With how many noises more a start is played of which a branch hangs on what nobody set.
const MORE: u64 = 32;

/// By how many per cent lines are faster, step by step until a start fails.
const FASTER: [u32; 5] = [1, 3, 10, 30, 100];

/// Rehearses one way to start. `trace` gets a line for every instruction. A start that agrees is played again with other
/// noise at power-on, and does not agree if it fails then; and with faster lines.
pub fn rehearse<'a>(
    plan: &'a Plan,
    made: &'a Artefacts,
    start: Id<Start>,
    request: &'a Request,
    sources: &'a SourceMap,
    trace: Option<&'a mut Trace<'a>>,
    progress: &'a mut dyn FnMut(Progress),
) -> Outcome {
    let attempt = Attempt { plan, made, start, request, sources };
    let mut outcome = attempt.at_its_pace(trace, progress);
    attempt.with_faster_lines(&mut outcome);
    outcome
}

/// Plays one way to start as it is asked for, with one noise at power-on; with `noises`, with others as well if it agrees,
/// and it does not agree if it fails then.
pub fn play(
    plan: &Plan,
    made: &Artefacts,
    start: Id<Start>,
    request: &Request,
    sources: &SourceMap,
    noises: bool,
) -> Outcome {
    let attempt = Attempt { plan, made, start, request, sources };
    if noises { attempt.at_its_pace(None, &mut |_| ()) } else { attempt.once() }
}

/// What is to be played, once and again.
#[derive(Clone, Copy)]
pub(super) struct Attempt<'a> {
    pub plan: &'a Plan,
    pub made: &'a Artefacts,
    pub start: Id<Start>,
    pub request: &'a Request,
    pub sources: &'a SourceMap,
}

impl<'a> Attempt<'a> {
    /// Plays a start as it is described, and with other noise.
    pub fn at_its_pace(&self, trace: Option<&'a mut Trace<'a>>, progress: &'a mut dyn FnMut(Progress)) -> Outcome {
        let rolls = match self.rolls() {
            Ok(rolls) => rolls,
            Err(problems) => return self.refused(problems),
        };
        let mut outcome = self.played(&rolls, Some(Unset::new()), trace, progress);
        self.with_other_noise(&rolls, &mut outcome);
        outcome
    }

    /// Plays a start as it is described, and no other way.
    pub fn once(&self) -> Outcome {
        match self.rolls() {
            Ok(rolls) => self.played(&rolls, None, None, &mut |_| ()),
            Err(problems) => self.refused(problems),
        }
    }

    fn rolls(&self) -> Result<Vec<Roll>, Diagnostics> {
        rolls(self.plan, self.made, self.start, &self.request.tapes, self.request.sound)
    }

    fn refused(&self, problems: Diagnostics) -> Outcome {
        Outcome { problems, ..nothing_yet(self.plan, &self.plan.starts[self.start]) }
    }

    /// What comes of one play; `unset` follows what nobody set.
    fn played<'b>(
        &self,
        rolls: &[Roll],
        unset: Option<Unset>,
        trace: Option<&'b mut Trace<'b>>,
        progress: &'b mut dyn FnMut(Progress),
    ) -> Outcome
    where
        'a: 'b,
    {
        let Attempt { plan, made, start, request, sources } = *self;
        match prepare(plan, made, start, request, sources, trace, progress) {
            Ok(mut run) => {
                run.recorder.unset = unset;
                Run { rolls: rolls.to_vec(), ..run }.all_of_it()
            }
            Err(problems) => self.refused(problems),
        }
    }

    /// Plays a start that agrees with other noise at power-on: if it fails then, it does not agree.
    fn with_other_noise(&self, rolls: &[Roll], outcome: &mut Outcome) {
        if !outcome.agrees() {
            return;
        }
        let more = if outcome.forks.is_empty() { 0 } else { MORE };
        let neighbours = NEIGHBOURS.into_iter().chain((1..=more).map(|number| number << 2));
        let seeds: Vec<_> = neighbours.map(|differs| self.request.seed ^ differs).collect();
        let play = |&seed: &u64| self.play(&Request { seed, ..self.request.clone() }, rolls);
        each(&seeds, play, |&seed, other| {
            let failed = other.problems.iter().find(|problem| problem.severity == Severity::Error).cloned();
            if let Some(problem) = failed.filter(|_| !other.gave_up) {
                outcome.problems.push(self.noted(problem, seed));
            } else if let Some(fork) = self.ends_otherwise(outcome, &other) {
                let note = format!("with the noise of `--seed {seed}` it comes to another end");
                outcome.problems.push(fork.with_note(note));
            }
            if outcome.agrees() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
        });
        let forks = std::mem::take(&mut outcome.forks);
        if outcome.agrees() && !forks.is_empty() {
            let (noises, branches) = (NEIGHBOURS.len() as u64 + more + 1, forks.len());
            let hang =
                if branches == 1 { "a branch that hangs".into() } else { format!("{branches} branches that hang") };
            outcome
                .basis
                .assumed
                .push(format!("that {hang} on what nobody set changes nothing: so it was with {noises} noises"));
        }
    }

    /// The branch to which it is owed that a start ends otherwise with another noise. Where in its turn a disk stands hangs on
    /// the seed too, and may well be seen.
    fn ends_otherwise(&self, one: &Outcome, other: &Outcome) -> Option<Diagnostic> {
        let same = one.rest == other.rest && one.went_out == other.went_out;
        one.forks.first().filter(|_| !same && self.plan.machine.drives.is_empty()).cloned()
    }

    /// What fails with the noise of another seed only.
    fn noted(&self, problem: Diagnostic, seed: u64) -> Diagnostic {
        let disks = if self.plan.machine.drives.is_empty() { "" } else { ", or on where in their turn the disks are" };
        let note =
            format!("it hangs on what registers, flags or memory hold at power-on{disks}: otherwise the start agrees");
        problem.with_note(note).with_note(format!("`--seed {seed}` shows it from the beginning"))
    }

    /// Plays a start that agrees as it is described with faster lines, until it fails.
    fn with_faster_lines(&self, outcome: &mut Outcome) {
        let stages = &self.plan.starts[self.start].stages;
        let reads = stages.iter().any(|&stage| matches!(self.plan.stages[stage].home, Home::Tape { .. }));
        if !outcome.agrees() || !self.request.is_as_described() || !reads {
            return;
        }
        // Frames come as fast as the line; a recording would be heard as fast as it was made.
        let request = Request { sound: false, ..self.request.clone() };
        let Ok(rolls) = (Attempt { request: &request, ..*self }).rolls() else { return };
        let mut haste = Haste { keeps: 0, fails: None };
        let play = |&faster: &u32| self.play(&Request { faster, ..request.clone() }, &rolls);
        each(&FASTER, play, |&faster, other| {
            if other.gave_up {
                return ControlFlow::Break(());
            }
            if !other.agrees() {
                let stage = other.stages.last().map_or_else(String::new, |stage| stage.name.clone());
                haste.fails = Some((faster, stage));
                return ControlFlow::Break(());
            }
            haste.keeps = faster;
            ControlFlow::Continue(())
        });
        outcome.haste = Some(haste);
    }

    fn play(&self, request: &Request, rolls: &[Roll]) -> Option<Outcome> {
        let mut progress = |_| ();
        let run = prepare(self.plan, self.made, self.start, request, self.sources, None, &mut progress).ok()?;
        Some(Run { rolls: rolls.to_vec(), ..run }.all_of_it())
    }
}

/// Plays on all cores, as many at a time as there are. What comes of each is looked at in order, until one of them is the
/// last that is wanted or cannot be played.
fn each<T: Sync>(
    all: &[T],
    play: impl Fn(&T) -> Option<Outcome> + Sync,
    mut look: impl FnMut(&T, Outcome) -> ControlFlow<()>,
) {
    for some in all.chunks(rayon::current_num_threads()) {
        let outcomes: Vec<_> = some.par_iter().map(&play).collect();
        for (one, outcome) in some.iter().zip(outcomes) {
            if outcome.is_none_or(|outcome| look(one, outcome).is_break()) {
                return;
            }
        }
    }
}
