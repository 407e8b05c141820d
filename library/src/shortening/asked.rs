//! How far forms are looked for, and those that were asked for before.

use std::ops::Range;
use std::sync::{Mutex, PoisonError};

use hashbrown::HashMap;

use super::code::Code;
use super::effect::Places;
use super::facts::Facts;
use super::row::Given;
use super::search::{Shorter, Window, may_go, runs_on};
use super::state::Known;

/// How far forms are looked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Depth {
    /// Runs of up to four instructions, in up to two.
    #[default]
    Two,
    /// Runs of up to six instructions, in up to three, and in four where there are not too many of them.
    Deep,
}

impl Depth {
    /// Instructions of a run that is looked at, the most.
    fn longest(self) -> usize {
        match self {
            Depth::Two => 4,
            Depth::Deep => 6,
        }
    }

    /// Instructions of a form, the most.
    fn most(self) -> usize {
        match self {
            Depth::Two => 2,
            Depth::Deep => 4,
        }
    }
}

/// A search for forms, with the answers that it gave. What of a program stayed as it was since it was looked at need not be
/// looked at again: a run of the same instructions, of which the same is known and told apart, has the same form.
#[derive(Debug, Default)]
pub struct Search {
    depth: Depth,
    answers: Mutex<HashMap<Asked, Option<Shorter>>>,
}

/// What the form of a run follows from: opcodes and operands, what is known before and told apart behind it, and how many
/// instructions it may have.
type Asked = (Vec<(u8, Option<Given>)>, Known, Places, usize);

impl Search {
    /// A search that was asked nothing yet.
    pub fn new(depth: Depth) -> Search {
        Search { depth, answers: Mutex::default() }
    }

    /// How far it looks.
    pub fn depth(&self) -> Depth {
        self.depth
    }

    /// The best form of a run, of so many instructions at most.
    pub(super) fn form(&self, window: &Window, most: usize) -> Option<Shorter> {
        let run = window.run.iter().map(|it| (it.instruction.opcode, it.operand.clone())).collect();
        let asked: Asked = (run, *window.known, window.live, most);
        let answers = || self.answers.lock().unwrap_or_else(PoisonError::into_inner);
        let answer = answers().get(&asked).cloned();
        let found = answer.unwrap_or_else(|| {
            let found = window.search(most);
            answers().insert(asked, found.clone());
            found
        });
        // It is a form for the whole of these rows, wherever they were before.
        found.map(|mut it| {
            it.pieces.iter_mut().for_each(|(rows, _)| rows.clone_from(&window.rows));
            it
        })
    }
}

/// The shortest form of any run that begins at a row, if one is shorter than the run.
pub(super) fn shorter(code: &Code, facts: &Facts, first: usize, search: &Search) -> Option<Shorter> {
    let mut best: Option<Shorter> = None;
    for count in 1..=search.depth().longest() {
        let rows = first..first + count;
        if rows.end > code.rows.len() || !may_change(code, facts, &rows) {
            break;
        }
        let found = search.form(&Window::new(code, facts, rows)?, search.depth().most());
        let is_better = |it: &Shorter| best.as_ref().is_none_or(|best| it.saves > best.saves);
        if let Some(found) = found.filter(is_better) {
            best = Some(found);
        }
    }
    best
}

/// Whether a run stands in lines of its own, and nobody comes into the middle of it or counts its time.
fn may_change(code: &Code, facts: &Facts, rows: &Range<usize>) -> bool {
    rows.clone().all(|number| may_go(code, facts, number)) && runs_on(code, rows)
}
