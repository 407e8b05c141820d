//! The statement: label, operation, operands.
//!
//! Source: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, pages 2-3 and 2-4: free format; a label
//! ends with a colon, a name with a blank. Beyond it, a label may stand without its colon where the line cannot be read
//! otherwise.

use super::habit::Habit;
use super::keyword::{Control, Directive, Keyword, Relocation};
use super::name::NameId;
use super::number::plain_constant;
use super::parser::{Detail, Failed, Parser, STATEMENT};
use super::program::{Expression, Operand, Program, Word};
use super::token::{Token, TokenKind};
use crate::isa::Mnemonic;
use crate::source::{Code, Diagnostic, SourceId, Span};

/// A statement as parsed; its operands are in the [`Program`].
#[derive(Clone, Copy, Debug)]
pub struct Line {
    /// The label, or the name that EQU, SET or MACRO defines.
    pub label: Option<Label>,
    /// What to do.
    pub operation: Operation,
    /// Offsets of the word of the operation.
    pub word: (u32, u32),
    /// The first operand in the pool.
    pub first: u32,
    /// How many operands there are.
    pub count: u32,
}

/// A name before the operation.
#[derive(Clone, Copy, Debug)]
pub struct Label {
    /// The name.
    pub name: NameId,
    /// Offset of its first byte.
    pub start: u32,
    /// Offset behind its last byte.
    pub end: u32,
    /// Whether a colon follows.
    pub colon: bool,
}

/// What a statement asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Operation {
    /// Nothing: an empty line, or a label alone.
    None,
    /// An instruction.
    Instruction(Mnemonic),
    /// A directive. The operands of MACRO, LOCAL, IRP and IRPC are text and not parsed.
    Directive(Directive),
    /// A call of a macro; its arguments are text and not parsed.
    Call(NameId),
    /// A listing control; its operands are not parsed.
    Control(Control),
    /// A relocation directive; its operands are not parsed.
    Relocation(Relocation),
    /// A word that is no operation, as far as is known here.
    Unknown(NameId),
}

impl Line {
    /// A line of which nothing is known but the offset of its first column.
    pub const fn starting(at: u32) -> Line {
        Line { label: None, operation: Operation::None, word: (at, at), first: 0, count: 0 }
    }
}

/// Parses the tokens of one line, blanks and comments left out, into `line`, which holds the offset of its first column.
/// `is_macro` tells which names are macros so far.
// Into a place of the caller's: a line that is handed on is copied, and the processor waits for what was just written.
///
/// # Errors
/// [`Failed`] if the line is none of the language; what was expected has been told to the detail.
#[inline]
pub fn parse_line<D: Detail>(
    source: (SourceId, &str),
    tokens: &[Token],
    is_macro: impl Fn(NameId) -> bool,
    program: &mut Program,
    line: &mut Line,
) -> Result<(), (Failed, D)> {
    let mark = program.mark();
    let mut parser = Parser::<D>::new(source, tokens, program);
    parser.statement(is_macro, line).map_err(|failed| {
        parser.program.truncate(mark);
        (failed, parser.detail)
    })
}

impl<D: Detail> Parser<'_, D> {
    // In line, so that the parts of the line need not be stored and copied.
    #[inline(always)]
    fn statement(&mut self, is_macro: impl Fn(NameId) -> bool, line: &mut Line) -> Result<(), Failed> {
        line.first = self.program.operand_count();
        let line_start = line.word.0;
        if self.control_line(line_start, line) {
            return Ok(());
        }
        self.label(line_start, &is_macro, line)?;
        let Some(token) = self.peek() else { return Ok(()) };
        line.word = (token.start, token.end);
        line.operation = match self.name_here() {
            Some(name) => {
                let word = operation(name, is_macro(name));
                if matches!(name.keyword(), Some(Keyword::OtherHands(_))) && matches!(word, Operation::Directive(_)) {
                    self.habit(Habit::OtherWord, token);
                }
                word
            }
            None if line.label.is_some() && self.equates() => Operation::Directive(Directive::Equ),
            None => return self.expected(STATEMENT),
        };
        if let Operation::Instruction(_) | Operation::Directive(_) = line.operation {
            self.next();
            self.operands(&line.operation)?;
            line.count = self.program.operand_count() - line.first;
            self.check_count(line)?;
        }
        Ok(())
    }

    /// Control lines of printed sources: `$` in the first column and a word.
    fn control_line(&mut self, line_start: u32, line: &mut Line) -> bool {
        let [first, second, ..] = self.tokens else { return false };
        let control = first.start == line_start && first.kind == TokenKind::Dollar && second.kind == TokenKind::Name;
        if control {
            line.operation = Operation::Control(Control::Listing);
            line.word = (first.start, second.end);
        }
        control
    }

    /// Takes a name off the front of the line if it is a label, or the name that the next word defines.
    fn label(&mut self, line_start: u32, is_macro: &impl Fn(NameId) -> bool, line: &mut Line) -> Result<(), Failed> {
        let Some(name) = self.name_here() else { return Ok(()) };
        let token = self.next();
        let label = Label { name, start: token.start, end: token.end, colon: false };
        match self.peek() {
            Some(next) if next.kind == TokenKind::Colon => {
                self.next();
                line.label = Some(Label { colon: true, ..label });
                if let Some(second) = self.peek().filter(|second| second.kind == TokenKind::Colon) {
                    self.habit(Habit::TwoColons, second);
                    self.next();
                }
            }
            None if token.start == line_start && name.keyword().is_none() && !is_macro(name) => {
                line.label = Some(label);
            }
            Some(_) if self.equates() || self.names_what_follows(name, is_macro) => line.label = Some(label),
            _ => self.at -= 1,
        }
        Ok(())
    }

    /// Whether a single `=` stands under the cursor.
    fn equates(&self) -> bool {
        let is_equal = |at: usize| self.tokens.get(at).is_some_and(|token| token.kind == TokenKind::Equal);
        is_equal(self.at) && !is_equal(self.at + 1)
    }

    /// Whether a name without a colon is a label because of the word behind it, which is under the cursor.
    fn names_what_follows(&self, name: NameId, is_macro: &impl Fn(NameId) -> bool) -> bool {
        let Some(follower) = self.name_here() else { return false };
        use Directive::{Equ, Macro, Set};
        match (name.keyword(), follower.keyword()) {
            // `JZ SET$`: an instruction with a misnamed operand; SET and EQU define nothing without a value.
            (Some(Keyword::Mnemonic(_)), Some(Keyword::Directive(Equ | Set))) if self.at + 1 == self.tokens.len() => {
                false
            }
            (_, Some(Keyword::Directive(Equ | Set | Macro) | Keyword::OtherHands(Equ | Set | Macro))) => true,
            (Some(keyword), _) if keyword.is_reserved() => false,
            _ if is_macro(name) => false,
            (None, Some(keyword)) => keyword.is_operation(),
            (Some(_), Some(keyword)) => keyword.is_reserved() && keyword.is_operation(),
            (_, None) => is_macro(follower),
        }
    }

    fn operands(&mut self, operation: &Operation) -> Result<(), Failed> {
        if self.peek().is_none() {
            return Ok(());
        }
        let strings = match *operation {
            Operation::Directive(directive) if directive.takes_text() => return Ok(()),
            Operation::Directive(Directive::Include) if self.bare_name() => return Ok(()),
            Operation::Directive(directive) => {
                self.is_condition = directive == Directive::If;
                directive.takes_strings()
            }
            _ => false,
        };
        loop {
            self.operand(strings)?;
            if self.peek().is_none() {
                return Ok(());
            }
            if self.peek().is_some_and(|token| token.kind != TokenKind::Comma) {
                return self.expected("a comma, an operator or the end of the line");
            }
            self.next();
        }
    }

    /// Takes the rest of the line as the name of a file, if it is one word without quotes.
    fn bare_name(&mut self) -> bool {
        let tokens = self.tokens;
        let rest = &tokens[self.at..];
        let (Some(first), Some(last)) = (rest.first(), rest.last()) else { return false };
        let one_word = rest.windows(2).all(|pair| pair[0].end == pair[1].start);
        let quoted = rest.iter().any(|token| {
            let text = token.text(self.text);
            matches!(token.kind, TokenKind::Text | TokenKind::OpenText | TokenKind::Comma) || text == "\""
        });
        if one_word && !quoted {
            self.habit(Habit::BareName, &Token { end: last.end, ..*first });
            self.program.push_operand(Operand::Bare(first.start, last.end));
            self.at = self.tokens.len();
        }
        one_word && !quoted
    }

    fn operand(&mut self, strings: bool) -> Result<(), Failed> {
        let alone = self.tokens.get(self.at + 1).is_none_or(|next| next.kind == TokenKind::Comma);
        if let Some(token) = self.peek().filter(|_| alone)
            && let Some(operand) = simple_operand(self.text, token, strings)
        {
            if token.kind == TokenKind::Text {
                self.note_quotes(token);
            }
            self.next();
            self.program.push_operand(operand);
            return Ok(());
        }
        let first = self.program.op_count();
        self.expression(0)?;
        let count = self.program.op_count() - first;
        self.program.push_operand(Operand::Expression(Expression { first, count }));
        Ok(())
    }

    #[inline]
    fn check_count(&mut self, line: &Line) -> Result<(), Failed> {
        let (least, most) = operand_range(&line.operation);
        if (least..=most).contains(&line.count) { Ok(()) } else { self.miscounted(line, least, most) }
    }

    #[cold]
    fn miscounted(&mut self, line: &Line, least: u32, most: u32) -> Result<(), Failed> {
        let span = Span { source: self.source, start: line.word.0, end: line.word.1 };
        let text = &self.text[line.word.0 as usize..line.word.1 as usize];
        self.detail.tell(|| {
            let wanted = match (least, most) {
                (0, 0) => "no operand".into(),
                (1, 1) => "one operand".into(),
                (2, 2) => "two operands".into(),
                (least, u32::MAX) => format!("{least} or more operands"),
                (least, most) => format!("{least} to {most} operands"),
            };
            let problem =
                Diagnostic::error(Code::OperandCount, format!("`{text}` takes {wanted}, found {}", line.count))
                    .at(span, format!("takes {wanted}"));
            match line.operation {
                Operation::Directive(Directive::Ds) if line.count == 2 => {
                    problem.with_help("`STUFF count,value` puts so many bytes of the value")
                }
                _ => problem,
            }
        });
        Err(Failed)
    }
}

/// The operand that a token is by itself, unless it takes steps to work out.
fn simple_operand(text: &str, token: &Token, strings: bool) -> Option<Operand> {
    let word = Word::of(token)?;
    match token.kind {
        TokenKind::Text if strings => Some(Operand::Text(token.start, token.end)),
        TokenKind::Name => match token.name.keyword() {
            None => Some(Operand::Name(token.name, word)),
            Some(Keyword::Register(register)) => Some(Operand::Register(register, word)),
            Some(_) => None,
        },
        // A wrong constant is left to the full parser, which says what is wrong with it; so is what other hands write.
        TokenKind::Number => plain_constant(token.text(text)).ok().map(|value| Operand::Number(value, word)),
        _ => None,
    }
}

fn operation(name: NameId, is_macro: bool) -> Operation {
    match name.keyword() {
        Some(keyword) if is_macro && !keyword.is_reserved() => Operation::Call(name),
        Some(Keyword::Mnemonic(mnemonic)) => Operation::Instruction(mnemonic),
        Some(Keyword::Directive(directive)) => Operation::Directive(directive),
        Some(Keyword::Control(control)) => Operation::Control(control),
        Some(Keyword::Relocation(relocation)) => Operation::Relocation(relocation),
        Some(Keyword::OtherHands(directive)) if !is_macro => Operation::Directive(directive),
        None if is_macro => Operation::Call(name),
        _ => Operation::Unknown(name),
    }
}

/// The least and the most operands that an operation takes.
#[inline]
fn operand_range(operation: &Operation) -> (u32, u32) {
    match *operation {
        Operation::Instruction(mnemonic) => {
            let (registers, others) = mnemonic.form().pattern.operand_counts();
            let count = u32::from(registers + others);
            (count, count)
        }
        Operation::Directive(directive) => directive.operand_range(),
        _ => (0, u32::MAX),
    }
}
