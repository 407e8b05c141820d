//! What operands are made of. Expressions are small programs for a stack: a step and the place it came from. Steps and
//! operands are stored in pools, because a large source has tens of thousands of them.

use super::habit::Habit;
use super::keyword::RegisterName;
use super::name::NameId;
use super::operator::{Binary, Unary};
use super::token::Token;
use crate::isa::Mnemonic;
use crate::source::Span;

/// One step of an expression.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Push a number.
    Number(u16),
    /// Push the value of a name.
    Name(NameId),
    /// Push the location counter.
    Here,
    /// Apply to the top value.
    Unary(Unary),
    /// Apply to the two top values.
    Binary(Binary),
    /// Replace this many values, the register operands, by the first byte of an instruction.
    Encode(Mnemonic, u8),
}

/// A step with its place in the source of its statement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Op {
    /// What to do.
    pub step: Step,
    /// Offset of the first byte of the text that asked for it.
    pub start: u32,
    /// Offset behind the last.
    pub end: u32,
}

/// A range of steps in the pool of a [`Program`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expression {
    pub(super) first: u32,
    pub(super) count: u32,
}

/// An operand in the pool.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Operand {
    /// An expression.
    Expression(Expression),
    /// A string by itself, where strings are allowed: offsets of the text with its quotes.
    Text(u32, u32),
    /// A register by itself. This and the next two are nearly all operands; they need no steps.
    Register(RegisterName, Word),
    /// A name by itself.
    Name(NameId, Word),
    /// The name of a file without quotes: offsets of its text.
    Bare(u32, u32),
    /// A constant by itself.
    Number(u16, Word),
}

/// Where a short token stands: offset and length in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Word {
    start: u32,
    length: u16,
}

impl Word {
    pub(super) fn of(token: &Token) -> Option<Word> {
        u16::try_from(token.end - token.start).ok().map(|length| Word { start: token.start, length })
    }

    /// Offsets of the first byte and behind the last.
    pub const fn offsets(self) -> (u32, u32) {
        (self.start, self.start + self.length as u32)
    }
}

/// The pools of all operands and their expressions.
#[derive(Debug, Default)]
pub struct Program {
    ops: Vec<Op>,
    operands: Vec<Operand>,
    habits: Vec<(Habit, Span)>,
}

/// A point to which a [`Program`] can go back.
#[derive(Clone, Copy, Debug)]
pub struct Mark {
    ops: u32,
    operands: u32,
    habits: u32,
}

impl Program {
    /// Pools with room for so many statements of the usual kind.
    pub fn with_capacity(statements: usize) -> Self {
        // Nearly all operands stand by themselves and take no steps.
        let (ops, operands) = (Vec::with_capacity(statements / 8), Vec::with_capacity(statements / 2));
        Program { ops, operands, habits: Vec::new() }
    }

    /// The steps of an expression.
    pub fn ops(&self, expression: Expression) -> &[Op] {
        &self.ops[expression.first as usize..(expression.first + expression.count) as usize]
    }

    /// A range of operands.
    pub fn operands(&self, first: u32, count: u32) -> &[Operand] {
        &self.operands[first as usize..(first + count) as usize]
    }

    /// How many operands the pool holds; the next one gets this number.
    pub fn operand_count(&self) -> u32 {
        self.operands.len() as u32
    }

    pub(super) fn op_count(&self) -> u32 {
        self.ops.len() as u32
    }

    pub(super) fn push_op(&mut self, step: Step, start: u32, end: u32) {
        self.ops.push(Op { step, start, end });
    }

    pub(super) fn push_operand(&mut self, operand: Operand) {
        self.operands.push(operand);
    }

    pub(super) fn push_habit(&mut self, habit: Habit, at: Span) {
        self.habits.push((habit, at));
    }

    /// The habits of other hands met while parsing, in the order of reading.
    pub fn take_habits(&mut self) -> Vec<(Habit, Span)> {
        std::mem::take(&mut self.habits)
    }

    /// Forgets what was stored after a mark.
    pub fn truncate(&mut self, mark: Mark) {
        self.ops.truncate(mark.ops as usize);
        self.operands.truncate(mark.operands as usize);
        self.habits.truncate(mark.habits as usize);
    }

    /// The point to which [`Program::truncate`] can go back.
    pub fn mark(&self) -> Mark {
        Mark { ops: self.op_count(), operands: self.operand_count(), habits: self.habits.len() as u32 }
    }
}
