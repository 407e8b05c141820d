//! The looks of an inquiry worked out beforehand, for where nobody can reckon: at the panel, from a page.

use std::cmp::Ordering;
use std::collections::{BTreeSet, BinaryHeap};

use serde::Serialize;

use super::archive::Archive;
use super::group::groups;
use super::look::{Answer, Look};
use super::seen::{Observation, Shown, State, What};
use super::suspect::Suspect;
use super::words::{printed, question, shows};
use crate::faults::Words;
use crate::source::{Origin, SourceMap, Span};

/// The most places in the tree, answers of a look, and groups of faults that are told.
const MOST_PLACES: usize = 240;
const MOST_ANSWERS: usize = 60;
const MOST_GROUPS: usize = 5;

/// What part of those who are asked cannot tell (a guess: it decides only which places of the tree are worked out).
const UNSURE: f64 = 0.1;

/// Questions, their answers, and what each leads to, as a tree.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Questions {
    /// Its places, the first before anything was asked.
    pub places: Vec<Place>,
    /// The words of kinds of faults and of mends, each once.
    pub texts: Vec<String>,
}

/// Where one is after some answers.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct Place {
    /// How many faults are left.
    pub left: usize,
    /// How many of them explain all that was answered.
    pub explain: usize,
    /// A start without a fault looks so too.
    #[serde(skip_serializing_if = "is_false")]
    pub good: bool,
    /// What is asked; nothing where no look tells more apart, or no more was worked out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ask: Option<String>,
    /// What it may show, with the place to which that leads.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub answers: Vec<(String, usize)>,
    /// The place to which another answer leads, or none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unsure: Option<usize>,
    /// The likeliest faults.
    pub found: Vec<Found>,
}

/// Faults of a kind with one end.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    /// The kind, by its place among the texts.
    pub kind: usize,
    /// How many.
    pub count: usize,
    /// One of them.
    pub fault: String,
    /// What mends it, by its place among the texts.
    pub mend: usize,
    /// Its play leaves open what was answered.
    #[serde(skip_serializing_if = "is_false")]
    pub perhaps: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_false(value: &bool) -> bool {
    !value
}

/// A place whose question is not worked out yet.
struct Draft<'a> {
    place: usize,
    /// The part of all starts that go wrong which come here.
    share: f64,
    seen: Vec<Observation>,
    had: BTreeSet<Look>,
    suspects: Vec<Suspect<'a>>,
}

impl PartialEq for Draft<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Draft<'_> {}

impl PartialOrd for Draft<'_> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The greater share comes first; of equal ones that which was made first.
impl Ord for Draft<'_> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.share.total_cmp(&other.share).then(other.place.cmp(&self.place))
    }
}

impl Questions {
    /// The questions that tell apart what was played of a start, those that most come to first.
    pub fn new(archive: &Archive, words: &Words) -> Questions {
        // Nobody has typed the answers.
        let source = SourceMap::default().add(String::new(), Vec::new(), Origin::Given);
        let span = Span { source, start: 0, end: 0 };
        let mut maker = Maker { archive, words, span, questions: Questions { places: Vec::new(), texts: Vec::new() } };
        let mut drafts = BinaryHeap::new();
        drafts.push(maker.place(1.0, Vec::new(), BTreeSet::new(), archive.suspects(&[])));
        while let Some(draft) = drafts.pop() {
            drafts.extend(maker.ask(draft));
        }
        maker.questions
    }
}

struct Maker<'a> {
    archive: &'a Archive<'a>,
    words: &'a Words,
    span: Span,
    questions: Questions,
}

impl<'a> Maker<'a> {
    /// A new place.
    fn place(
        &mut self,
        share: f64,
        seen: Vec<Observation>,
        had: BTreeSet<Look>,
        suspects: Vec<Suspect<'a>>,
    ) -> Draft<'a> {
        let groups = groups(&suspects, self.words);
        let found = groups.iter().take(MOST_GROUPS).map(|group| {
            let faults: Vec<_> = group.first.faults.iter().map(|fault| self.words.fault(fault)).collect();
            Found {
                kind: text(&mut self.questions.texts, group.name()),
                count: group.count,
                fault: faults.join("; and "),
                mend: text(&mut self.questions.texts, group.mend()),
                perhaps: !group.first.explains,
            }
        });
        let place = Place {
            left: suspects.len(),
            explain: suspects.iter().filter(|suspect| suspect.explains).count(),
            good: !seen.is_empty() && self.archive.looks_good(&seen),
            found: found.collect(),
            ..Place::default()
        };
        self.questions.places.push(place);
        Draft { place: self.questions.places.len() - 1, share, seen, had, suspects }
    }

    /// Works out the question of a place, as long as there is room for where its answers lead.
    fn ask(&mut self, draft: Draft<'a>) -> Vec<Draft<'a>> {
        let Draft { place, share, seen, mut had, suspects } = draft;
        if suspects.len() < 2 {
            return Vec::new();
        }
        let Some(next) = self.archive.next(&suspects, &had) else { return Vec::new() };
        had.insert(next.look);
        let weight = |suspects: &[Suspect]| suspects.iter().map(|suspect| suspect.weight).sum::<f64>();
        let all: f64 = next.answers.iter().map(|(_, suspects)| weight(suspects)).sum();
        let told = next.answers.iter().filter_map(|(answer, suspects)| {
            let what = observed(self.words, next.look, answer)?;
            Some((shows(self.words, answer), Observation { what, span: self.span }, weight(suspects) / all))
        });
        let mut told: Vec<_> = told.take(MOST_ANSWERS).collect();
        if self.questions.places.len() + told.len() >= MOST_PLACES || told.is_empty() {
            return Vec::new();
        }
        told.sort_by(|(one, ..), (other, ..)| one.cmp(other));
        let mut drafts = Vec::new();
        let mut answers = Vec::new();
        for (answer, observation, part) in told {
            let seen: Vec<_> = seen.iter().cloned().chain([observation]).collect();
            let suspects = self.archive.suspects(&seen);
            // What a person can say of it may be less than what was sent.
            if suspects.is_empty() {
                continue;
            }
            let draft = self.place(share * part * (1.0 - UNSURE), seen, had.clone(), suspects);
            answers.push((answer, draft.place));
            drafts.push(draft);
        }
        let unsure = self.place(share * UNSURE, seen, had, suspects);
        let asked = &mut self.questions.places[place];
        (asked.ask, asked.answers, asked.unsure) = (Some(question(self.words, next.look)), answers, Some(unsure.place));
        drafts.push(unsure);
        drafts
    }
}

/// The place of a text, which is added if it is not there.
fn text(texts: &mut Vec<String>, wanted: String) -> usize {
    texts.iter().position(|text| *text == wanted).unwrap_or_else(|| {
        texts.push(wanted);
        texts.len() - 1
    })
}

/// What a person has seen who gives an answer; nothing if it may be anything.
fn observed(words: &Words, look: Look, answer: &Answer) -> Option<What> {
    Some(match (look, answer) {
        (_, Answer::Halted) => What::State(State::Halted),
        (_, Answer::Running) => What::State(State::Running),
        (_, Answer::Address(at)) => What::Address(Shown::Steady(*at)),
        (_, Answer::Between(low, high)) => What::Address(Shown::Between(*low, *high)),
        (_, Answer::Flickers) => What::Address(Shown::Flickers),
        (Look::Port(port), Answer::Byte(byte)) => What::Port(port, Shown::Steady((*byte).into())),
        (Look::Memory(at), Answer::Byte(byte)) => What::Memory(at, *byte),
        (Look::Listing(stage), Answer::Compared(shows)) => {
            let (name, ..) = words.stages().nth(stage)?;
            What::Listing { name: Some(name.into()), shows: *shows }
        }
        (Look::Tape(tape), Answer::RanOut | Answer::StillRuns) => {
            What::Tape { name: words.tapes().get(tape).cloned(), ran_out: *answer == Answer::RanOut }
        }
        (Look::Terminal, Answer::Text(bytes)) => What::Terminal(printed(bytes)),
        _ => return None,
    })
}
