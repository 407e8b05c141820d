//! IF, ELSE and ENDIF in pass one, and the lines that they leave out.

use super::state::{PassOne, Place};
use crate::source::{Code, Diagnostic};
use crate::syntax::{Directive, Keyword, Line, NameId, Token, TokenKind};

impl PassOne<'_> {
    pub(super) fn open_if(&mut self, place: Place, line: &Line) {
        let operand = self.operand(line);
        let value = self.value_now(place, operand, "IF");
        // What depends on an unknown condition is left out, so that it adds no errors of its own.
        self.frames.open(value.is_some_and(|value| value != 0), place.span(line.word));
        if let Some(value) = value.filter(|value| *value != 0 && value & 1 == 0) {
            let headline = format!("the condition comes to {value}, which not every reading of IF calls true");
            let problem = Diagnostic::warning(Code::ConditionUnclear, headline)
                .at(place.span(line.word), "taken as true, because it is not 0; bit 0 alone would make it false")
                .with_help("compare explicitly: `IF value NE 0`");
            self.diagnostics.push(problem);
        }
    }

    pub(super) fn turn_if(&mut self, place: Place, line: &Line) {
        let Err(conditional) = self.frames.turn() else { return };
        let problem = Diagnostic::error(Code::ConditionalUnbalanced, "this ELSE belongs to no IF")
            .at(place.span(line.word), "no open IF here lacks its ELSE");
        self.diagnostics.push(match conditional {
            Some(conditional) => problem.and_at(conditional.span, "this IF has its ELSE already"),
            None => problem,
        });
    }

    pub(super) fn close_if(&mut self, place: Place, line: &Line) {
        if !self.frames.close() {
            let problem = Diagnostic::error(Code::ConditionalUnbalanced, "this ENDIF belongs to no IF")
                .at(place.span(line.word), "no IF is open here");
            self.diagnostics.push(problem);
        }
    }

    /// What [`block_word`] finds with the macros that are known so far.
    pub(super) fn block_word(&self, tokens: &[Token]) -> Option<(Directive, Token)> {
        block_word(tokens, |name| self.symbols.macro_of(name).is_some())
    }

    /// A line that a conditional leaves out: only what opens, turns or closes a conditional counts.
    pub(super) fn skipped_line(&mut self, place: Place, tokens: &[Token]) {
        let Some((directive, token)) = self.block_word(tokens) else { return };
        let line = Line {
            label: None,
            operation: crate::syntax::Operation::None,
            word: (token.start, token.end),
            first: 0,
            count: 0,
        };
        match directive {
            Directive::If => self.frames.open(false, place.span(line.word)),
            Directive::Else => self.turn_if(place, &line),
            Directive::EndIf => self.close_if(place, &line),
            _ => {}
        }
    }
}

/// The directive of a line that opens or closes a block, found without parsing the line: its first word, or the one
/// behind a label or name. In the body of a macro the name may be built of several words with `&`. Words behind an
/// operation are its operands, and open nothing.
fn block_word(tokens: &[Token], is_macro: impl Fn(NameId) -> bool) -> Option<(Directive, Token)> {
    let block = |token: Option<&Token>| {
        use Directive::*;
        let token = token.filter(|token| token.kind == TokenKind::Name)?;
        match token.name.keyword()? {
            Keyword::Directive(block) | Keyword::OtherHands(block) => {
                matches!(block, If | Else | EndIf | Macro | Rept | Irp | Irpc | EndM).then_some((block, *token))
            }
            _ => None,
        }
    };
    match tokens.split_at(built_name(tokens)) {
        (name, [colon, rest @ ..]) if !name.is_empty() && colon.kind == TokenKind::Colon => block(rest.first()),
        ([first], rest) => {
            let keyword = first.name.keyword().filter(|_| first.kind == TokenKind::Name);
            let operates = keyword.is_some_and(|keyword| keyword.is_reserved() && keyword.is_operation());
            let operates = operates || first.kind == TokenKind::Name && is_macro(first.name);
            let second = block(rest.first()).filter(|&(directive, _)| directive == Directive::Macro || !operates);
            second.or_else(|| block(Some(first)))
        }
        (_, rest) => block(rest.first()),
    }
}

/// How many tokens at the front make up one name: words that `&` joins, without blanks between them.
fn built_name(tokens: &[Token]) -> usize {
    let joins = |pair: &[Token]| {
        let word = |token: Token| matches!(token.kind, TokenKind::Name | TokenKind::Number);
        let joint = |token: Token| token.kind == TokenKind::Joint;
        pair[0].end == pair[1].start && (word(pair[0]) && joint(pair[1]) || joint(pair[0]) && word(pair[1]))
    };
    tokens.len().min(1 + tokens.windows(2).take_while(|pair| joins(pair)).count())
}
