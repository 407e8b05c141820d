//! The faults of a start as a table: the worst first, and those of a kind with one end together.

use std::collections::BTreeMap;

use super::kind::Kind;
use super::outcome::{Class, Played};
use super::words::Words;

/// The table of a start.
pub struct Table {
    /// What becomes of how many.
    pub counts: Vec<(Class, usize)>,
    /// By what becomes of them, the worst first; none is empty.
    pub parts: Vec<Part>,
}

/// The faults of which the same becomes.
pub struct Part {
    /// What becomes of them.
    pub class: Class,
    /// How many they are.
    pub count: usize,
    /// By kinds and ends, the most common kind first.
    pub lines: Vec<Line>,
}

/// Faults of a kind with one end.
pub struct Line {
    /// The kind.
    pub kind: Kind,
    /// How many there are.
    pub count: usize,
    /// How they end.
    pub gist: String,
    /// The first of them.
    pub example: String,
    /// What became of it.
    pub outcome: String,
    /// What would have found it.
    pub found_by: &'static str,
}

impl Table {
    /// The table of all faults that were played.
    pub fn new(played: &[Played], words: &Words) -> Table {
        let of = |class| played.iter().filter(move |played| played.outcome.class() == class);
        let parts = Class::ALL.into_iter().filter_map(|class| {
            let lines = lines(of(class), words);
            (!lines.is_empty()).then(|| Part { class, count: of(class).count(), lines })
        });
        let counts = Class::ALL.into_iter().map(|class| (class, of(class).count())).collect();
        Table { counts, parts: parts.collect() }
    }
}

fn lines<'a>(played: impl Iterator<Item = &'a Played>, words: &Words) -> Vec<Line> {
    let mut lines: BTreeMap<(Kind, String), Line> = BTreeMap::new();
    for Played { fault, outcome } in played {
        let gist = words.gist(outcome);
        let line = lines.entry((fault.kind, gist.clone())).or_insert_with(|| Line {
            kind: fault.kind,
            count: 0,
            gist,
            example: words.fault(fault),
            outcome: words.outcome(outcome),
            found_by: words.found_by(fault),
        });
        line.count += 1;
    }
    let mut lines: Vec<_> = lines.into_values().collect();
    lines.sort_by_key(|line| (std::cmp::Reverse(line.kind.weight()), line.kind, std::cmp::Reverse(line.count)));
    lines
}
