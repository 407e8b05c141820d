//! What is said of the habits of other hands: one note for each, with a count and the first place.

use std::collections::BTreeMap;

use super::state::PassOne;
use super::symbols::Meaning;
use crate::notation::counted;
use crate::source::{Code, Diagnostic, Span};
use crate::syntax::{Habit, Keyword};

/// What is counted, and what it is read as.
const fn told(habit: Habit) -> (&'static str, &'static str) {
    match habit {
        Habit::Asterisk => ("line beginning with `*`", "read as a comment"),
        Habit::SameValue => ("name with the value it has already", "the value stays"),
        Habit::EqualSign => ("name defined by `=`", "read as EQU: a value for good"),
        Habit::BareName => ("file named without quotes", "read as if the name stood in quotes"),
        Habit::Comparison => {
            ("sign in a condition", "`=`, `<>`, `<`, `<=`, `>` and `>=` are read as EQ, NE, LT, LE, GT and GE")
        }
        Habit::Parted => ("sign `!` between statements", "what follows is read as a line of its own"),
        Habit::DoubleQuotes => ("string in double quotes", "read as if the quotes were single ones"),
        Habit::OtherWord => {
            ("directive under another name", "a dot before it is dropped; DEFB, DEFW, DEFS are DB, DW, DS")
        }
        Habit::DottedName => ("name with a dot", "the dot is a part of the name"),
        Habit::ReservedName => ("word of the language used as a name", "it is the name where only a name can stand"),
        Habit::BareInstruction => ("instruction as a value", "read as its opcode, as if it stood in parentheses"),
        Habit::HexPrefix => ("constant with `0x` before it", "read as hexadecimal"),
        Habit::StarLocation => ("`*` where a value stands", "read as `$`, the location"),
        Habit::TwoColons => ("label with two colons", "read as one"),
        Habit::LineNumber => ("line with a number before it", "the number is passed over"),
        Habit::SharedNames => ("line with PUBLIC", "passed over: all names of a program are known in all its parts"),
    }
}

impl PassOne<'_> {
    /// One note a habit.
    pub(super) fn report_habits(&mut self) {
        let mut counts: BTreeMap<Habit, (Span, usize)> = BTreeMap::new();
        let mut met = std::mem::take(&mut self.habits);
        met.extend(self.program.take_habits());
        let is_habit = |&(habit, at): &(Habit, Span)| habit != Habit::BareInstruction || self.is_opcode(at);
        met.retain(is_habit);
        for (habit, at) in met.into_iter().chain(self.dotted()) {
            let (first, count) = counts.entry(habit).or_insert((at, 0));
            (*first, *count) = ((*first).min(at), *count + 1);
        }
        for (habit, (first, count)) in counts {
            let (what, reading) = told(habit);
            let (noun, rest) = what.split_once(' ').unwrap_or((what, ""));
            let problem = Diagnostic::note(Code::OtherHands, format!("{} {rest}", counted(count, noun)));
            let place = if count == 1 { reading.to_owned() } else { format!("the first of them; {reading}") };
            self.diagnostics.push(problem.at(first, place));
        }
    }

    /// Whether a word is an instruction that by itself stands for its opcode, and no name of the user's.
    fn is_opcode(&mut self, at: Span) -> bool {
        let name = self.names.intern(self.sources.text(at));
        let Some(Keyword::Mnemonic(mnemonic)) = name.keyword() else { return false };
        mnemonic.form().pattern.operand_counts().0 == 0 && self.symbols.get(name).is_none()
    }

    /// The user's names that have a dot in them, where they are defined.
    fn dotted(&self) -> Vec<(Habit, Span)> {
        let defined = |name| self.symbols.get(name).filter(|entry| entry.meaning != Meaning::Undefined)?.defined;
        let dotted = self.names.all().filter(|&name| self.names.text(name).contains('.'));
        dotted.filter_map(|name| Some((Habit::DottedName, defined(name)?))).collect()
    }
}
