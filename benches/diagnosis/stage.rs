//! A start of which faults are drawn and looked for.

use std::collections::{BTreeMap, BTreeSet};

use coldwright::diagnosis::seen::{Observation, read};
use coldwright::diagnosis::{Archive, Look, Suspect, groups};
use coldwright::faults::{Class, Ending, Fault, Kind, Outcome, Pair, Plays, Rest, Theatre, Words};
use coldwright::project::{Artefacts, Recordings};
use coldwright::source::{Diagnostics, Origin, SourceMap};

use super::chains::chain;
use super::draws::Draws;
use super::sentences::{answered, at_rest};

/// From what the other noise is drawn.
const OTHER_NOISE: u64 = 7;

/// How many pairs are played for what is seen, as the command does.
const PAIRS_PLAYED: usize = 400;

/// How often another fault is drawn in place of one that cannot be seen.
const MOST_DRAWS: usize = 10_000;

/// What is drawn: one fault or two, with what becomes of them.
pub struct Drawn {
    pub faults: Vec<Fault>,
    outcome: Outcome,
}

/// A start with all its plays, and the same in memory that holds other noise.
pub struct Stage {
    pub name: String,
    plays: Plays,
    words: Words,
    theatre: Theatre,
    other: Theatre,
    by_kind: BTreeMap<Kind, Vec<usize>>,
}

impl Stage {
    pub fn new(name: &str, start: usize) -> Stage {
        let (plan, sources) = chain(name);
        let made = Artefacts::make(&plan, &sources, Recordings::Left).expect("the example can be made");
        let (number, start) = plan.starts.numbered().nth(start).expect("it has such a start");
        let theatre = Theatre::new(&plan, &made, number).expect("it can be played");
        let other = Theatre::with_noise_of(&plan, &made, number, OTHER_NOISE).expect("it can be played");
        let plays = theatre.plays(&|| true).expect("nobody stops it");
        let mut by_kind = BTreeMap::<Kind, Vec<usize>>::new();
        for (at, played) in plays.faults.iter().enumerate() {
            by_kind.entry(played.fault.kind).or_default().push(at);
        }
        let name = if start.name.is_empty() { name.to_owned() } else { format!("{name}, {}", start.name) };
        let words = Words::new(&plan, &made, number).expect("it can be told");
        Stage { name, words, theatre, other, plays, by_kind }
    }

    /// A fault, kinds as often as they are common, all of a kind alike, that keeps the start from looking good.
    pub fn draw(&self, draws: &mut Draws) -> Drawn {
        let drawn = (0..MOST_DRAWS).find_map(|_| {
            let fault = self.any(draws);
            let outcome = self.other.play(&fault);
            self.seen(Drawn { faults: vec![fault], outcome })
        });
        drawn.expect("a fault can be seen")
    }

    /// Two faults that go together.
    pub fn draw_pair(&self, draws: &mut Draws) -> Drawn {
        let drawn = (0..MOST_DRAWS).find_map(|_| {
            let mut faults = vec![self.any(draws), self.any(draws)];
            faults.sort_by_key(|fault| fault.kind);
            let outcome = self.other.play_together(&faults)?;
            self.seen(Drawn { faults, outcome })
        });
        drawn.expect("two faults can be seen")
    }

    fn any(&self, draws: &mut Draws) -> Fault {
        let all: u64 = self.by_kind.keys().map(|kind| u64::from(kind.weight())).sum();
        let mut at = draws.below(all);
        let (_, faults) = self
            .by_kind
            .iter()
            .find(|(kind, _)| {
                let weight = u64::from(kind.weight());
                let is_here = at < weight;
                at = at.wrapping_sub(if is_here { 0 } else { weight });
                is_here
            })
            .expect("a kind is drawn");
        self.plays.faults[faults[draws.below(faults.len() as u64) as usize]].fault.clone()
    }

    /// What is drawn, unless it looks like a good start.
    fn seen(&self, drawn: Drawn) -> Option<Drawn> {
        let starts = drawn.outcome.ending.class() == Class::Starts;
        let good = self.at_rest(&self.plays.good.ending);
        (!starts && self.at_rest(&drawn.outcome.ending) != good).then_some(drawn)
    }

    /// Whether it is found at once; and after how many looks it is, if it is.
    pub fn look_for(&self, drawn: &Drawn, most: usize) -> (bool, Option<usize>) {
        let archive = Archive::new(&self.plays, &self.words);
        let mut seen = self.read(&self.at_rest(&drawn.outcome.ending));
        let mut had = BTreeSet::new();
        let mut first = false;
        for looks in 0..=most {
            let suspects = archive.suspects(&seen);
            let is_found = self.is_first(drawn, &suspects, &archive);
            first |= looks == 0 && is_found;
            if is_found {
                return (first, Some(looks));
            }
            let Some(next) = archive.next(&suspects, &had) else { break };
            had.insert(next.look);
            let answer = archive.shows(next.look, &drawn.outcome.ending);
            let said = answered(next.look, &answer, &self.words);
            seen.extend(said.map(|said| self.read(&said)).unwrap_or_default());
        }
        (first, None)
    }

    /// Whether two faults, or something that looks the same, are among the first lines of the answer.
    pub fn is_among(&self, drawn: &Drawn, most: usize) -> bool {
        let archive = Archive::new(&self.plays, &self.words);
        let seen = self.read(&self.at_rest(&drawn.outcome.ending));
        let mut suspects = archive.suspects(&seen);
        let pairs: Vec<Pair>;
        if !archive.has_suspect(&seen) {
            pairs =
                self.theatre.play_pairs(archive.pairs_to_play(&seen, PAIRS_PLAYED), &|| true).expect("nobody stops it");
            suspects.extend(archive.of_pairs(&pairs, &seen));
            suspects.sort_by(|one, other| other.weight.total_cmp(&one.weight));
        }
        self.is_within(drawn, &suspects, &archive, most)
    }

    fn is_first(&self, drawn: &Drawn, suspects: &[Suspect], archive: &Archive) -> bool {
        self.is_within(drawn, suspects, archive, 1)
    }

    /// A line of the answer is of a kind with one end: it is the fault's own if that is in it.
    fn is_within(&self, drawn: &Drawn, suspects: &[Suspect], archive: &Archive, most: usize) -> bool {
        let groups = groups(suspects, &self.words);
        let kinds: Vec<_> = drawn.faults.iter().map(|fault| fault.kind).collect();
        groups.iter().take(most).any(|group| {
            let has_it =
                || suspects.iter().any(|suspect| group.has(suspect, &self.words) && suspect.faults == drawn.faults);
            (group.kinds() == kinds && has_it()) || self.looks_alike(group.first.outcome, &drawn.outcome, archive)
        })
    }

    /// Whether no look at the panel tells one end from another.
    fn looks_alike(&self, one: &Outcome, other: &Outcome, archive: &Archive) -> bool {
        let is_noise = |ending: &Ending| matches!(ending.rest, Rest::Noise { .. });
        if one.otherwise.is_some() || is_noise(&one.ending) != is_noise(&other.ending) {
            return false;
        }
        let mut looks = vec![Look::State, Look::Address, Look::Terminal];
        looks.extend((0..one.ending.listings.len()).map(Look::Listing));
        for ending in [&one.ending, &other.ending] {
            looks.extend(ending.ports.iter().map(|(port, _)| Look::Port(*port)));
            looks.extend(ending.tapes.iter().map(|tape| Look::Tape(tape.tape)));
            looks.extend(ending.cells.first.iter().map(|(at, _)| Look::Memory(*at)));
        }
        looks.into_iter().all(|look| archive.shows(look, &one.ending) == archive.shows(look, &other.ending))
    }

    fn read(&self, sentence: &str) -> Vec<Observation> {
        if sentence.is_empty() {
            return Vec::new();
        }
        let mut sources = SourceMap::default();
        let text = sources.add("seen", sentence, Origin::Given);
        let mut problems = Diagnostics::default();
        let seen = read(&sources, text, self.words.notation(), &mut problems);
        assert!(problems.is_empty(), "{sentence}: {:?}", problems.iter().next().map(|problem| &problem.headline));
        seen
    }

    fn at_rest(&self, ending: &Ending) -> String {
        at_rest(ending, &self.plays.good.ending, &self.words)
    }

    pub fn tell(&self, faults: &[Fault]) -> String {
        let told: Vec<_> =
            faults.iter().map(|fault| format!("{}: {}", fault.kind.name(), self.words.fault(fault))).collect();
        told.join("; and ")
    }
}
