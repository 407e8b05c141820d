//! The grammar of expressions, as precedence climbing.

use super::habit::Habit;
use super::keyword::Keyword;
use super::name::Names;
use super::number::after_prefix;
use super::operator::{Binary, Unary};
use super::parser::{Detail, Failed, Parser};
use super::program::{Expression, Program, Step};
use super::token::{Token, TokenKind, lex_line};
use crate::isa::Mnemonic;
use crate::source::SourceId;

/// Parses an expression that fills a range of a text, such as the argument of a macro call.
///
/// # Errors
/// [`Failed`] if the range holds anything but one expression.
pub fn parse_expression<D: Detail>(
    (source, text): (SourceId, &str),
    range: std::ops::Range<usize>,
    names: &mut Names,
    program: &mut Program,
) -> Result<Expression, (Failed, D)> {
    let mut tokens = Vec::new();
    lex_line(&text[..range.end], range.start as u32, names, &mut tokens);
    let first = program.op_count();
    let mut parser = Parser::<D>::new((source, text), &tokens, program);
    let parsed = parser.expression(0).and_then(|()| match parser.peek() {
        None => Ok(()),
        Some(_) => parser.expected("an operator or the end of the argument"),
    });
    parsed.map_err(|failed| (failed, parser.detail))?;
    Ok(Expression { first, count: program.op_count() - first })
}

impl<D: Detail> Parser<'_, D> {
    /// Parses an expression of operators that bind at least as tightly as `least`.
    pub(super) fn expression(&mut self, least: u8) -> Result<(), Failed> {
        self.enter()?;
        self.prefix()?;
        while let Some(operator) = self.binary().filter(|operator| operator.precedence() >= least) {
            let token = self.operator();
            self.expression(operator.precedence() + 1)?;
            self.push(Step::Binary(operator), &token);
        }
        self.leave();
        Ok(())
    }

    fn binary(&self) -> Option<Binary> {
        let token = self.peek()?;
        match token.kind {
            TokenKind::Name => match self.keyword_here() {
                Some(Keyword::Binary(operator)) => Some(operator),
                _ => None,
            },
            TokenKind::Equal | TokenKind::Less | TokenKind::Greater if self.is_condition => {
                Some(match (token.kind, self.second_sign().map(|second| second.kind)) {
                    (TokenKind::Less, Some(TokenKind::Equal)) => Binary::Le,
                    (TokenKind::Less, Some(_)) => Binary::Ne,
                    (TokenKind::Less, None) => Binary::Lt,
                    (TokenKind::Greater, Some(_)) => Binary::Ge,
                    (TokenKind::Greater, None) => Binary::Gt,
                    _ => Binary::Eq,
                })
            }
            kind => arithmetic(kind),
        }
    }

    /// The second sign of `<=`, `>=` or `<>` under the cursor.
    fn second_sign(&self) -> Option<Token> {
        let (first, second) = (self.peek()?, *self.tokens.get(self.at + 1)?);
        let pair = matches!(
            (first.kind, second.kind),
            (TokenKind::Less | TokenKind::Greater, TokenKind::Equal) | (TokenKind::Less, TokenKind::Greater)
        );
        (pair && first.end == second.start).then_some(second)
    }

    /// Takes the operator under the cursor.
    fn operator(&mut self) -> Token {
        let second = self.second_sign();
        let first = self.next();
        if !matches!(first.kind, TokenKind::Equal | TokenKind::Less | TokenKind::Greater) {
            return *first;
        }
        let token = Token { end: second.map_or(first.end, |second| second.end), ..*first };
        self.at += usize::from(second.is_some());
        self.habit(Habit::Comparison, &token);
        token
    }

    fn prefix(&mut self) -> Result<(), Failed> {
        let Some(token) = self.peek() else { return self.expected("an operand") };
        match token.kind {
            TokenKind::Number => {
                let value = self.constant(token)?;
                if after_prefix(token.text(self.text)).is_some() {
                    self.habit(Habit::HexPrefix, token);
                }
                self.next();
                self.push(Step::Number(value), token);
            }
            TokenKind::Name => return self.word(),
            TokenKind::Dollar => {
                self.next();
                self.push(Step::Here, token);
            }
            TokenKind::Star => {
                self.habit(Habit::StarLocation, token);
                self.next();
                self.push(Step::Here, token);
            }
            TokenKind::Text => {
                self.note_quotes(token);
                let value = self.character(token)?;
                self.next();
                self.push(Step::Number(value), token);
            }
            TokenKind::Plus => return self.unary(Unary::Plus),
            TokenKind::Minus => return self.unary(Unary::Minus),
            TokenKind::Open => return self.parenthesis(),
            _ => return self.expected("an operand"),
        }
        Ok(())
    }

    fn word(&mut self) -> Result<(), Failed> {
        match self.keyword_here() {
            Some(Keyword::Unary(Unary::Nul)) => self.nul(),
            Some(Keyword::Unary(operator)) if !self.stands_alone() => self.unary(operator),
            Some(Keyword::Binary(_)) if !self.stands_alone() => self.expected("an operand before the operator"),
            keyword => {
                let token = self.next();
                if let Some(Keyword::Mnemonic(_)) = keyword {
                    self.habit(Habit::BareInstruction, token);
                }
                self.push(Step::Name(token.name), token);
                Ok(())
            }
        }
    }

    /// Whether the word under the cursor has nothing to work on behind it, so that it can only be a name.
    fn stands_alone(&self) -> bool {
        self.tokens.get(self.at + 1).is_none_or(|next| matches!(next.kind, TokenKind::Comma | TokenKind::Close))
    }

    fn unary(&mut self, operator: Unary) -> Result<(), Failed> {
        let token = self.next();
        self.expression(operator.precedence() + u8::from(matches!(operator, Unary::Plus | Unary::Minus)))?;
        self.push(Step::Unary(operator), token);
        Ok(())
    }

    /// `NUL` looks at what a macro parameter left behind and never at its value. An expansion puts that into parentheses;
    /// without them it is one operand, or nothing.
    fn nul(&mut self) -> Result<(), Failed> {
        let token = self.next();
        let missing = match self.peek().map(|token| token.kind) {
            None | Some(TokenKind::Comma | TokenKind::Close) => true,
            Some(TokenKind::Open) => self.nothing_in_parentheses()?,
            Some(TokenKind::Number | TokenKind::Text | TokenKind::Dollar) => {
                self.next();
                false
            }
            Some(TokenKind::Name) if !matches!(self.keyword_here(), Some(Keyword::Unary(_))) => {
                let missing = matches!(self.keyword_here(), Some(Keyword::Binary(_)));
                self.at += usize::from(!missing);
                missing
            }
            _ => return self.expected("one operand behind NUL, or several in parentheses"),
        };
        self.push(Step::Number(if missing { 0xFFFF } else { 0 }), token);
        Ok(())
    }

    /// Passes over parentheses, whatever is in them; whether that is nothing, parentheses aside.
    fn nothing_in_parentheses(&mut self) -> Result<bool, Failed> {
        let open = self.next();
        let (mut depth, mut nothing) = (1, true);
        while let Some(token) = self.peek() {
            match token.kind {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth -= 1,
                _ => nothing = false,
            }
            if depth == 0 {
                break;
            }
            self.next();
        }
        self.close(open)?;
        Ok(nothing)
    }

    fn parenthesis(&mut self) -> Result<(), Failed> {
        let open = self.next();
        if let Some(Keyword::Mnemonic(mnemonic)) = self.keyword_here() {
            self.instruction_operand(mnemonic)?;
        } else {
            self.expression(0)?;
        }
        self.close(open)
    }

    fn close(&mut self, open: &Token) -> Result<(), Failed> {
        match self.peek() {
            Some(token) if token.kind == TokenKind::Close => {
                self.next();
                Ok(())
            }
            _ => self.unclosed(open),
        }
    }

    /// An instruction in parentheses: its first byte is the value. Only register operands reach that byte; a byte or
    /// word behind it is read and dropped.
    fn instruction_operand(&mut self, mnemonic: Mnemonic) -> Result<(), Failed> {
        let token = self.next();
        let (registers, others) = mnemonic.form().pattern.operand_counts();
        // Without the byte or word behind it the first byte is the same.
        let bare = registers == 0 && self.peek().is_some_and(|next| next.kind == TokenKind::Close);
        let others = if bare { 0 } else { others };
        for at in 0..registers + others {
            if at > 0 {
                self.comma()?;
            }
            let mark = self.program.mark();
            self.expression(0)?;
            if at >= registers {
                self.program.truncate(mark);
            }
        }
        self.push(Step::Encode(mnemonic, registers), token);
        Ok(())
    }
}

/// The operator of a sign.
const fn arithmetic(sign: TokenKind) -> Option<Binary> {
    Some(match sign {
        TokenKind::Plus => Binary::Add,
        TokenKind::Minus => Binary::Subtract,
        TokenKind::Star => Binary::Multiply,
        TokenKind::Slash => Binary::Divide,
        _ => return None,
    })
}
