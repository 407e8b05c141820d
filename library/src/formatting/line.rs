//! The layout of one line.

use super::same::Reader;
use crate::syntax::{Line, Operation, TokenKind};

/// The column of operations, from 0.
const OPERATION: usize = 8;
/// The column of operands.
const OPERANDS: usize = 16;
/// The column of comments behind a statement.
const COMMENT: usize = 32;

/// A line in the layout; `None` if it is better left alone.
pub(super) fn laid_out(line: &str, reader: &mut Reader) -> Option<String> {
    let comment = reader.comment(line);
    let statement = line[..comment.map_or(line.len(), |(at, _)| at)].trim_end();
    let comment = comment.map(|(at, text)| (at, text.trim_end()));
    let new = match (statement.trim_start().is_empty(), comment) {
        (true, None) => return Some(String::new()),
        (true, Some((0, text))) => text.to_owned(),
        (true, Some((at, text))) => {
            // An indented comment goes on one of the line before it, or heads what stands below.
            let column = if columns(&line[..at]) > OPERANDS { COMMENT } else { OPERATION };
            padded("", column, text)
        }
        (false, comment) => {
            let new = pieces(statement, reader)?.joined();
            match comment {
                Some((_, text)) => padded(&new, COMMENT, text),
                None => new,
            }
        }
    };
    (reader.said(line) == reader.said(&new)).then_some(new)
}

/// The column behind a text, from 0.
fn columns(text: &str) -> usize {
    text.chars().fold(0, |column, letter| if letter == '\t' { column / 8 * 8 + 8 } else { column + 1 })
}

/// A text with another behind it, in its column or behind a blank.
fn padded(text: &str, column: usize, behind: &str) -> String {
    let length = text.chars().count();
    let blanks = column.saturating_sub(length).max(usize::from(length > 0));
    format!("{text}{:blanks$}{behind}", "")
}

/// What a statement is made of.
struct Pieces<'a> {
    label: String,
    operation: &'a str,
    operands: String,
}

impl Pieces<'_> {
    fn joined(&self) -> String {
        let Pieces { label, operation, operands } = self;
        let mut out = label.clone();
        for (column, piece) in [(OPERATION, *operation), (OPERANDS, operands)] {
            if !piece.is_empty() {
                out = padded(&out, column, piece);
            }
        }
        out
    }
}

fn pieces<'a>(statement: &'a str, reader: &mut Reader) -> Option<Pieces<'a>> {
    let (tokens, parsed) = reader.parts(statement);
    let [first, others @ ..] = tokens else { return None };
    // What `&` joins must go on standing side by side.
    if tokens.iter().any(|token| token.kind == TokenKind::Joint) {
        return None;
    }
    let Line { label, operation, word, .. } = parsed?;
    let text = |start: u32, end: u32| &statement[start as usize..end as usize];
    let end = statement.len() as u32;
    match (label, operation) {
        (_, Operation::Control(_)) => None,
        (_, _) if first.kind == TokenKind::Remark => None,
        (None, Operation::None) => None,
        (Some(_), Operation::None) => {
            Some(Pieces { label: without_blanks(statement), operation: "", operands: String::new() })
        }
        // A word that may be a label before a call of a macro that is defined elsewhere: it stays in its column.
        (None, Operation::Unknown(_)) if first.start == 0 && others.first()?.kind == TokenKind::Name => {
            let call = others[0];
            Some(Pieces {
                label: first.text(statement).to_owned(),
                operation: call.text(statement),
                operands: text(call.end, end).trim().to_owned(),
            })
        }
        (label, operation) => {
            let before = if label.is_some() { without_blanks(text(0, word.0)) } else { String::new() };
            let operands = text(word.1, end).trim();
            let is_read = match operation {
                Operation::Instruction(_) => true,
                Operation::Directive(directive) => !directive.takes_text(),
                _ => false,
            };
            // The arguments of a macro are text, blanks and all.
            let operands = if is_read { tidied(operands, reader) } else { operands.to_owned() };
            Some(Pieces { label: before, operation: text(word.0, word.1), operands })
        }
    }
}

/// A label and what belongs to it.
fn without_blanks(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_whitespace()).collect()
}

/// Operands with one blank where some stood, and none beside a comma.
fn tidied(operands: &str, reader: &mut Reader) -> String {
    let mut out = String::with_capacity(operands.len());
    let mut end = 0;
    for token in reader.parts(operands).0 {
        let piece = token.text(operands);
        let is_apart = token.start > end && !out.ends_with(',') && token.kind != TokenKind::Comma;
        if is_apart {
            out.push(' ');
        }
        out += piece;
        end = token.end;
    }
    out
}
