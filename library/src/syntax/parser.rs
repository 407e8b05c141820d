//! The parser's footing: tokens under a cursor, and two ways to fail.
//!
//! A statement is parsed with [`Silent`], which carries no error detail, so that a correct line pays nothing for good
//! messages. Only a line that fails is parsed again with [`Told`], which makes the diagnostic.

use super::habit::Habit;
use super::keyword::Keyword;
use super::name::NameId;
use super::number::{ConstantError, parse_constant, unquote};
use super::program::{Program, Step};
use super::token::{Token, TokenKind};
use crate::source::{Code, Diagnostic, SourceId, Span};

/// What a line may begin with, in words.
pub(super) const STATEMENT: &str = "a label or an operation";

/// What becomes of the reason of a failure.
pub trait Detail: Default {
    /// Takes the reason; `make` is called only if it is wanted.
    fn tell(&mut self, make: impl FnOnce() -> Diagnostic);
}

/// Drops the reason unmade.
#[derive(Debug, Default)]
pub struct Silent;

impl Detail for Silent {
    fn tell(&mut self, _: impl FnOnce() -> Diagnostic) {}
}

/// Keeps the first reason.
#[derive(Debug, Default)]
pub struct Told(pub Option<Diagnostic>);

impl Detail for Told {
    fn tell(&mut self, make: impl FnOnce() -> Diagnostic) {
        self.0.get_or_insert_with(make);
    }
}

/// A line could not be parsed; the reason went to the [`Detail`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Failed;

/// The deepest nesting of parentheses and prefix operators in one expression.
#[derive(Clone, Copy, Debug)]
pub struct Deepest;

impl Deepest {
    /// The bound.
    pub const LEVELS: u32 = 200;
}

/// A cursor over the tokens of one line.
pub struct Parser<'a, D> {
    pub(super) source: SourceId,
    pub(super) text: &'a str,
    pub(super) tokens: &'a [Token],
    pub(super) at: usize,
    pub(super) program: &'a mut Program,
    pub(super) detail: D,
    depth: u32,
    /// Whether the expression is that of IF, in which signs for comparisons can mean nothing else.
    pub(super) is_condition: bool,
}

impl<'a, D: Detail> Parser<'a, D> {
    pub(super) fn new((source, text): (SourceId, &'a str), tokens: &'a [Token], program: &'a mut Program) -> Self {
        Parser { source, text, tokens, at: 0, program, detail: D::default(), depth: 0, is_condition: false }
    }

    /// The token under the cursor. It is not copied, because most callers look at its kind alone.
    pub(super) fn peek(&self) -> Option<&'a Token> {
        self.tokens.get(self.at)
    }

    /// The token under the cursor, which must be there, and steps on.
    pub(super) fn next(&mut self) -> &'a Token {
        let token = &self.tokens[self.at];
        self.at += 1;
        token
    }

    /// The name under the cursor, if a name stands there.
    pub(super) fn name_here(&self) -> Option<NameId> {
        self.peek().filter(|token| token.kind == TokenKind::Name).map(|token| token.name)
    }

    pub(super) fn keyword_here(&self) -> Option<Keyword> {
        self.name_here()?.keyword()
    }

    pub(super) fn push(&mut self, step: Step, token: &Token) {
        self.program.push_op(step, token.start, token.end);
    }

    pub(super) fn habit(&mut self, habit: Habit, token: &Token) {
        let span = self.span(token);
        self.program.push_habit(habit, span);
    }

    /// Counts a string that stands in double quotes.
    pub(super) fn note_quotes(&mut self, token: &Token) {
        if token.text(self.text).starts_with('"') {
            self.habit(Habit::DoubleQuotes, token);
        }
    }

    pub(super) fn span(&self, token: &Token) -> Span {
        Span { source: self.source, start: token.start, end: token.end }
    }

    /// The place behind the last token.
    fn line_end(&self) -> Span {
        let end = self.tokens.last().map_or(0, |token| token.end);
        Span { source: self.source, start: end, end }
    }

    pub(super) fn enter(&mut self) -> Result<(), Failed> {
        self.depth += 1;
        if self.depth <= Deepest::LEVELS {
            return Ok(());
        }
        let span = self.peek().map_or(self.line_end(), |token| self.span(token));
        self.detail.tell(|| {
            let headline = format!("an expression is nested more than {} levels deep", Deepest::LEVELS);
            Diagnostic::error(Code::NestedTooDeep, headline)
                .at(span, "the level that is one too many")
                .with_help("give a part of it a name with EQU")
        });
        Err(Failed)
    }

    pub(super) fn leave(&mut self) {
        self.depth -= 1;
    }

    pub(super) fn comma(&mut self) -> Result<(), Failed> {
        match self.peek() {
            Some(token) if token.kind == TokenKind::Comma => {
                self.next();
                Ok(())
            }
            _ => self.expected("a comma"),
        }
    }

    /// Fails at the token under the cursor.
    pub(super) fn expected<T>(&mut self, what: &str) -> Result<T, Failed> {
        let (found, end, text) = (self.peek(), self.line_end(), self.text);
        let span = found.map_or(end, |token| self.span(token));
        self.detail.tell(|| match found {
            None => Diagnostic::error(Code::UnexpectedText, format!("the line ends where {what} was expected"))
                .at(span, format!("expected {what}")),
            Some(token) => unexpected(token.kind, token.text(text), what, span),
        });
        Err(Failed)
    }

    pub(super) fn unclosed(&mut self, open: &Token) -> Result<(), Failed> {
        if self.peek().is_some_and(|token| matches!(token.kind, TokenKind::Unknown | TokenKind::OpenText)) {
            return self.expected("`)`");
        }
        let (span, end) = (self.span(open), self.peek().map_or(self.line_end(), |token| self.span(token)));
        self.detail.tell(|| {
            Diagnostic::error(Code::UnexpectedText, "a parenthesis is not closed")
                .at(end, "expected `)`")
                .and_at(span, "opened here")
        });
        Err(Failed)
    }

    /// The value of a numeric constant.
    pub(super) fn constant(&mut self, token: &Token) -> Result<u16, Failed> {
        let (text, span) = (token.text(self.text), self.span(token));
        parse_constant(text).map_err(|error| {
            self.detail.tell(|| bad_constant(text, error, span));
            Failed
        })
    }

    /// The value of a character constant: one character, or two with the first in the high byte.
    pub(super) fn character(&mut self, token: &Token) -> Result<u16, Failed> {
        let (text, span) = (token.text(self.text), self.span(token));
        let mut characters = unquote(text);
        let mut value = 0;
        for _ in 0..2 {
            let Some(character) = characters.next() else { break };
            if !character.is_ascii() {
                self.detail.tell(|| not_ascii(character, span));
                return Err(Failed);
            }
            value = value << 8 | character as u16;
        }
        if text.len() > 2 && characters.next().is_none() {
            return Ok(value);
        }
        self.detail.tell(|| {
            Diagnostic::error(Code::StringAsNumber, format!("the string {text} is not a number"))
                .at(span, "expected one or two characters here")
                .with_help("a longer string can only be an item of DB by itself")
        });
        Err(Failed)
    }
}

fn unexpected(kind: TokenKind, text: &str, what: &str, span: Span) -> Diagnostic {
    match kind {
        TokenKind::OpenText => Diagnostic::error(Code::StringOpen, "a string is not closed")
            .at(span, "the line ends before its closing quote")
            .with_help(format!("close it with `{}`; a quote inside a string is written twice", &text[..1])),
        TokenKind::Unknown
        | TokenKind::Percent
        | TokenKind::Bang
        | TokenKind::Equal
        | TokenKind::Less
        | TokenKind::Greater
        | TokenKind::Joint => {
            let headline = match text.chars().next() {
                Some(control) if control.is_control() => {
                    format!("the control character {:02X}H does not belong to the language", u32::from(control))
                }
                _ => format!("`{text}` does not belong to the language here"),
            };
            let problem = Diagnostic::error(Code::CharacterUnknown, headline).at(span, format!("expected {what}"));
            match sign_help(text) {
                Some(help) => problem.with_help(help),
                None => problem,
            }
        }
        _ => {
            let problem = Diagnostic::error(Code::UnexpectedText, format!("expected {what}, found `{text}`"))
                .at(span, format!("expected {what}"));
            match misplaced_help(kind, what) {
                Some(help) => problem.with_help(help),
                None => problem,
            }
        }
    }
}

/// What a token that belongs to the language may have been meant for.
fn misplaced_help(kind: TokenKind, what: &str) -> Option<&'static str> {
    Some(match kind {
        TokenKind::Star if what == STATEMENT => {
            "the location is set by ORG; a comment line may begin with `*`, not with `* =`"
        }
        TokenKind::Slash if what == STATEMENT => "a comment begins with a semicolon",
        TokenKind::Number if what == STATEMENT => "a name begins with a letter, `?` or `@`",
        TokenKind::Number => {
            "operands are parted by commas; a hexadecimal number ends with H and has no sign before it"
        }
        TokenKind::Colon => "a colon stands only behind a label, where the label is defined",
        _ => return None,
    })
}

fn sign_help(sign: &str) -> Option<&'static str> {
    Some(match sign {
        "\"" => "strings stand in single quotes: 'A'",
        "=" => "write `NAME EQU value`; SET names a value that changes, EQ compares two",
        "<" | ">" => "comparisons are the words LT LE GT GE EQ NE",
        "&" => "the operator is the word AND; `&` joins text inside a macro",
        "|" => "the operator is the word OR",
        "^" => "the operator is the word XOR",
        "!" => "the operator is the word NOT; each statement has a line of its own",
        "~" => "the operator is the word NOT",
        "%" => "the operator is the word MOD; `%` evaluates an argument of a macro call",
        "#" => "a number stands by itself, without a sign before it",
        "[" | "]" | "{" | "}" => "group with parentheses",
        _ => return None,
    })
}

fn bad_constant(text: &str, error: ConstantError, span: Span) -> Diagnostic {
    let (at, radix) = match error {
        ConstantError::TooLarge => {
            return Diagnostic::error(Code::ConstantBad, format!("the constant `{text}` is larger than 65535"))
                .at(span, "expected 0..=65535");
        }
        ConstantError::Digit { at, radix } => (at, radix),
    };
    let name = match radix {
        2 => "a binary",
        8 => "an octal",
        16 => "a hexadecimal",
        _ => "a decimal",
    };
    let digit: String = text[at..].chars().take(1).collect();
    let place = span.start + at as u32;
    let spot = Span { start: place, end: place + digit.len() as u32, ..span };
    let problem = Diagnostic::error(Code::ConstantBad, format!("`{digit}` is not a digit of {name} number"))
        .at(spot, format!("in the constant `{text}`"));
    if let Some(octal) = split_octal(text) {
        return problem.with_help(format!("if it is split octal, write `{octal}`; if it is hexadecimal, `0{text}H`"));
    }
    let digits = text.strip_prefix("0x").or(text.strip_prefix("0X")).unwrap_or(text);
    if !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        let zero = if digits.starts_with(|first: char| first.is_ascii_digit()) { "" } else { "0" };
        return problem.with_help(format!("if it is hexadecimal, write `{zero}{digits}H`"));
    }
    problem.with_note("the last letter gives the radix: H hexadecimal, O or Q octal, B binary, D or none decimal")
}

/// The value of a constant such as `377A` or `040100A`, bytes in octal one after the other, in octal of the language.
fn split_octal(text: &str) -> Option<String> {
    let digits = text.strip_suffix(['A', 'a'])?;
    if !matches!(digits.len(), 3 | 6) || !digits.bytes().all(|digit| matches!(digit, b'0'..=b'7')) {
        return None;
    }
    let bytes = [&digits[..digits.len() - 3], &digits[digits.len() - 3..]];
    let [high, low] = bytes.map(|byte| u16::from_str_radix(byte, 8).unwrap_or(0));
    (high <= 0o377 && low <= 0o377).then(|| format!("{:o}Q", high << 8 | low))
}

/// A character of a string that has no 7-bit code.
pub(crate) fn not_ascii(character: char, span: Span) -> Diagnostic {
    Diagnostic::error(Code::NotAscii, format!("`{character}` is not a 7-bit ASCII character"))
        .at(span, "in this string")
        .with_help("give its code as a number")
}
