//! Bytes of a statement: operands evaluated and checked against what the field can hold.

use std::collections::HashMap;

use super::evaluate::{Cause, Evaluator, Trouble, Unfit, Value, encode, offsets};
use super::statement::{Statement, Task};
use super::symbols::Symbols;
use super::trouble;
use crate::isa::{Mnemonic, Pattern};
use crate::source::{Code, Diagnostic, SourceMap, Span};
use crate::syntax::{NameId, Names, Op, Operand, Program, Step, Unary, not_ascii, unquote};

/// What evaluation in pass two reads.
pub(super) struct Known<'a> {
    pub sources: &'a SourceMap,
    pub names: Names,
    pub program: Program,
    pub symbols: Symbols,
    pub statements: Vec<Statement>,
}

/// Makes the bytes of statements, keeping its stack and what went wrong.
#[derive(Default)]
pub(super) struct Emitter {
    evaluator: Evaluator,
    pub bytes: Vec<u8>,
    /// Problems of the statement just done; undefined names apart.
    pub problems: Vec<Diagnostic>,
    /// Names that nothing defines, in the statement just done.
    pub undefined: Vec<(NameId, Span)>,
    /// Uses of constants without a value, in all statements so far.
    pub pending: Vec<(NameId, Span)>,
    /// Register pairs loaded with two characters, in all statements so far.
    pub characters: Vec<Span>,
    /// What constants are made of; looked for when it is first asked.
    constants: Option<HashMap<NameId, Operand>>,
}

impl Emitter {
    /// The bytes of an instruction. Where an operand is wrong, zero stands in for it, so that sizes stay.
    pub fn instruction(&mut self, known: &Known<'_>, statement: &Statement, mnemonic: Mnemonic) {
        let pattern = mnemonic.form().pattern;
        let operands = known.program.operands(statement.first, statement.count);
        let (registers, _) = pattern.operand_counts();
        let (registers, others) = operands.split_at(usize::from(registers).min(operands.len()));
        let opcode = self.opcode(known, statement, mnemonic, registers);
        self.bytes.push(opcode);
        for operand in others {
            match pattern {
                Pattern::PairWord => {
                    self.characters.extend(two_characters(known, statement, *operand));
                    self.word(known, statement, *operand);
                }
                Pattern::Address => self.word(known, statement, *operand),
                _ => self.byte(known, statement, *operand),
            }
        }
    }

    fn opcode(&mut self, known: &Known<'_>, statement: &Statement, mnemonic: Mnemonic, operands: &[Operand]) -> u8 {
        if operands.is_empty() {
            return mnemonic.form().opcode;
        }
        let mut values = [Value::Number(0); 2];
        for (value, operand) in values.iter_mut().zip(operands) {
            match self.value(known, statement, *operand) {
                Some(found) => *value = found,
                None => return mnemonic.form().opcode,
            }
        }
        encode(mnemonic, &values[..operands.len()]).unwrap_or_else(|unfit| {
            let problem = unfit_operand(known, statement, mnemonic, operands, unfit);
            self.problems.push(problem);
            mnemonic.form().opcode
        })
    }

    /// One byte of an operand that is not a string.
    ///
    /// Source for the range: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, chapter 2: the high
    /// byte must be 00H or 0FFH.
    pub fn byte(&mut self, known: &Known<'_>, statement: &Statement, operand: Operand) {
        let value = self.number(known, statement, operand);
        let span = || operand_span(&known.program, statement, operand);
        let byte = match value {
            Some(value @ (0..=0xFF | 0xFF80..)) => value as u8,
            Some(value @ 0xFF00..) => {
                let constants = self.constants.get_or_insert_with(|| constants(known));
                if !is_mask(&known.program, constants, operand, 0) {
                    self.problems.push(cut(value, span()));
                }
                value as u8
            }
            Some(value) => {
                self.problems.push(too_wide(value, span()));
                0
            }
            None => 0,
        };
        self.bytes.push(byte);
    }

    /// A word, low byte first.
    pub fn word(&mut self, known: &Known<'_>, statement: &Statement, operand: Operand) {
        let read = self.evaluator.bare.len();
        let value = self.number(known, statement, operand).unwrap_or(0);
        // An opcode is a byte: where an address is wanted, a label is meant that nothing defines.
        if let Some(name) = self.evaluator.bare.get(read) {
            let span = operand_span(&known.program, statement, operand);
            self.problems.push(trouble::opcode_as_word(known.names.text(*name), span));
        }
        self.bytes.extend(value.to_le_bytes());
    }

    /// The characters of a string.
    pub fn text(&mut self, known: &Known<'_>, statement: &Statement, (start, end): (u32, u32)) {
        let span = Span { source: statement.source, start, end };
        for character in unquote(known.sources.text(span)) {
            if !character.is_ascii() {
                self.problems.push(not_ascii(character, span));
            }
            self.bytes.push(character as u8);
        }
    }

    /// The number that an operand comes to, or `None` after noting what is wrong.
    #[inline]
    pub fn number(&mut self, known: &Known<'_>, statement: &Statement, operand: Operand) -> Option<u16> {
        match self.value(known, statement, operand)? {
            Value::Number(number) => Some(number),
            Value::Register(register) => {
                let span = operand_span(&known.program, statement, operand);
                let trouble = Trouble { cause: Cause::Register(register), start: span.start, end: span.end };
                self.note(known, statement, trouble);
                None
            }
        }
    }

    /// The value of an operand, or `None` after noting what is wrong.
    #[inline]
    pub fn value(&mut self, known: &Known<'_>, statement: &Statement, operand: Operand) -> Option<Value> {
        let value = self.evaluator.operand(&known.program, &known.symbols, operand, statement.location);
        value.map_err(|trouble| self.note(known, statement, trouble)).ok()
    }

    #[cold]
    fn note(&mut self, known: &Known<'_>, statement: &Statement, trouble: Trouble) {
        let span = Span { source: statement.source, start: trouble.start, end: trouble.end };
        match trouble.cause {
            Cause::Undefined(name) => self.undefined.push((name, span)),
            Cause::Pending(name) => self.pending.push((name, span)),
            _ => self.problems.push(trouble::diagnose(trouble, statement.source, &known.names, &known.symbols)),
        }
    }
}

/// The text of an operand, from its first to its last step.
pub(super) fn operand_span(program: &Program, statement: &Statement, operand: Operand) -> Span {
    let (start, end) = offsets(program, operand).unwrap_or(statement.word);
    Span { source: statement.source, start, end }
}

/// How many EQU lines may stand between a mask and its use.
const MASK_STEPS: usize = 4;

/// Whether an operand is a pattern of bits and no number with a sign: `NOT` makes the high byte of a mask all ones. It may
/// stand in the EQU line of a name.
fn is_mask(program: &Program, constants: &HashMap<NameId, Operand>, operand: Operand, steps: usize) -> bool {
    let defined_as = |name| constants.get(&name).filter(|_| steps < MASK_STEPS);
    let by_name = |name| defined_as(name).is_some_and(|&operand| is_mask(program, constants, operand, steps + 1));
    let in_step = |op: &Op| match op.step {
        Step::Unary(Unary::Not) => true,
        Step::Name(name) => by_name(name),
        _ => false,
    };
    match operand {
        Operand::Expression(expression) => program.ops(expression).iter().any(in_step),
        Operand::Name(name, _) => by_name(name),
        _ => false,
    }
}

/// What each EQU line makes its name of.
fn constants(known: &Known<'_>) -> HashMap<NameId, Operand> {
    let named = |line: &Statement| match line.task {
        Task::Equ(name) => Some((name, *known.program.operands(line.first, line.count).first()?)),
        _ => None,
    };
    known.statements.iter().filter_map(named).collect()
}

/// The place of an operand that is a constant of two characters and nothing else.
fn two_characters(known: &Known<'_>, statement: &Statement, operand: Operand) -> Option<Span> {
    let Operand::Expression(expression) = operand else { return None };
    let [Op { step: Step::Number(value), .. }] = known.program.ops(expression) else { return None };
    let span = operand_span(&known.program, statement, operand);
    (known.sources.text(span).starts_with(['\'', '"']) && *value > 0xFF).then_some(span)
}

fn too_wide(value: u16, span: Span) -> Diagnostic {
    let problem = Diagnostic::error(Code::ValueRange, format!("the value {} does not fit into a byte", signed(value)))
        .at(span, "expected -256..=255");
    problem.with_help("take one half of it with LOW or HIGH")
}

fn cut(value: u16, span: Span) -> Diagnostic {
    let kept = value as u8;
    Diagnostic::warning(Code::ValueCut, format!("the value {} is cut to 8 bits: {kept}", signed(value)))
        .at(span, "the published range allows it, but the sign is lost")
        .with_help("write LOW (...) if that is meant")
}

/// A value with the negative reading of large ones beside it.
fn signed(value: u16) -> String {
    match value {
        0..=0x7FFF => value.to_string(),
        _ => format!("{} ({value})", value as i16),
    }
}

fn unfit_operand(
    known: &Known<'_>,
    statement: &Statement,
    mnemonic: Mnemonic,
    operands: &[Operand],
    unfit: Unfit,
) -> Diagnostic {
    let name = mnemonic.name();
    let Unfit::Operand(at) = unfit else {
        return Diagnostic::error(Code::RegisterWrong, format!("there is no `{name} M,M`"))
            .at(statement.span(), "one of the two must be a register")
            .with_note("its code is that of HLT");
    };
    let span = operand_span(&known.program, statement, operands[at]);
    let pattern = mnemonic.form().pattern;
    let wanted = match pattern {
        Pattern::Vector => "a number 0..=7".into(),
        _ if pattern.pairs().is_empty() => "a register: A, B, C, D, E, H, L or M".into(),
        _ => format!("one of {}", pattern.pairs().iter().map(|pair| pair.name()).collect::<Vec<_>>().join(", ")),
    };
    let found = known.sources.text(span);
    let problem = Diagnostic::error(Code::RegisterWrong, format!("`{name}` does not take `{found}` here"))
        .at(span, format!("expected {wanted}"));
    match (pattern.pairs().is_empty(), found.to_ascii_uppercase().as_str()) {
        (false, "BC" | "DE" | "HL") => problem.with_help("a pair goes by the name of its first register"),
        (false, "A") if pattern == Pattern::PairStacked => problem.with_help("A and the flags together are PSW"),
        _ => problem,
    }
}
