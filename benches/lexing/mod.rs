//! Lexing alone, by which budgets are counted: what nothing can do without.

use std::hint::black_box;

use coldwright::syntax::{Names, lex_line};

/// Lexes the lines of a text as the assembler takes them, blanks and comments dropped; the tokens of all.
pub fn lexed(text: &str) -> usize {
    let (mut names, mut tokens, mut count, mut next) = (Names::default(), Vec::new(), 0, Some(0));
    while let Some(start) = next {
        next = lex_line(text, start, &mut names, &mut tokens);
        count += black_box(&tokens).len();
    }
    count
}
