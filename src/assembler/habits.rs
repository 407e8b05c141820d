//! Habits of other hands that are accepted because they cannot be misread, each counted for one note.

use super::pass_one::PassOne;
use crate::notation::counted;
use crate::source::{Code, Diagnostic, Span};

/// What a source does that the language's manual does not have.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Habit {
    /// A comment line that begins with an asterisk.
    Asterisk,
    /// A name that gets the value that it has.
    SameValue,
    /// `=` in place of EQU.
    EqualSign,
    /// The name of a file without quotes.
    BareName,
    /// `=`, `<` or `>` in a condition.
    Comparison,
}

impl Habit {
    /// What is counted, and what it is read as.
    const fn told(self) -> (&'static str, &'static str) {
        match self {
            Habit::Asterisk => ("line beginning with `*`", "read as a comment"),
            Habit::SameValue => ("name with the value it has already", "the value stays"),
            Habit::EqualSign => ("name defined by `=`", "read as EQU: a value for good"),
            Habit::Comparison => ("sign in a condition", "`=`, `<` and `>` are read as EQ, LT and GT"),
            Habit::BareName => ("file named without quotes", "read as if the name stood in quotes"),
        }
    }
}

impl PassOne<'_> {
    /// Counts a habit; the first place is shown.
    pub(super) fn habit(&mut self, habit: Habit, at: Span) {
        self.habits.entry(habit).or_insert((at, 0)).1 += 1;
    }

    /// One note a habit.
    pub(super) fn report_habits(&mut self) {
        for (habit, (first, count)) in std::mem::take(&mut self.habits) {
            let (what, reading) = habit.told();
            let (noun, rest) = what.split_once(' ').unwrap_or((what, ""));
            let problem = Diagnostic::note(Code::OtherHands, format!("{} {rest}", counted(count, noun)));
            let place = if count == 1 { reading.to_owned() } else { format!("the first of them; {reading}") };
            self.diagnostics.push(problem.at(first, place));
        }
    }
}
