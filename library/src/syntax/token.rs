//! The lexer. Tokens are kind and place; the text stays in the source. Every byte of a source belongs to exactly one
//! token, so that nothing is skipped unseen.

use logos::Logos;

use super::name::{NameId, Names};

/// The kinds of token.
#[derive(Logos, Clone, Copy, Debug, PartialEq, Eq)]
pub enum TokenKind {
    /// Spaces, tabs, form feeds, and what old files and punched tapes carry: carriage returns, NUL and rubout.
    #[regex(r"[ \t\r\f\x0B\x00\x7F]+")]
    Blank,
    /// The end of a line.
    #[token("\n")]
    LineEnd,
    /// From a semicolon to the end of the line; it may hold any character, control-Z too.
    #[regex(r";[^\n]*", allow_greedy = true)]
    Comment,
    /// A name, a reserved word or a register. Dots are a habit of other hands.
    #[regex(r"[A-Za-z?@_.][A-Za-z0-9?@_$.]*")]
    Name,
    /// A digit and what follows it; whether it is a valid constant is seen later.
    #[regex(r"[0-9][A-Za-z0-9_$]*")]
    Number,
    /// A string in single quotes, doubled quotes included; of other hands in double ones.
    #[regex(r"'([^'\n]|'')*'")]
    #[regex(r#""([^"\n]|"")*""#)]
    Text,
    /// A string that the line ends before its closing quote.
    #[regex(r"'([^'\n]|'')*")]
    #[regex(r#""([^"\n]|"")*"#)]
    OpenText,
    #[token(",")]
    #[allow(missing_docs)]
    Comma,
    #[token(":")]
    #[allow(missing_docs)]
    Colon,
    #[token("(")]
    #[allow(missing_docs)]
    Open,
    #[token(")")]
    #[allow(missing_docs)]
    Close,
    #[token("+")]
    #[allow(missing_docs)]
    Plus,
    #[token("-")]
    #[allow(missing_docs)]
    Minus,
    #[token("*")]
    #[allow(missing_docs)]
    Star,
    #[token("/")]
    #[allow(missing_docs)]
    Slash,
    /// The location counter, or the start of a control line.
    #[token("$")]
    Dollar,
    /// Control-Z: the text ends here, whatever follows.
    #[token("\x1A")]
    EndOfText,
    /// `<`: opens a group in macro text.
    #[token("<")]
    Less,
    /// `>`: closes one.
    #[token(">")]
    Greater,
    /// `&`: joins the words beside it in the body of a macro.
    #[token("&")]
    Joint,
    /// `=`: EQU in the spelling of other hands.
    #[token("=")]
    Equal,
    /// `%`: passes a value to a macro.
    #[token("%")]
    Percent,
    /// `!`: passes the next character of macro text literally; in other hands it parts statements.
    #[token("!")]
    Bang,
    /// A line that begins with an asterisk; only [`lex_line`] knows where lines begin.
    Remark,
    /// A character that the language does not know.
    Unknown,
}

/// A token: its kind and where it stands in its source, in bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Offset of its first byte.
    pub start: u32,
    /// Offset behind its last byte.
    pub end: u32,
    /// Which name a [`TokenKind::Name`] is; of no meaning for another kind.
    pub name: NameId,
}

impl Token {
    /// The token's text, out of the text that was lexed.
    pub fn text(self, source: &str) -> &str {
        &source[self.start as usize..self.end as usize]
    }
}

/// All tokens of a text, blanks and comments included.
pub fn lex(source: &str, names: &mut Names) -> impl Iterator<Item = Token> {
    let mut lexer = TokenKind::lexer(source);
    std::iter::from_fn(move || next(&mut lexer, 0, names))
}

/// Lexes one line that starts at `start` into `tokens`, leaving out blanks and comments. Returns where the next line
/// starts, or `None` if the text ends with this one.
pub fn lex_line(source: &str, start: u32, names: &mut Names, tokens: &mut Vec<Token>) -> Option<u32> {
    tokens.clear();
    let mut lexer = TokenKind::lexer(&source[start as usize..]);
    loop {
        let token = next(&mut lexer, start, names)?;
        match token.kind {
            TokenKind::Blank | TokenKind::Comment => {}
            TokenKind::LineEnd => return Some(token.end),
            TokenKind::EndOfText => return None,
            TokenKind::Star if tokens.is_empty() && is_remark(&source[token.end as usize..]) => {
                let rest = &source.as_bytes()[token.end as usize..];
                let end = memchr::memchr(b'\n', rest).map(|length| token.end + length as u32);
                let kind = TokenKind::Remark;
                tokens.push(Token { kind, end: end.unwrap_or(source.len() as u32), ..token });
                return end.map(|end| end + 1);
            }
            _ => tokens.push(token),
        }
    }
}

/// Whether a line is a comment because it begins with an asterisk, behind which `rest` stands. `* = 100H` is none: in
/// other hands it sets the location counter.
fn is_remark(rest: &str) -> bool {
    let rest = rest.trim_start_matches([' ', '\t']);
    !rest.starts_with('=') || rest.starts_with("==")
}

fn next(lexer: &mut logos::Lexer<'_, TokenKind>, base: u32, names: &mut Names) -> Option<Token> {
    let kind = lexer.next()?.unwrap_or(TokenKind::Unknown);
    let span = lexer.span();
    let name = if kind == TokenKind::Name { names.intern(lexer.slice()) } else { NameId::reserved(0) };
    Some(Token { kind, start: base + span.start as u32, end: base + span.end as u32, name })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kinds(text: &str) -> Vec<TokenKind> {
        lex(text, &mut Names::default()).map(|token| token.kind).filter(|kind| *kind != TokenKind::Blank).collect()
    }

    #[test]
    fn a_line_of_everything() {
        use TokenKind::*;
        assert_eq!(
            kinds("L1:\tMVI A,0$FFH+'''' ;x'y\r\n"),
            [Name, Colon, Name, Name, Comma, Number, Plus, Text, Comment, LineEnd]
        );
        assert_eq!(kinds("'open\n$\x1A"), [OpenText, LineEnd, Dollar, EndOfText]);
        assert_eq!(kinds("'a''b' 'c''"), [Text, OpenText]);
        assert_eq!(kinds("#é"), [Unknown, Unknown]);
    }

    proptest! {
        #[test]
        fn tokens_are_contiguous_and_cover_the_text(text in any::<String>()) {
            let mut end = 0;
            for token in lex(&text, &mut Names::default()) {
                prop_assert_eq!(token.start, end);
                prop_assert!(token.end > token.start);
                end = token.end;
            }
            prop_assert_eq!(end as usize, text.len());
        }
    }
}
