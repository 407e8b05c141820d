//! Faults that are told together.

use std::collections::BTreeMap;

use super::suspect::Suspect;
use crate::faults::{Kind, Words};

/// Faults of a kind, or of two kinds at once, with one end.
pub struct Group<'a> {
    /// How many there are.
    pub count: usize,
    /// The likeliest of them.
    pub first: Suspect<'a>,
    weight: f64,
    key: Key,
}

/// What is the same of all of a group.
type Key = (Vec<Kind>, bool, String);

fn key(suspect: &Suspect, words: &Words) -> Key {
    let kinds = suspect.faults.iter().map(|fault| fault.kind).collect();
    (kinds, suspect.explains, words.gist(suspect.outcome))
}

impl Group<'_> {
    /// Whether a suspect is one of them.
    pub fn has(&self, suspect: &Suspect, words: &Words) -> bool {
        key(suspect, words) == self.key
    }

    /// The kind, or the two.
    pub fn kinds(&self) -> &[Kind] {
        &self.key.0
    }

    /// What they are called.
    pub fn name(&self) -> String {
        match self.kinds() {
            [one, other] if one == other => format!("{}, twice", one.name()),
            kinds => kinds.iter().map(|kind| kind.name()).collect::<Vec<_>>().join(", and "),
        }
    }

    /// What mends them.
    pub fn mend(&self) -> String {
        let mut mends: Vec<_> = self.kinds().iter().map(|kind| kind.mend()).collect();
        mends.dedup();
        mends.join("; and ")
    }
}

/// Faults by kinds, ends and whether they explain, the likeliest first. Those before others among `suspects` are the likelier.
pub fn groups<'a>(suspects: &[Suspect<'a>], words: &Words) -> Vec<Group<'a>> {
    let mut groups = BTreeMap::<Key, Group>::new();
    for &suspect in suspects {
        let key = key(&suspect, words);
        let group = groups.entry(key.clone()).or_insert(Group { count: 0, first: suspect, weight: 0.0, key });
        group.count += 1;
        group.weight += suspect.weight;
    }
    let mut groups: Vec<_> = groups.into_values().collect();
    groups.sort_by(|one, other| other.weight.total_cmp(&one.weight));
    groups
}
