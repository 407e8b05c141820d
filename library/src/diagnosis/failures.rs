//! What failures look like: by what the panel shows where the machine stays, the likeliest first.

use std::collections::BTreeMap;

use super::archive::Archive;
use super::group::groups;
use super::look::{Answer, Look};
use super::suspect::Suspect;
use super::words::shows;
use crate::faults::{Class, Ending, Outcome, Words};

/// The most causes that are told of one failure.
const MOST_CAUSES: usize = 3;

/// Starts that go wrong and come to look the same.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// What is seen where the machine stays.
    pub seen: String,
    /// How many faults come to that.
    pub faults: usize,
    /// The likeliest kinds of them.
    pub causes: Vec<Cause>,
}

/// Faults of a kind with one end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cause {
    /// The kind.
    pub kind: String,
    /// How many there are.
    pub count: usize,
    /// One of them.
    pub fault: String,
    /// What mends it.
    pub mend: String,
}

/// What is seen: the state and the address lights; or that it looks as after a good start.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Sight {
    AsItShould,
    Rests(Answer, Answer),
}

/// Every failure that some fault comes to, the likeliest first. What starts as it should in spite of its fault is none.
pub fn failures(archive: &Archive, words: &Words) -> Vec<Failure> {
    let mut sights = BTreeMap::<Sight, Vec<Suspect>>::new();
    for suspect in archive.suspects(&[]) {
        if suspect.outcome.class() != Class::Starts {
            sights.entry(sight(archive, suspect.outcome)).or_default().push(suspect);
        }
    }
    let weight = |suspects: &[Suspect]| suspects.iter().map(|suspect| suspect.weight).sum::<f64>();
    let mut sights: Vec<_> = sights.into_iter().collect();
    sights.sort_by(|(_, one), (_, other)| weight(other).total_cmp(&weight(one)));
    sights.into_iter().map(|(sight, suspects)| failure(&sight, &suspects, words)).collect()
}

fn sight(archive: &Archive, outcome: &Outcome) -> Sight {
    let rests = |ending: &Ending| {
        let [state, address] = [Look::State, Look::Address].map(|look| archive.shows(look, ending));
        Sight::Rests(state, address)
    };
    let seen = rests(&outcome.ending);
    match outcome.otherwise.as_deref() {
        Some(other) if rests(other) != seen => Sight::Rests(Answer::Open, Answer::Open),
        _ if archive.rests_as_a_good_start(&outcome.ending) => Sight::AsItShould,
        _ => seen,
    }
}

fn failure(sight: &Sight, suspects: &[Suspect], words: &Words) -> Failure {
    let causes = groups(suspects, words).into_iter().take(MOST_CAUSES).map(|group| {
        let faults: Vec<_> = group.first.faults.iter().map(|fault| words.fault(fault)).collect();
        Cause { kind: group.name(), count: group.count, fault: faults.join("; and "), mend: group.mend() }
    });
    Failure { seen: seen(sight, words), faults: suspects.len(), causes: causes.collect() }
}

/// In the words that [`seen`](super::seen) reads, where there are such.
fn seen(sight: &Sight, words: &Words) -> String {
    match sight {
        Sight::AsItShould => "state and address lights as after a good start".into(),
        Sight::Rests(Answer::Open, _) => "one thing or another: it hangs on what memory held at power-on".into(),
        Sight::Rests(state, Answer::Open) => shows(words, state),
        Sight::Rests(state, Answer::Flickers) => format!("{}, address flickers", shows(words, state)),
        Sight::Rests(state, between @ Answer::Between(..)) => {
            format!("{}, address flickers {}", shows(words, state), shows(words, between))
        }
        Sight::Rests(state, address) => format!("{}, address {}", shows(words, state), shows(words, address)),
    }
}
