//! What a line says, so that two of them can be compared.

use crate::source::SourceId;
use crate::syntax::{
    Keyword, Line, NameId, Names, Operation, Program, Silent, Token, TokenKind, lex, lex_line, parse_line,
};

/// Reads lines by themselves.
#[derive(Default)]
pub(super) struct Reader {
    names: Names,
    program: Program,
    tokens: Vec<Token>,
}

/// What a line says, wherever it stands in its columns.
#[derive(Debug, PartialEq)]
pub(super) struct Said<'a> {
    tokens: Vec<(TokenKind, &'a str)>,
    /// As a statement, if none of its words is a macro, and if all are that may be.
    statements: [Option<Statement<'a>>; 2],
}

#[derive(Debug, PartialEq)]
struct Statement<'a> {
    label: Option<(&'a str, bool)>,
    operation: Operation,
    word: &'a str,
    operands: u32,
}

impl Reader {
    /// The tokens of a line, blanks and comment left out, and the statement that they are if none of its words is a macro.
    pub(super) fn parts(&mut self, line: &str) -> (&[Token], Option<Line>) {
        let parsed = self.parse(line, |_| false);
        (&self.tokens, parsed)
    }

    /// Whether a control-Z ends the text in a line, whatever follows.
    pub(super) fn ends_text(&mut self, line: &str) -> bool {
        line.contains('\x1A') && lex(line, &mut self.names).any(|token| token.kind == TokenKind::EndOfText)
    }

    /// The comment of a line.
    pub(super) fn comment<'a>(&mut self, line: &'a str) -> Option<(usize, &'a str)> {
        let comment = lex(line, &mut self.names).find(|token| token.kind == TokenKind::Comment)?;
        Some((comment.start as usize, comment.text(line)))
    }

    /// What a line says.
    pub(super) fn said<'a>(&mut self, line: &'a str) -> Said<'a> {
        let tokens = lex(line, &mut self.names).filter(|token| token.kind != TokenKind::Blank);
        let tokens = tokens.map(|token| (token.kind, token.text(line).trim_end())).collect();
        let plain = self.parse(line, |_| false).map(|parsed| Statement::of(line, &parsed));
        let called = self.parse(line, may_be_macro).map(|parsed| Statement::of(line, &parsed));
        Said { tokens, statements: [plain, called] }
    }

    fn parse(&mut self, line: &str, is_macro: impl Fn(NameId) -> bool) -> Option<Line> {
        lex_line(line, 0, &mut self.names, &mut self.tokens);
        let mut parsed = Line::starting(0);
        let mark = self.program.mark();
        let source = (SourceId::FIRST, line);
        let done = parse_line::<Silent>(source, &self.tokens, is_macro, &mut self.program, &mut parsed);
        self.program.truncate(mark);
        done.is_ok().then_some(parsed)
    }
}

fn may_be_macro(name: NameId) -> bool {
    name.keyword().is_none_or(|keyword: Keyword| !keyword.is_reserved())
}

impl<'a> Statement<'a> {
    fn of(line: &'a str, parsed: &Line) -> Statement<'a> {
        let text = |(start, end): (u32, u32)| &line[start as usize..end as usize];
        Statement {
            label: parsed.label.map(|label| (text((label.start, label.end)), label.colon)),
            operation: parsed.operation,
            word: if parsed.operation == Operation::None { "" } else { text(parsed.word) },
            operands: parsed.count,
        }
    }
}
