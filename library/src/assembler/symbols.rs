//! What names mean: labels, constants, registers by another name, macros.

use std::sync::atomic::{AtomicBool, Ordering};

use crate::source::{Position, Span};
use crate::syntax::{NameId, RegisterName};

/// What kind of thing a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Meaning {
    /// Nothing yet.
    Undefined,
    /// An address.
    Label,
    /// A value fixed by EQU or on the command line.
    Constant,
    /// A value given by SET, which may change.
    Variable,
    /// A register under another name.
    Register(RegisterName),
    /// A macro, by number.
    Macro(u32),
}

/// What is known of a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Worth {
    /// The value.
    Known(u16),
    /// It depends on a name that is defined further on; pass two will know.
    Pending,
}

/// A flag that goes up while the table is only read. It is read by several threads once a program is assembled.
#[derive(Debug, Default)]
struct Raised(AtomicBool);

impl Raised {
    fn raise(&self) {
        self.0.store(true, Ordering::Relaxed);
    }

    fn is_up(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Clone for Raised {
    fn clone(&self) -> Self {
        Raised(AtomicBool::new(self.is_up()))
    }
}

/// The entry of one name.
#[derive(Clone, Debug)]
pub struct Entry {
    /// What it stands for.
    pub meaning: Meaning,
    /// Its value; for a variable the one that holds now.
    pub worth: Worth,
    /// Where it was defined, for a variable first defined.
    pub defined: Option<Span>,
    /// Whether a statement read it.
    used: Raised,
    /// Whether pass two read a variable before it reached its first SET.
    read_early: Raised,
    /// Whether pass two has not reached the first SET yet.
    early: bool,
}

impl Default for Entry {
    fn default() -> Self {
        Entry {
            meaning: Meaning::Undefined,
            worth: Worth::Pending,
            defined: None,
            used: Raised::default(),
            read_early: Raised::default(),
            early: false,
        }
    }
}

/// Two values of a variable where there should be one, each a number or the name of a register.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unsteady {
    /// What pass one left behind.
    pub first: String,
    /// What pass two found.
    pub second: String,
}

fn shown(meaning: Meaning, value: u16) -> String {
    match meaning {
        Meaning::Register(register) => register.name().to_owned(),
        _ => value.to_string(),
    }
}

/// All names of a program.
#[derive(Debug, Default)]
pub struct Symbols {
    entries: Vec<Entry>,
}

impl Symbols {
    /// No names yet, and room for so many.
    pub(super) fn with_capacity(names: usize) -> Symbols {
        Symbols { entries: Vec::with_capacity(names) }
    }

    /// The entry of a name, used or not.
    pub fn get(&self, name: NameId) -> Option<&Entry> {
        self.entries.get(name.index()).filter(|entry| entry.meaning != Meaning::Undefined)
    }

    /// The macro of a name.
    pub(super) fn macro_of(&self, name: NameId) -> Option<u32> {
        match self.entries.get(name.index())?.meaning {
            Meaning::Macro(number) => Some(number),
            _ => None,
        }
    }

    /// Reads a name for its value.
    pub(super) fn read(&self, name: NameId) -> Option<&Entry> {
        let entry = self.get(name)?;
        entry.used.raise();
        if entry.early {
            entry.read_early.raise();
        }
        Some(entry)
    }

    /// Defines a name for good.
    ///
    /// # Errors
    /// The entry that is there already.
    pub(super) fn define(
        &mut self,
        name: NameId,
        meaning: Meaning,
        worth: Worth,
        at: Option<Span>,
    ) -> Result<(), &Entry> {
        let entry = self.entry(name);
        if entry.meaning != Meaning::Undefined {
            return Err(entry);
        }
        (entry.meaning, entry.worth, entry.defined) = (meaning, worth, at);
        Ok(())
    }

    /// Whether SET gives the name its value.
    pub(super) fn is_variable(&self, name: NameId) -> bool {
        self.get(name).is_some_and(|entry| entry.meaning == Meaning::Variable)
    }

    /// Gives a variable a value, or a macro a new body.
    ///
    /// # Errors
    /// The entry that is there already, if it is of another kind.
    pub(super) fn redefine(&mut self, name: NameId, meaning: Meaning, worth: Worth, at: Span) -> Result<(), &Entry> {
        let entry = self.entry(name);
        match (entry.meaning, meaning) {
            (Meaning::Undefined, _) => entry.defined = Some(at),
            (Meaning::Variable | Meaning::Register(_), Meaning::Variable | Meaning::Register(_)) => {}
            (Meaning::Macro(_), Meaning::Macro(_)) => entry.defined = Some(at),
            _ => return Err(entry),
        }
        (entry.meaning, entry.worth) = (meaning, worth);
        Ok(())
    }

    /// Fixes the value of a constant that was pending.
    pub(super) fn settle(&mut self, name: NameId, value: u16) {
        self.entry(name).worth = Worth::Known(value);
    }

    /// Turns a pending constant into another name of a register.
    pub(super) fn settle_register(&mut self, name: NameId, register: RegisterName) {
        let entry = self.entry(name);
        (entry.meaning, entry.worth) = (Meaning::Register(register), Worth::Known(register.code()));
    }

    /// Starts pass two: variables hold what pass one left, until their first SET is reached again.
    pub(super) fn start_pass_two(&mut self) {
        for entry in &mut self.entries {
            entry.early = matches!(entry.meaning, Meaning::Variable | Meaning::Register(_));
            entry.read_early = Raised::default();
        }
    }

    /// Gives a variable its value in pass two.
    ///
    /// # Errors
    /// Both values, if a statement before this first SET has read the value of pass one and it was another.
    pub(super) fn set_again(&mut self, name: NameId, meaning: Meaning, worth: Worth) -> Result<(), Unsteady> {
        let entry = self.entry(name);
        let before = (std::mem::replace(&mut entry.meaning, meaning), std::mem::replace(&mut entry.worth, worth));
        if !std::mem::take(&mut entry.early) || !entry.read_early.is_up() || before == (meaning, worth) {
            return Ok(());
        }
        match (before.1, worth) {
            (Worth::Known(first), Worth::Known(second)) => {
                Err(Unsteady { first: shown(before.0, first), second: shown(meaning, second) })
            }
            _ => Ok(()),
        }
    }

    /// Whether any statement reads the name.
    pub fn is_used(&self, name: NameId) -> bool {
        self.entries.get(name.index()).is_some_and(|entry| entry.used.is_up())
    }

    fn entry(&mut self, name: NameId) -> &mut Entry {
        if name.index() >= self.entries.len() {
            self.entries.resize_with(name.index() + 1, Entry::default);
        }
        &mut self.entries[name.index()]
    }
}

impl Entry {
    /// Where the name was defined, if a source defined it.
    pub fn position(&self) -> Option<Position> {
        self.defined.map(Span::position)
    }
}
