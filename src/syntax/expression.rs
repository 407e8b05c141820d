//! Expressions as small programs for a stack: a step and the place it came from. They are stored in one pool, because a
//! large source has tens of thousands of them.

use super::habit::Habit;
use super::keyword::Keyword;
use super::name::NameId;
use super::number::after_prefix;
use super::operator::{Binary, Unary};
use super::parser::{Detail, Failed, Parser};
use super::statement::Operand;
use super::token::{Token, TokenKind};
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

/// The deepest nesting of parentheses and prefix operators in one expression.
#[derive(Clone, Copy, Debug)]
pub struct Deepest;

impl Deepest {
    /// The bound.
    pub const LEVELS: u32 = 200;
}

impl<D: Detail> Parser<'_, D> {
    /// Parses an expression of operators that bind at least as tightly as `least`.
    pub(super) fn expression(&mut self, least: u8) -> Result<(), Failed> {
        self.enter()?;
        self.prefix()?;
        while let Some(operator) = self.binary().filter(|operator| operator.precedence() >= least) {
            let token = self.operator();
            self.expression(operator.precedence() + 1)?;
            self.push(Step::Binary(operator), &token);
        }
        self.leave();
        Ok(())
    }

    fn binary(&self) -> Option<Binary> {
        let token = self.peek()?;
        match token.kind {
            TokenKind::Name => match self.keyword_here() {
                Some(Keyword::Binary(operator)) => Some(operator),
                _ => None,
            },
            TokenKind::Equal | TokenKind::Less | TokenKind::Greater if self.is_condition => {
                Some(match (token.kind, self.second_sign().map(|second| second.kind)) {
                    (TokenKind::Less, Some(TokenKind::Equal)) => Binary::Le,
                    (TokenKind::Less, Some(_)) => Binary::Ne,
                    (TokenKind::Less, None) => Binary::Lt,
                    (TokenKind::Greater, Some(_)) => Binary::Ge,
                    (TokenKind::Greater, None) => Binary::Gt,
                    _ => Binary::Eq,
                })
            }
            kind => Binary::of_sign(kind),
        }
    }

    /// The second sign of `<=`, `>=` or `<>` under the cursor.
    fn second_sign(&self) -> Option<Token> {
        let (first, second) = (self.peek()?, *self.tokens.get(self.at + 1)?);
        let pair = matches!(
            (first.kind, second.kind),
            (TokenKind::Less | TokenKind::Greater, TokenKind::Equal) | (TokenKind::Less, TokenKind::Greater)
        );
        (pair && first.end == second.start).then_some(second)
    }

    /// Takes the operator under the cursor.
    fn operator(&mut self) -> Token {
        let second = self.second_sign();
        let first = self.next();
        if !matches!(first.kind, TokenKind::Equal | TokenKind::Less | TokenKind::Greater) {
            return *first;
        }
        let token = Token { end: second.map_or(first.end, |second| second.end), ..*first };
        self.at += usize::from(second.is_some());
        self.habit(Habit::Comparison, &token);
        token
    }

    fn prefix(&mut self) -> Result<(), Failed> {
        let Some(token) = self.peek() else { return self.expected("an operand") };
        match token.kind {
            TokenKind::Number => {
                let value = self.constant(token)?;
                if after_prefix(token.text(self.text)).is_some() {
                    self.habit(Habit::HexPrefix, token);
                }
                self.next();
                self.push(Step::Number(value), token);
            }
            TokenKind::Name => return self.word(),
            TokenKind::Dollar => {
                self.next();
                self.push(Step::Here, token);
            }
            TokenKind::Star => {
                self.habit(Habit::StarLocation, token);
                self.next();
                self.push(Step::Here, token);
            }
            TokenKind::Text => {
                self.note_quotes(token);
                let value = self.character(token)?;
                self.next();
                self.push(Step::Number(value), token);
            }
            TokenKind::Plus => return self.unary(Unary::Plus),
            TokenKind::Minus => return self.unary(Unary::Minus),
            TokenKind::Open => return self.parenthesis(),
            _ => return self.expected("an operand"),
        }
        Ok(())
    }

    fn word(&mut self) -> Result<(), Failed> {
        match self.keyword_here() {
            Some(Keyword::Unary(Unary::Nul)) => self.nul(),
            Some(Keyword::Unary(operator)) if !self.stands_alone() => self.unary(operator),
            Some(Keyword::Binary(_)) if !self.stands_alone() => self.expected("an operand before the operator"),
            keyword => {
                let token = self.next();
                if let Some(Keyword::Mnemonic(_)) = keyword {
                    self.habit(Habit::BareInstruction, token);
                }
                self.push(Step::Name(token.name), token);
                Ok(())
            }
        }
    }

    /// Whether the word under the cursor has nothing to work on behind it, so that it can only be a name.
    fn stands_alone(&self) -> bool {
        self.tokens.get(self.at + 1).is_none_or(|next| matches!(next.kind, TokenKind::Comma | TokenKind::Close))
    }

    fn unary(&mut self, operator: Unary) -> Result<(), Failed> {
        let token = self.next();
        self.expression(operator.precedence() + u8::from(matches!(operator, Unary::Plus | Unary::Minus)))?;
        self.push(Step::Unary(operator), token);
        Ok(())
    }

    /// `NUL` looks at what a macro parameter left behind and never at its value. An expansion puts that into parentheses;
    /// without them it is one operand, or nothing.
    fn nul(&mut self) -> Result<(), Failed> {
        let token = self.next();
        let missing = match self.peek().map(|token| token.kind) {
            None | Some(TokenKind::Comma | TokenKind::Close) => true,
            Some(TokenKind::Open) => self.nothing_in_parentheses()?,
            Some(TokenKind::Number | TokenKind::Text | TokenKind::Dollar) => {
                self.next();
                false
            }
            Some(TokenKind::Name) if !matches!(self.keyword_here(), Some(Keyword::Unary(_))) => {
                let missing = matches!(self.keyword_here(), Some(Keyword::Binary(_)));
                self.at += usize::from(!missing);
                missing
            }
            _ => return self.expected("one operand behind NUL, or several in parentheses"),
        };
        self.push(Step::Number(if missing { 0xFFFF } else { 0 }), token);
        Ok(())
    }

    /// Passes over parentheses, whatever is in them; whether that is nothing, parentheses aside.
    fn nothing_in_parentheses(&mut self) -> Result<bool, Failed> {
        let open = self.next();
        let (mut depth, mut nothing) = (1, true);
        while let Some(token) = self.peek() {
            match token.kind {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth -= 1,
                _ => nothing = false,
            }
            if depth == 0 {
                break;
            }
            self.next();
        }
        self.close(open)?;
        Ok(nothing)
    }

    fn parenthesis(&mut self) -> Result<(), Failed> {
        let open = self.next();
        if let Some(Keyword::Mnemonic(mnemonic)) = self.keyword_here() {
            self.instruction_operand(mnemonic)?;
        } else {
            self.expression(0)?;
        }
        self.close(open)
    }

    fn close(&mut self, open: &Token) -> Result<(), Failed> {
        match self.peek() {
            Some(token) if token.kind == TokenKind::Close => {
                self.next();
                Ok(())
            }
            _ => self.unclosed(open),
        }
    }

    /// An instruction in parentheses: its first byte is the value. Only register operands reach that byte; a byte or
    /// word behind it is read and dropped.
    fn instruction_operand(&mut self, mnemonic: Mnemonic) -> Result<(), Failed> {
        let token = self.next();
        let (registers, others) = mnemonic.form().pattern.operand_counts();
        // Without the byte or word behind it the first byte is the same.
        let bare = registers == 0 && self.peek().is_some_and(|next| next.kind == TokenKind::Close);
        let others = if bare { 0 } else { others };
        for at in 0..registers + others {
            if at > 0 {
                self.comma()?;
            }
            let mark = self.program.mark();
            self.expression(0)?;
            if at >= registers {
                self.program.truncate(mark);
            }
        }
        self.push(Step::Encode(mnemonic, registers), token);
        Ok(())
    }
}
