//! The value of an expression.

use super::symbols::{Meaning, Symbols, Worth};
use crate::isa::{Mnemonic, Register};
use crate::syntax::{Expression, Keyword, NameId, Op, Operand, Program, RegisterName, Step};

/// What an expression comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Value {
    /// A 16-bit number.
    Number(u16),
    /// A register, which only a register operand, EQU or SET can take.
    Register(RegisterName),
}

/// Why an expression has no value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cause {
    /// The name is not defined, or not yet.
    Undefined(NameId),
    /// The name is defined, but its value is not known yet.
    Pending(NameId),
    /// A macro stands where a value should.
    Macro(NameId),
    /// A register stands where a number should.
    Register(RegisterName),
    /// A string stands where a number should.
    Text,
    /// Division by zero, or MOD.
    DivisionByZero,
    /// The operands do not fit the instruction in parentheses.
    NoInstruction(Mnemonic),
    /// An instruction stands where a value should, without the registers that its opcode depends on.
    Unfinished(Mnemonic),
}

/// A cause with the offsets of the text to blame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Trouble {
    pub cause: Cause,
    pub start: u32,
    pub end: u32,
}

/// Evaluates expressions, keeping its stack between them.
#[derive(Default)]
pub(super) struct Evaluator {
    /// Values with the step that a complaint about them points at.
    stack: Vec<(Value, Op)>,
    /// Instructions that were read as their opcode, because nothing of their name was defined.
    pub bare: Vec<NameId>,
}

impl Evaluator {
    /// The value of `operand` in a statement at location `here`.
    // In line, so that the value of a number, as most are, is handed on in a register.
    #[inline(always)]
    pub fn operand(
        &mut self,
        program: &Program,
        symbols: &Symbols,
        operand: Operand,
        here: u16,
    ) -> Result<Value, Trouble> {
        match operand {
            Operand::Number(number, _) => Ok(Value::Number(number)),
            Operand::Register(register, _) => Ok(Value::Register(register)),
            Operand::Name(name, word) => look_up(symbols, name, &mut self.bare).map_err(|cause| {
                let (start, end) = word.offsets();
                Trouble { cause, start, end }
            }),
            Operand::Expression(expression) => self.evaluate(program, symbols, expression, here),
            Operand::Text(start, end) | Operand::Bare(start, end) => Err(Trouble { cause: Cause::Text, start, end }),
        }
    }

    /// The value of `expression` in a statement at location `here`.
    pub fn evaluate(
        &mut self,
        program: &Program,
        symbols: &Symbols,
        expression: Expression,
        here: u16,
    ) -> Result<Value, Trouble> {
        match program.ops(expression) {
            [Op { step: Step::Number(number), .. }] => Ok(Value::Number(*number)),
            [op @ Op { step: Step::Name(name), .. }] => {
                look_up(symbols, *name, &mut self.bare).map_err(|cause| blame(op, cause))
            }
            ops => self.run(ops, symbols, here),
        }
    }

    fn run(&mut self, ops: &[Op], symbols: &Symbols, here: u16) -> Result<Value, Trouble> {
        self.stack.clear();
        for op in ops {
            let value = match op.step {
                Step::Number(number) => Value::Number(number),
                Step::Here => Value::Number(here),
                Step::Name(name) => look_up(symbols, name, &mut self.bare).map_err(|cause| blame(op, cause))?,
                Step::Unary(operator) => Value::Number(operator.apply(self.number(op)?)),
                Step::Binary(operator) => {
                    let right = self.number(op)?;
                    let left = self.number(op)?;
                    let value = operator.apply(left, right).ok_or_else(|| blame(op, Cause::DivisionByZero))?;
                    Value::Number(value)
                }
                Step::Encode(mnemonic, count) => {
                    let operands = self.stack.split_off(self.stack.len().saturating_sub(count.into()));
                    let values: Vec<_> = operands.iter().map(|(value, _)| *value).collect();
                    let byte = encode(mnemonic, &values).map_err(|_| blame(op, Cause::NoInstruction(mnemonic)))?;
                    Value::Number(byte.into())
                }
            };
            self.stack.push((value, *op));
        }
        // The parser balances every expression, so that a value is always there.
        Ok(self.stack.pop().map_or(Value::Number(0), |(value, _)| value))
    }

    fn number(&mut self, operator: &Op) -> Result<u16, Trouble> {
        match self.stack.pop() {
            Some((Value::Number(number), _)) => Ok(number),
            Some((Value::Register(register), op)) => Err(blame(&op, Cause::Register(register))),
            None => Err(blame(operator, Cause::DivisionByZero)),
        }
    }
}

/// Where the text of an operand begins and ends, from its first to its last step.
pub(super) fn offsets(program: &Program, operand: Operand) -> Option<(u32, u32)> {
    match operand {
        Operand::Text(start, end) | Operand::Bare(start, end) => Some((start, end)),
        Operand::Register(_, word) | Operand::Name(_, word) | Operand::Number(_, word) => Some(word.offsets()),
        Operand::Expression(expression) => {
            let ops = program.ops(expression);
            Some((ops.iter().map(|op| op.start).min()?, ops.iter().map(|op| op.end).max()?))
        }
    }
}

fn blame(op: &Op, cause: Cause) -> Trouble {
    Trouble { cause, start: op.start, end: op.end }
}

#[inline]
fn look_up(symbols: &Symbols, name: NameId, bare: &mut Vec<NameId>) -> Result<Value, Cause> {
    let Some(entry) = symbols.read(name) else { return word(name, bare) };
    match (entry.meaning, entry.worth) {
        (Meaning::Register(register), _) => Ok(Value::Register(register)),
        (Meaning::Macro(_), _) => Err(Cause::Macro(name)),
        (_, Worth::Known(value)) => Ok(Value::Number(value)),
        (_, Worth::Pending) => Err(Cause::Pending(name)),
    }
}

/// The value of a word that is no name of the user's.
#[cold]
fn word(name: NameId, bare: &mut Vec<NameId>) -> Result<Value, Cause> {
    match name.keyword() {
        Some(Keyword::Register(register)) => Ok(Value::Register(register)),
        // By itself it stands for its opcode, as in parentheses, unless a label bears its name.
        Some(Keyword::Mnemonic(mnemonic)) => match mnemonic.form().pattern.operand_counts() {
            (0, _) => {
                bare.push(name);
                Ok(Value::Number(mnemonic.form().opcode.into()))
            }
            _ => Err(Cause::Unfinished(mnemonic)),
        },
        _ => Err(Cause::Undefined(name)),
    }
}

/// Why register operands do not make an instruction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unfit {
    /// The operand of this number is no register that the instruction takes.
    Operand(usize),
    /// `MOV M,M`, whose code is that of HLT.
    MemoryToMemory,
}

/// The opcode of an instruction with these register operands.
#[inline]
pub(super) fn encode(mnemonic: Mnemonic, operands: &[Value]) -> Result<u8, Unfit> {
    use crate::isa::Pattern::*;
    let form = mnemonic.form();
    let register = |at: usize| register(operands[at]).ok_or(Unfit::Operand(at));
    let field = match form.pattern {
        None | Byte | Port | Address => 0,
        Destination | DestinationByte => (register(0)? as u8) << 3,
        Source => register(0)? as u8,
        DestinationSource => {
            let (to, from) = (register(0)?, register(1)?);
            if (to, from) == (Register::M, Register::M) {
                return Err(Unfit::MemoryToMemory);
            }
            (to as u8) << 3 | from as u8
        }
        Pair | PairWord | PairIndirect | PairStacked => pair(form.pattern, operands[0]).ok_or(Unfit::Operand(0))? << 4,
        Vector => match operands[0] {
            Value::Number(vector @ 0..=7) => (vector as u8) << 3,
            _ => return Err(Unfit::Operand(0)),
        },
    };
    Ok(form.opcode | field)
}

fn register(value: Value) -> Option<Register> {
    match value {
        Value::Register(name) => name.register(),
        Value::Number(code @ 0..=7) => Some(Register::from_code(code as u8)),
        Value::Number(_) => Option::None,
    }
}

/// The two-bit code of a pair operand; as a number, pairs are 0, 2, 4 and 6.
fn pair(pattern: crate::isa::Pattern, value: Value) -> Option<u8> {
    let pairs = pattern.pairs();
    match value {
        Value::Register(name) => name.pair().filter(|pair| pairs.contains(pair)).map(|pair| pair.code()),
        Value::Number(code @ (0 | 2 | 4 | 6)) if usize::from(code / 2) < pairs.len() => Some(code as u8 / 2),
        Value::Number(_) => Option::None,
    }
}
