//! A start that agrees, ready to be played otherwise.

use super::limit::{AS_DESCRIBED, Failure, Limit, Side, Subject, Tightest, amount};
use super::search;
use crate::line::Speed;
use crate::project::{Artefacts, Id, Plan, Reel, Serial, Start};
use crate::rehearsal::{Given, Outcome, Pace, Request, play};
use crate::source::{Diagnostics, Severity, SourceMap};

/// The coarse steps to less of what is described, in ten-thousandths.
const LESS: [i64; 10] = [9_970, 9_900, 9_700, 9_500, 9_000, 8_000, 7_000, 5_000, 3_500, 2_500];

/// The same of a leader, down to none.
const SHORTER: [i64; 7] = [9_900, 9_000, 7_000, 5_000, 2_500, 1_000, 0];

/// The coarse steps to more; a line is tried at all of them, a clock and a sender at those up to four times.
const MORE: [i64; 28] = [
    10_030, 10_100, 10_300, 10_600, 11_000, 12_500, 15_000, 20_000, 25_000, 30_000, 40_000, 60_000, 80_000, 120_000,
    160_000, 240_000, 320_000, 480_000, 640_000, 960_000, 1_280_000, 1_920_000, 2_560_000, 3_840_000, 5_120_000,
    7_680_000, 10_240_000, 15_360_000,
];

/// The steps of [`MORE`] that are tried of what is no line.
const OF_OTHERS: usize = 11;

/// Instructions after which a stage is given up, at least. Turns of a loop that waits do not count.
const LEAST_INSTRUCTIONS: u64 = 1_000_000;

/// A start of a chain, to be played with one thing otherwise.
pub struct Bench<'a> {
    plan: &'a Plan,
    made: &'a Artefacts,
    start: Id<Start>,
    sources: &'a SourceMap,
    clock_hz: u64,
    most_instructions: u64,
}

/// What a play is told to: whether to go on.
pub type Tick<'a> = dyn FnMut() -> bool + 'a;

impl<'a> Bench<'a> {
    /// A start of a chain.
    ///
    /// # Errors
    /// It does not agree as it is described.
    pub fn new(
        plan: &'a Plan,
        made: &'a Artefacts,
        start: Id<Start>,
        sources: &'a SourceMap,
    ) -> Result<Bench<'a>, Diagnostics> {
        let outcome = play(plan, made, start, &Request::default(), sources, true);
        if !outcome.agrees() {
            return Err(outcome.problems);
        }
        let most_instructions = LEAST_INSTRUCTIONS.max(4 * outcome.instructions);
        Ok(Bench { plan, made, start, sources, clock_hz: outcome.clock_hz, most_instructions })
    }

    /// What is tried, in a fixed order.
    pub fn subjects(&self) -> Vec<Subject> {
        let loaders = self.plan.starts[self.start].loaders(self.plan);
        let mut subjects = vec![Subject::Clock];
        for &(stage, line) in &loaders {
            let (stage, line) = (self.plan.stages[stage].name.clone(), self.plan.machine.serial[line].name.clone());
            subjects.push(Subject::Line { stage, line });
        }
        for (number, serial) in self.plan.machine.serial.numbered() {
            if loaders.iter().any(|(_, line)| *line == number) {
                subjects.push(Subject::Sender { line: serial.name.clone() });
            }
        }
        let reels = self.made.reels(self.start);
        let named = |reel: &&Reel| self.plan.tapes[reel.tape].name.clone();
        subjects.extend(reels.first().map(named).map(|tape| Subject::Tape { tape }));
        let led = reels.iter().filter(|reel| leader(reel) > 0);
        subjects.extend(led.map(named).map(|tape| Subject::Leader { tape }));
        subjects
    }

    /// How far a thing may go. `tick` is told of each play, and says whether to go on; nothing comes of it if it does not.
    pub fn limit(&self, subject: Subject, tick: &mut Tick) -> Option<Limit> {
        let less = self.side(&subject, false, tick)?;
        let more = self.side(&subject, true, tick)?;
        let tightest = match &subject {
            Subject::Line { stage, .. } => tightest(stage, &self.play(&subject, more.holds, false)),
            _ => None,
        };
        Some(Limit { described: self.described(&subject), subject, less, more, tightest })
    }

    /// What becomes of the start with a thing at so many ten-thousandths of how it is described; with `noises`, played
    /// with several.
    pub fn play(&self, subject: &Subject, parts: i64, noises: bool) -> Outcome {
        play(self.plan, self.made, self.start, &self.request(subject, parts), self.sources, noises)
    }

    fn side(&self, subject: &Subject, up: bool, tick: &mut Tick) -> Option<Side> {
        let steps = match subject {
            Subject::Leader { .. } if !up => &SHORTER[..],
            _ if !up => &LESS[..],
            Subject::Line { .. } => &MORE,
            _ => &MORE[..OF_OTHERS],
        };
        search::side(steps, &mut |parts, noises| tick().then(|| failure(&self.play(subject, parts, noises), parts)))
    }

    fn described(&self, subject: &Subject) -> u64 {
        match subject {
            Subject::Clock => self.clock_hz,
            Subject::Line { line, .. } | Subject::Sender { line } => {
                self.serial(line).and_then(|(_, serial)| serial.line).map_or(0, |line| line.speed.hundredths().into())
            }
            Subject::Tape { tape } => (self.after(tape) * 100.0).round() as u64,
            Subject::Leader { tape } => self.reel(tape).map_or(0, |reel| leader(reel) as u64),
        }
    }

    /// Seconds from RUN to the start of a tape.
    fn after(&self, name: &str) -> f64 {
        self.reel(name).map_or(0.0, |reel| self.plan.tapes[reel.tape].after)
    }

    fn reel(&self, name: &str) -> Option<&Reel> {
        self.made.reels(self.start).into_iter().find(|reel| self.plan.tapes[reel.tape].name == name)
    }

    fn serial(&self, name: &str) -> Option<(Id<Serial>, &Serial)> {
        self.plan.machine.serial.numbered().find(|(_, serial)| serial.name == name)
    }

    fn request(&self, subject: &Subject, parts: i64) -> Request {
        // What is slower may take longer.
        let patience = 2 + (AS_DESCRIBED / parts.max(1)) as u32;
        let mut request = Request { patience, most_instructions: Some(self.most_instructions), ..Request::default() };
        match subject {
            Subject::Clock => request.clock_hz = Some(amount(self.clock_hz, parts).max(1)),
            Subject::Line { stage, line } => {
                let mut stages = self.plan.stages.numbered();
                let stage = stages.find(|(_, known)| known.name == *stage).map(|(number, _)| number);
                let serial = self.serial(line).map(|(number, _)| number);
                request.pace = stage.zip(serial).map(|(stage, serial)| Pace { stage, serial, parts: parts as u32 });
            }
            Subject::Sender { line } => {
                let hundredths = amount(self.described(subject), parts);
                let speed = u32::try_from(hundredths).ok().and_then(Speed::of_hundredths);
                request.senders.extend(speed.map(|speed| (line.clone(), speed)));
            }
            Subject::Tape { tape } => {
                let later = Subject::seconds_later(parts);
                request.after.insert(tape.clone(), self.after(tape) + later);
                request.patience = 2 + (later.max(0.0) / f64::from(self.plan.limit.max(1))).ceil() as u32;
            }
            Subject::Leader { tape } => {
                request.patience = 2;
                let wanted = amount(self.described(subject), parts) as usize;
                let given = self.reel(tape).map(|reel| Given::Frames(with_leader(reel, wanted)));
                request.tapes.extend(given.map(|given| (tape.clone(), given)));
            }
        }
        request
    }
}

/// How many frames a tape has before its first block.
fn leader(reel: &Reel) -> usize {
    let blocks = reel.programs.iter().flat_map(|program| &program.blocks);
    blocks.map(|block| block.start).min().unwrap_or(0)
}

/// The frames of a tape with another leader, of what its own is made of.
fn with_leader(reel: &Reel, wanted: usize) -> Vec<u8> {
    let (own, rest) = reel.bytes.split_at(leader(reel));
    own.iter().cycle().take(wanted).chain(rest).copied().collect()
}

/// The tightest read of a program.
fn tightest(stage: &str, outcome: &Outcome) -> Option<Tightest> {
    let line = outcome.stages.iter().find(|played| played.name == stage)?.margin.as_ref()?;
    let (states, pc) = (line.margin.states.0, line.margin.pc);
    Some(Tightest { states, character: line.character_states.round() as u64, pc })
}

/// Why a start failed.
fn failure(outcome: &Outcome, at: i64) -> Result<(), Failure> {
    let first = outcome.problems.iter().find(|problem| problem.severity == Severity::Error);
    first.map_or(Ok(()), |problem| Err(Failure { at, how: problem.headline.clone() }))
}
