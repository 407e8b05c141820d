//! Names that hold inside a macro or repetition only: its parameters and its local names.

use std::ops::Range;

use super::words::normal;
use crate::syntax::{Directive, Keyword, Names, Token, TokenKind, lex_line};

/// A macro or repetition with the names that are its own.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Scope {
    /// From the line that opens it to the end of the one that closes it, in bytes.
    pub range: Range<usize>,
    /// Its names, as the assembler compares them.
    pub names: Vec<String>,
}

impl Scope {
    /// Whether a name at an offset is one of the scope's own.
    pub fn owns(&self, name: &str, offset: usize) -> bool {
        self.range.contains(&offset) && self.names.iter().any(|own| own == name)
    }
}

/// The innermost scope that owns a name at an offset.
pub(super) fn owner<'a>(scopes: &'a [Scope], name: &str, offset: usize) -> Option<&'a Scope> {
    scopes.iter().filter(|scope| scope.owns(name, offset)).min_by_key(|scope| scope.range.len())
}

/// The word of a directive at the beginning of a line, behind a label or a name.
pub(super) fn directive_of(tokens: &[Token]) -> Option<(usize, Directive)> {
    let of = |token: &Token| match token.name.keyword().filter(|_| token.kind == TokenKind::Name) {
        Some(Keyword::Directive(directive) | Keyword::OtherHands(directive)) => Some(directive),
        _ => None,
    };
    tokens.iter().take(3).enumerate().find_map(|(at, token)| Some((at, of(token)?)))
}

/// All scopes of a text, those that are closed first.
pub(super) fn scopes(text: &str) -> Vec<Scope> {
    let (mut names, mut tokens, mut open, mut found) = (Names::default(), Vec::new(), Vec::new(), Vec::new());
    let mut next = Some(0u32);
    while let Some(start) = next {
        next = lex_line(text, start, &mut names, &mut tokens);
        let end = next.map_or(text.len(), |next| next as usize);
        let Some((at, directive)) = directive_of(&tokens) else { continue };
        let behind = || tokens[at + 1..].iter().filter(|token| token.kind == TokenKind::Name);
        let texts = |tokens: &mut dyn Iterator<Item = &Token>| tokens.map(|it| normal(it.text(text))).collect();
        match directive {
            Directive::Macro => open.push(Scope { range: start as usize..end, names: texts(&mut behind()) }),
            Directive::Irp | Directive::Irpc => {
                open.push(Scope { range: start as usize..end, names: texts(&mut behind().take(1)) });
            }
            Directive::Rept => open.push(Scope { range: start as usize..end, names: Vec::new() }),
            Directive::Local => {
                let own: Vec<String> = texts(&mut behind());
                open.last_mut().into_iter().for_each(|scope: &mut Scope| scope.names.extend(own.iter().cloned()));
            }
            Directive::EndM => found.extend(open.pop().map(|scope| Scope { range: scope.range.start..end, ..scope })),
            _ => {}
        }
    }
    found.extend(open.into_iter().map(|scope| Scope { range: scope.range.start..text.len(), ..scope }));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parameters_and_local_names_belong_to_their_macro() {
        let text = "X EQU 1\nM MACRO X,y\n LOCAL L$1\nL1: DB X\n IRP Z,<1,2>\n DB Z\n ENDM\n ENDM\n DB X\n";
        let scopes = scopes(text);
        let inside = text.find("DB X").unwrap();
        assert!(owner(&scopes, "X", inside).is_some() && owner(&scopes, "L1", inside).is_some());
        assert!(owner(&scopes, "Z", inside).is_none() && owner(&scopes, "Z", text.find("DB Z").unwrap()).is_some());
        assert!(owner(&scopes, "X", 0).is_none() && owner(&scopes, "X", text.rfind("DB X").unwrap()).is_none());
    }
}
