//! Where a statement begins and ends in its text: a line of it, or in other hands the part of one that `!` ends, behind
//! a number.

use super::state::PassOne;
use crate::source::{SourceId, Span};
use crate::syntax::{Directive, Habit, Keyword, Token, TokenKind, lex_line};

/// How far a statement goes in its text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Extent {
    /// Where the next one begins, or `None` if the text ends with this one.
    pub next: Option<u32>,
    /// Its first column.
    pub column: u32,
}

impl PassOne<'_> {
    /// Lexes the statement that begins at `start` of a text that is assembled, or not. `parted` says that a `!` stands
    /// somewhere in the text.
    // In line, because nearly every statement is a line and nothing else.
    #[inline(always)]
    pub(super) fn statement_line(
        &mut self,
        (source, text): (SourceId, &str),
        start: u32,
        parted: bool,
        tokens: &mut Vec<Token>,
    ) -> Extent {
        let mut extent = Extent { next: lex_line(text, start, &mut self.names, tokens), column: start };
        let numbered = tokens.first().is_some_and(|first| first.kind == TokenKind::Number && first.start == start);
        if parted || numbered {
            self.part_of_line((source, text), &mut extent, tokens);
        }
        extent
    }

    /// Takes the number off the front of a line, and what stands behind a `!` off its end.
    #[cold]
    fn part_of_line(&mut self, (source, text): (SourceId, &str), extent: &mut Extent, tokens: &mut Vec<Token>) {
        let line = extent.column;
        let span = |start, end| Span { source, start, end };
        if tokens.first().is_some_and(|first| first.kind == TokenKind::Number && first.start == line) {
            extent.column = without_number(text, line, tokens);
        }
        if extent.column != line && self.frames.active() {
            self.habit(Habit::LineNumber, span(line, extent.column));
        }
        if let Some(at) = self.parted_at(text, tokens) {
            let bang = tokens[at];
            tokens.truncate(at);
            extent.next = behind(text, bang.end);
            if self.frames.active() {
                self.habit(Habit::Parted, span(bang.start, bang.end));
            }
        }
    }

    /// Which token is the `!` that ends the first statement of a line. In the arguments of a macro, and before a sign, it
    /// passes the next character literally; before an operand it is a mistake for NOT.
    fn parted_at(&self, text: &str, tokens: &[Token]) -> Option<usize> {
        let at = (0..tokens.len()).find(|&at| {
            let escapes = text[tokens[at].end as usize..].starts_with(['<', '>', '!', ',', ';', '%', '&', '\'', '"']);
            tokens[at].kind == TokenKind::Bang && !escapes && !belongs_to(&tokens[..at], tokens.get(at + 1))
        })?;
        let is_call = |token: &Token| token.kind == TokenKind::Name && self.symbols.macro_of(token.name).is_some();
        let takes_text = |(directive, _)| matches!(directive, Directive::Irp | Directive::Irpc);
        let line = &tokens[..at];
        let raw = line.iter().take(3).any(is_call) || self.block_word(line).is_some_and(takes_text);
        (!raw).then_some(at)
    }
}

/// Whether a `!` behind these tokens ends no statement: it touches an operand that they wait for, as NOT would in another
/// language, or is one of several.
fn belongs_to(before: &[Token], behind: Option<&Token>) -> bool {
    let Some(last) = before.last() else { return false };
    if last.kind == TokenKind::Bang {
        return true;
    }
    let touches = behind.is_some_and(|next| matches!(next.kind, TokenKind::Name | TokenKind::Open | TokenKind::Number));
    let word = last.name.keyword().filter(|_| last.kind == TokenKind::Name);
    let waits = match last.kind {
        TokenKind::Comma | TokenKind::Plus | TokenKind::Minus | TokenKind::Open => true,
        _ => word.is_some_and(|word| matches!(word, Keyword::Directive(Directive::If) | Keyword::Binary(_))),
    };
    touches && waits
}

/// Takes the number off the front of a line; returns where its first column is then, behind one blank.
fn without_number(text: &str, start: u32, tokens: &mut Vec<Token>) -> u32 {
    let number = tokens[0];
    let behind = text[number.end as usize..].bytes().next();
    let is_number = number.text(text).bytes().all(|byte| byte.is_ascii_digit());
    if !is_number || !behind.is_none_or(|byte| byte.is_ascii_whitespace()) {
        return start;
    }
    tokens.remove(0);
    // A comment line that begins with an asterisk is one behind a number too.
    if tokens.first().is_some_and(|first| first.kind == TokenKind::Star) {
        tokens.clear();
    }
    number.end + u32::from(matches!(behind, Some(b' ' | b'\t')))
}

/// Where the next statement begins behind a `!`: on the next line, if nothing follows on this one.
fn behind(text: &str, at: u32) -> Option<u32> {
    let rest = &text.as_bytes()[at as usize..];
    let blanks = rest.iter().take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r')).count();
    match rest.get(blanks) {
        None => None,
        Some(b'\n') => Some(at + blanks as u32 + 1),
        Some(_) => Some(at),
    }
}
