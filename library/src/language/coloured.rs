//! What each word of a source is, for colours.

use std::collections::HashSet;

use super::view::View;
use crate::assembler::Meaning;
use crate::source::SourceId;
use crate::syntax::{Keyword, NameId, Names, TokenKind, lex};

/// What a word is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    /// An instruction.
    Instruction,
    /// A directive or a listing control.
    Directive,
    /// A register.
    Register,
    /// An operator.
    Operator,
    /// A label.
    Label,
    /// A constant.
    Constant,
    /// A value given by SET.
    Variable,
    /// A macro.
    Macro,
    /// A number.
    Number,
    /// A string.
    Text,
    /// A comment, or a line that a conditional leaves out.
    Comment,
}

impl Colour {
    /// All of them.
    pub const ALL: [Colour; 11] = {
        use Colour::*;
        [Instruction, Directive, Register, Operator, Label, Constant, Variable, Macro, Number, Text, Comment]
    };
}

/// A word with what it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Coloured {
    /// Offset of its first byte.
    pub start: u32,
    /// Offset behind its last byte.
    pub end: u32,
    /// What it is.
    pub colour: Colour,
}

/// The words of a source, in order; lines that were left out are comments.
pub fn coloured(view: &View, source: SourceId) -> Vec<Coloured> {
    let Some(program) = view.program_of(source) else { return Vec::new() };
    let text = view.sources.get(source).text();
    let lines = program.assembly.lines.iter().filter(|line| line.source == source && line.skipped);
    let skipped: HashSet<u32> = lines.map(|line| line.start).collect();
    let mut names = Names::default();
    let (mut found, mut is_out) = (Vec::new(), skipped.contains(&0));
    for token in lex(text, &mut names) {
        let colour = match token.kind {
            TokenKind::LineEnd => {
                is_out = skipped.contains(&token.end);
                continue;
            }
            TokenKind::EndOfText => break,
            TokenKind::Blank => continue,
            _ if is_out => Some(Colour::Comment),
            TokenKind::Comment | TokenKind::Remark => Some(Colour::Comment),
            TokenKind::Number => Some(Colour::Number),
            TokenKind::Text | TokenKind::OpenText => Some(Colour::Text),
            TokenKind::Name => of_symbol(program, token.text(text)).or_else(|| of_keyword(token.name)),
            _ => None,
        };
        found.extend(colour.map(|colour| Coloured { start: token.start, end: token.end, colour }));
    }
    found
}

fn of_symbol(program: &crate::project::Surveyed, word: &str) -> Option<Colour> {
    let assembly = &program.assembly;
    Some(match assembly.symbols.get(assembly.names.find(word)?)?.meaning {
        Meaning::Undefined => return None,
        Meaning::Label => Colour::Label,
        Meaning::Constant => Colour::Constant,
        Meaning::Variable => Colour::Variable,
        Meaning::Register(_) => Colour::Register,
        Meaning::Macro(_) => Colour::Macro,
    })
}

fn of_keyword(name: NameId) -> Option<Colour> {
    Some(match name.keyword()? {
        Keyword::Mnemonic(_) => Colour::Instruction,
        Keyword::Register(_) => Colour::Register,
        Keyword::Unary(_) | Keyword::Binary(_) => Colour::Operator,
        Keyword::Directive(_) | Keyword::Control(_) | Keyword::Relocation(_) | Keyword::OtherHands(_) => {
            Colour::Directive
        }
    })
}
