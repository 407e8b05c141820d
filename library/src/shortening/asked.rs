//! How far forms are looked for, and those that were asked for before.

use std::sync::{Mutex, PoisonError};

use hashbrown::HashMap;

use super::effect::Places;
use super::row::Given;
use super::search::{Shorter, Window};
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
    pub(super) fn longest(self) -> usize {
        match self {
            Depth::Two => 4,
            Depth::Deep => 6,
        }
    }

    /// Instructions of a form, the most.
    pub(super) fn most(self) -> usize {
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
