//! The words of one line, as the lexer of the assembler has them.

use std::ops::Range;

use crate::source::{Position, Span};
use crate::syntax::{Names, Token, TokenKind, lex};

/// The line of a text in which an offset lies, in bytes, without its end.
pub(super) fn line_at(text: &str, offset: usize) -> Range<usize> {
    let bytes = text.as_bytes();
    let offset = offset.min(bytes.len());
    let start = memchr::memrchr(b'\n', &bytes[..offset]).map_or(0, |at| at + 1);
    let end = memchr::memchr(b'\n', &bytes[offset..]).map_or(bytes.len(), |at| offset + at);
    start..end
}

/// A line as tokens, whose offsets count from the start of the text.
pub(super) struct Words<'a> {
    pub text: &'a str,
    pub line: Range<usize>,
    /// All tokens but blanks.
    pub tokens: Vec<Token>,
}

impl<'a> Words<'a> {
    /// The words of the line in which an offset lies.
    pub fn around(text: &'a str, offset: usize, names: &mut Names) -> Words<'a> {
        let line = line_at(text, offset);
        let base = line.start as u32;
        let tokens = lex(&text[line.clone()], names)
            .filter(|token| !matches!(token.kind, TokenKind::Blank | TokenKind::LineEnd))
            .map(|token| Token { start: token.start + base, end: token.end + base, ..token })
            .collect();
        Words { text, line, tokens }
    }

    /// The token at an offset; where two touch there, the word.
    pub fn at(&self, offset: usize) -> Option<Token> {
        let offset = offset as u32;
        let touching = self.tokens.iter().copied().filter(|token| (token.start..=token.end).contains(&offset));
        let is_word = |token: &Token| matches!(token.kind, TokenKind::Name | TokenKind::Number);
        touching.clone().find(is_word).or_else(|| touching.into_iter().find(|token| offset < token.end))
    }
}

/// A name in the text and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Around {
    /// Where.
    pub span: Span,
    /// As it is written.
    pub word: String,
}

/// The name at a place of a text, if one stands there.
pub fn word_at(text: &str, at: Position) -> Option<Around> {
    let words = Words::around(text, at.offset as usize, &mut Names::default());
    let token = words.at(at.offset as usize).filter(|token| token.kind == TokenKind::Name)?;
    let span = Span { source: at.source, start: token.start, end: token.end };
    Some(Around { span, word: token.text(text).to_owned() })
}

/// A name as the assembler compares it: in capitals, without spacers.
pub(super) fn normal(word: &str) -> String {
    word.chars().filter(|letter| *letter != '$').map(|letter| letter.to_ascii_uppercase()).collect()
}
