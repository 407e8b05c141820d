//! What pass one leaves for pass two and the listing.

use crate::isa::Mnemonic;
use crate::source::{Position, SourceId, Span};
use crate::syntax::NameId;

/// A statement that pass two looks at.
#[derive(Clone, Copy, Debug)]
pub struct Statement {
    /// The text it stands in.
    pub source: SourceId,
    /// Offsets of its operation word.
    pub word: (u32, u32),
    /// What `$` is in it.
    pub location: u16,
    /// What to add to the location to get the address where its bytes are put.
    pub shift: u16,
    /// What to do.
    pub(super) task: Task,
    /// Its first operand in the pool.
    pub(super) first: u32,
    /// How many operands it has.
    pub(super) count: u32,
}

/// What pass two does with a statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Task {
    Instruction(Mnemonic),
    /// Bytes and strings.
    Bytes,
    /// Words.
    Words,
    /// As many equal bytes; the value is the last operand.
    Fill(u16),
    /// Part of an embedded file, by number.
    Embed(u32),
    /// SET: the variable gets its value again.
    Set(NameId),
    /// EQU whose value pass one did not know.
    Equ(NameId),
    /// The location is set.
    Origin,
    /// The start address.
    End,
    /// An assertion.
    Insist,
    /// No task; operands only, for the uses of names.
    Nothing,
}

impl Statement {
    /// The operation word.
    pub fn span(&self) -> Span {
        Span { source: self.source, start: self.word.0, end: self.word.1 }
    }

    /// The instruction, if it is one.
    pub fn instruction(&self) -> Option<Mnemonic> {
        match self.task {
            Task::Instruction(mnemonic) => Some(mnemonic),
            _ => None,
        }
    }

    /// Whether an instruction begins at a run address here.
    pub(super) fn begins_instruction_at(&self, address: u16) -> bool {
        self.location == address && matches!(self.task, Task::Instruction(_))
    }

    /// The place to which its bytes go back.
    pub fn position(&self) -> Position {
        self.span().position()
    }

    /// The address where its first byte is put.
    pub fn deposit(&self) -> u16 {
        self.location.wrapping_add(self.shift)
    }
}

/// A line for the listing.
#[derive(Clone, Copy, Debug)]
pub struct ListedLine {
    /// The text it stands in.
    pub source: SourceId,
    /// Offset of its first byte.
    pub start: u32,
    /// How deep it is nested in includes.
    pub include_depth: u8,
    /// How deep it is nested in expansions.
    pub expansion_depth: u8,
    /// The number of its statement, if it has one, in [`super::Assembly::statements`].
    pub statement: Option<std::num::NonZeroU32>,
    /// Whether a conditional left it out.
    pub skipped: bool,
}
