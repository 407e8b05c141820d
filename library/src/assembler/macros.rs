//! The body of a macro, and where its parameters stand in it.
//!
//! Source: Intel 8080/8085 Assembly Language Programming Manual, 9800301, 1977, chapter 5: `&` joins, `;;` comments stay
//! in the definition.

use std::collections::HashMap;
use std::ops::Range;
use std::sync::Arc;

use crate::source::Position;

/// A macro as its calls find it.
pub(super) struct Macro {
    pub template: Template,
    /// Where its body begins.
    pub start: Position,
    /// What the texts of its expansions are called.
    pub title: Arc<str>,
}

/// A macro body with the places of its parameters.
#[derive(Clone, Debug)]
pub(super) struct Template {
    text: Arc<String>,
    pieces: Vec<Piece>,
    locals: usize,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Piece {
    Literal(Range<usize>),
    Parameter(usize),
    Local(usize),
    /// What `NUL` looks at. It is put into parentheses, so that an argument of several words stays one operand.
    Operand(Vec<Piece>),
}

impl Template {
    /// Finds the parameters and local names in the body that is `range` of `text`. Names are compared in normal form,
    /// in which they are given. Inside a string a parameter counts only if `&` touches it.
    pub fn new(text: Arc<String>, range: Range<usize>, parameters: &[String], locals: &[String]) -> Template {
        let local = locals.iter().enumerate().map(|(at, name)| (name.as_str(), Piece::Local(at)));
        let parameter = parameters.iter().enumerate().map(|(at, name)| (name.as_str(), Piece::Parameter(at)));
        // The first of two equal names counts, and a parameter before a local name.
        let names = local.rev().chain(parameter.rev()).collect();
        let pieces = Scan::pieces(&text, range, &names);
        Template { text, pieces, locals: locals.len() }
    }

    /// How many bytes [`Template::expand`] writes at most.
    pub fn size(&self, actuals: &[String]) -> usize {
        fn of(pieces: &[Piece], actuals: &[String]) -> usize {
            let piece = |piece: &Piece| match piece {
                Piece::Literal(range) => range.len(),
                Piece::Parameter(at) => actuals.get(*at).map_or(0, String::len),
                Piece::Local(_) => "??4294967295".len(),
                Piece::Operand(pieces) => "()".len() + UNSHOWN.len().max(of(pieces, actuals)),
            };
            pieces.iter().map(piece).sum()
        }
        of(&self.pieces, actuals)
    }

    /// Writes the body with `actuals` for the parameters, missing ones being empty, and names of its own, counted by
    /// `counter`, for the local ones.
    pub fn expand(&self, actuals: &[String], counter: &mut u32, out: &mut String) {
        let first = counter.wrapping_add(1);
        *counter = counter.wrapping_add(self.locals as u32);
        self.write(&self.pieces, actuals, first, out);
    }

    fn write(&self, pieces: &[Piece], actuals: &[String], first_local: u32, out: &mut String) {
        for piece in pieces {
            match piece {
                Piece::Literal(range) => out.push_str(&self.text[range.clone()]),
                Piece::Parameter(at) => out.push_str(actuals.get(*at).map_or("", String::as_str)),
                Piece::Local(at) => out.push_str(&format!("??{:04}", first_local.wrapping_add(*at as u32))),
                Piece::Operand(pieces) => {
                    let mut operand = String::new();
                    self.write(pieces, actuals, first_local, &mut operand);
                    let operand = operand.trim();
                    let shown = if stays_one_operand(operand) { operand } else { UNSHOWN };
                    out.extend(["(", shown, ")"]);
                }
            }
        }
    }
}

/// Stands in the parentheses behind `NUL` for an argument that would not stay between them.
const UNSHOWN: &str = "...";

/// Whether a text can stand in parentheses, and be passed on as a part of a further argument, without losing its place.
fn stays_one_operand(text: &str) -> bool {
    let mut depth = 0u32;
    text.chars().all(|character| match character {
        '(' => {
            depth += 1;
            true
        }
        ')' => {
            depth = depth.wrapping_sub(1);
            depth != u32::MAX
        }
        '<' | '>' | '!' | ';' | '\'' | '"' | '&' | '%' | ',' => false,
        _ => !character.is_control(),
    }) && depth == 0
}

/// What the names of a body stand for: parameters and local names.
type Dummies<'a> = HashMap<&'a str, Piece>;

struct Scan<'a> {
    text: &'a str,
    at: usize,
    /// Where the literal text that is not yet a piece begins.
    literal: usize,
    /// Where the body begins.
    start: usize,
    pieces: Vec<Piece>,
}

impl Scan<'_> {
    fn pieces(text: &str, range: Range<usize>, dummies: &Dummies<'_>) -> Vec<Piece> {
        let (start, text) = (range.start, &text[..range.end]);
        let mut scan = Scan { text, at: start, literal: start, start, pieces: Vec::new() };
        scan.body(dummies);
        scan.pieces
    }

    fn body(&mut self, dummies: &Dummies<'_>) {
        // The quote that the string around the cursor began with.
        let mut quote = None;
        while let Some(byte) = self.byte(self.at) {
            let quoted = quote.is_some();
            match byte {
                b'\'' | b'"' if quote.is_none_or(|quote| quote == byte) => {
                    quote = quote.xor(Some(byte));
                    self.at += 1;
                }
                b'\n' => {
                    quote = None;
                    self.at += 1;
                }
                b';' if !quoted => self.comment(),
                _ if is_name_start(byte) => {
                    let end = self.word_end();
                    let word = normal(&self.text[self.at..end]);
                    let joined = (self.joins_before(), self.byte(end) == Some(b'&'));
                    match dummies.get(word.as_str()) {
                        Some(piece) if !quoted || joined.0 || joined.1 => self.replace(piece.clone(), end, joined),
                        _ => self.at = end,
                    }
                    if word == "NUL" && !quoted && self.at == end {
                        self.operand_of_nul(dummies);
                    }
                }
                // A number is one word with the letters in it, so that `0A` holds no name.
                _ if byte.is_ascii_digit() && !quoted => self.at = self.word_end(),
                _ => self.at += 1,
            }
        }
        self.flush(self.at);
    }

    /// Takes the word behind `NUL`, or what stands in parentheses there, as one piece if a parameter is in it.
    fn operand_of_nul(&mut self, dummies: &Dummies<'_>) {
        let rest = &self.text.as_bytes()[self.at..];
        let blanks = rest.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count();
        let start = self.at + blanks;
        let (range, end) = match rest.get(blanks) {
            Some(b'(') => match closing(&rest[blanks..]) {
                Some(length) => (start + 1..start + length, start + length + 1),
                None => return,
            },
            Some(_) if blanks > 0 => {
                let length = rest[blanks..].iter().take_while(|&&byte| is_name_part(byte) || byte == b'&').count();
                (start..start + length, start + length)
            }
            _ => return,
        };
        let pieces = Scan::pieces(self.text, range, dummies);
        if pieces.iter().any(|piece| matches!(piece, Piece::Parameter(_) | Piece::Operand(_))) {
            self.flush(start);
            self.pieces.push(Piece::Operand(pieces));
            (self.at, self.literal) = (end, end);
        }
    }

    /// Whether `&` stands right before the cursor, be it that the word before has taken it with it.
    fn joins_before(&self) -> bool {
        self.at > self.start && self.byte(self.at - 1) == Some(b'&')
    }

    fn byte(&self, at: usize) -> Option<u8> {
        self.text.as_bytes().get(at).copied()
    }

    fn word_end(&self) -> usize {
        let rest = &self.text.as_bytes()[self.at..];
        self.at + rest.iter().position(|&byte| !is_name_part(byte)).unwrap_or(rest.len())
    }

    /// Passes over a comment; one that starts with two semicolons is left out.
    fn comment(&mut self) {
        let rest = &self.text.as_bytes()[self.at..];
        let end = self.at + memchr::memchr(b'\n', rest).unwrap_or(rest.len());
        if rest.starts_with(b";;") {
            self.flush(self.at);
            self.literal = end;
        }
        self.at = end;
    }

    fn replace(&mut self, piece: Piece, end: usize, (before, after): (bool, bool)) {
        self.flush(self.at - usize::from(before && self.at > self.literal));
        self.pieces.push(piece);
        self.at = end + usize::from(after);
        self.literal = self.at;
    }

    fn flush(&mut self, end: usize) {
        if self.literal < end {
            self.pieces.push(Piece::Literal(self.literal..end));
        }
        self.literal = end;
    }
}

/// Where the parenthesis that opens `text` is closed on its line, unless a string makes that uncertain.
fn closing(text: &[u8]) -> Option<usize> {
    let mut depth = 0;
    for (at, byte) in text.iter().enumerate() {
        match byte {
            b'(' => depth += 1,
            b')' => depth -= 1,
            b'\n' | b'\'' | b'"' | b';' => return None,
            _ => {}
        }
        if depth == 0 {
            return Some(at);
        }
    }
    None
}

/// A name in normal form: upper case, without spacers.
pub(super) fn normal(name: &str) -> String {
    name.bytes().filter(|&byte| byte != b'$').map(|byte| byte.to_ascii_uppercase() as char).collect()
}

const fn is_name_start(byte: u8) -> bool {
    byte.is_ascii_alphabetic() || matches!(byte, b'?' | b'@' | b'_' | b'.')
}

const fn is_name_part(byte: u8) -> bool {
    is_name_start(byte) || byte.is_ascii_digit() || byte == b'$'
}

#[cfg(test)]
mod tests {
    use super::*;

    fn expand(body: &str, parameters: &[&str], actuals: &[&str]) -> String {
        let owned = |names: &[&str]| names.iter().map(|name| name.to_string()).collect::<Vec<_>>();
        let mut out = String::new();
        let template = Template::new(Arc::new(body.to_owned()), 0..body.len(), &owned(parameters), &owned(&["HERE"]));
        template.expand(&owned(actuals), &mut 0, &mut out);
        out
    }

    #[test]
    fn parameters_are_replaced_as_whole_words() {
        assert_eq!(expand("X AX XA X1 0X (X)", &["X"], &["Z"]), "Z AX XA X1 0X (Z)");
        assert_eq!(expand("RA&X\nX&Y\n5&X&H", &["X", "Y"], &["R", "S"]), "RAR\nRS\n5RH");
        assert_eq!(expand("DB '&X&Y'", &["X", "Y"], &["1", "2"]), "DB '12'");
        assert_eq!(expand("DB 'X' '&X' 'X&' ; X\nx", &["X"], &["Z"]), "DB 'X' 'Z' 'Z' ; X\nZ");
    }

    #[test]
    fn double_comments_go_and_local_names_are_counted() {
        assert_eq!(expand("HERE: NOP ;; gone\nJMP HERE ; stays", &[], &[]), "??0001: NOP \nJMP ??0001 ; stays");
    }
}
