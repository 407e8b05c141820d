//! The lines of a source: which instruction stands alone in which, and what its operand is made of.

use std::collections::{BTreeMap, HashMap};
use std::ops::Range;

use super::row::{Given, Row};
use crate::assembler::{Assembly, Meaning, Statement, Worth};
use crate::isa::decode;
use crate::notation::Address;
use crate::source::{SourceId, SourceMap, Span};
use crate::syntax::{Names, Token, TokenKind, lex};

/// Bytes of data that a line of the own source makes alone.
#[derive(Clone, Copy, Debug)]
pub(super) struct Data {
    /// The line, from 0.
    pub line: usize,
    pub at: u16,
    pub length: u16,
}

/// A line that fills up to an address.
#[derive(Clone, Debug)]
pub(super) struct Fill {
    /// The line, from 0.
    pub line: usize,
    pub at: Range<u16>,
    /// The byte that it is filled with, as the line says it.
    pub with: Option<String>,
}

/// The lines of a program's own source.
pub(super) struct Lines<'a> {
    assembly: &'a Assembly,
    sources: &'a SourceMap,
    own: SourceId,
    /// Offsets where lines begin.
    starts: Vec<usize>,
    /// Lines of the own source that were read once, outside macros and conditionals that repeat them.
    plain: BTreeMap<usize, bool>,
    /// What labels name, by the names in upper case.
    labels: HashMap<String, u16>,
    /// Names that are no labels, in upper case, and whether their values stay as they are when code moves.
    fixed: HashMap<String, bool>,
}

impl<'a> Lines<'a> {
    pub fn new(assembly: &'a Assembly, sources: &'a SourceMap, own: SourceId) -> Lines<'a> {
        let text = sources.get(own).text();
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        let label = |id| match assembly.symbols.get(id) {
            Some(entry) if entry.meaning == Meaning::Label => match entry.worth {
                Worth::Known(value) => Some((key(assembly.names.text(id)), value)),
                Worth::Pending => None,
            },
            _ => None,
        };
        let labels = assembly.names.all().filter_map(label).collect();
        let fixed = fixed_names(assembly, sources);
        let mut lines = Lines { assembly, sources, own, starts, plain: BTreeMap::new(), labels, fixed };
        lines.name_further();
        for statement in &assembly.statements {
            if statement.source == own {
                let line = lines.line(statement.span().start as usize);
                // Two statements of one line: a macro, a repetition, or several behind one another.
                lines.plain.entry(line).and_modify(|plain| *plain = false).or_insert(true);
            }
        }
        lines
    }

    /// Names that are labels with nothing but numbers added are labels as well, where they are named.
    fn name_further(&mut self) {
        for id in self.assembly.names.all() {
            let Some(entry) = self.assembly.symbols.get(id).filter(|it| it.meaning == Meaning::Constant) else {
                continue;
            };
            let (Some(span), Worth::Known(value)) = (entry.defined, entry.worth) else { continue };
            let text = definition(self.sources, span);
            let tokens = tokens(text);
            if tokens.len() > 2 && self.counted_from(text, &tokens[2..], value).is_some() {
                self.labels.insert(key(self.assembly.names.text(id)), value);
            }
        }
    }

    fn line(&self, offset: usize) -> usize {
        self.starts.partition_point(|&start| start <= offset) - 1
    }

    pub fn row(&self, statement: &Statement) -> Option<Row> {
        let image = &self.assembly.image;
        let byte = |at: u16| image.byte(Address(statement.location).wrapping_add(at)).unwrap_or_default();
        let instruction = decode(byte(0));
        let operand = match instruction.length {
            2 => byte(1).into(),
            3 => u16::from_le_bytes([byte(1), byte(2)]),
            _ => 0,
        };
        let is_own = statement.source == self.own;
        let line = self.line(statement.span().start as usize);
        let text = self.sources.get(statement.source).text();
        let rest = text.get(statement.span().end as usize..)?.split('\n').next()?;
        let given = if instruction.length > 1 { self.operand(rest, operand, instruction.length == 3) } else { None };
        let alone = is_own && self.plain.get(&line) == Some(&true);
        let head = text.get(*self.starts.get(line)?..statement.span().start as usize).filter(|_| is_own);
        let labelled = head.is_some_and(|head| !head.trim().is_empty());
        Some(Row {
            address: statement.location,
            instruction,
            operand,
            text: given,
            line: alone.then_some(line),
            labelled,
        })
    }

    /// The last operand of a statement, which came to a value. Numbers, characters and names of constants stay as they are
    /// when code moves.
    fn operand(&self, rest: &str, value: u16, is_word: bool) -> Option<Given> {
        let tokens = tokens(rest);
        let mut depth = 0;
        let mut from = 0;
        for (at, token) in tokens.iter().enumerate() {
            match token.kind {
                TokenKind::Open => depth += 1,
                TokenKind::Close => depth -= 1,
                TokenKind::Comma if depth == 0 => from = at + 1,
                _ => {}
            }
        }
        let tokens = &tokens[from..];
        let (first, last) = (tokens.first()?, tokens.last()?);
        let text = rest[first.start as usize..last.end as usize].to_owned();
        let fixed = tokens.iter().all(|token| match token.kind {
            TokenKind::Dollar => false,
            TokenKind::Name => self.is_fixed(token.text(rest)),
            _ => true,
        });
        let from = self.counted_from(rest, tokens, value).filter(|_| is_word);
        Some(Given { text, value, fixed, from, length: self.is_length(rest, tokens) })
    }

    /// Whether an operand is how far two labels lie apart: `END-BEGIN`.
    fn is_length(&self, rest: &str, tokens: &[Token]) -> bool {
        let [end, minus, begin] = tokens else { return false };
        let is_label = |it: &Token| it.kind == TokenKind::Name && self.labels.contains_key(&key(it.text(rest)));
        is_label(end) && minus.kind == TokenKind::Minus && is_label(begin)
    }

    /// The label that an operand is counted from: `LABEL`, `LABEL+1`, `LABEL-A+2`.
    fn counted_from(&self, rest: &str, tokens: &[Token], value: u16) -> Option<(String, u16)> {
        let (first, added) = tokens.split_first()?;
        let name = key(first.text(rest));
        let at = self.labels.get(&name).filter(|_| first.kind == TokenKind::Name)?;
        let is_step = |pair: &[Token]| {
            let number = match pair.get(1).map(|it| it.kind) {
                Some(TokenKind::Number) => true,
                Some(TokenKind::Name) => self.is_fixed(pair[1].text(rest)),
                _ => false,
            };
            number && matches!(pair[0].kind, TokenKind::Plus | TokenKind::Minus)
        };
        added.chunks(2).all(is_step).then(|| (name, value.wrapping_sub(*at)))
    }

    /// Lines with bytes or words, in order; not those that fill up or embed a file.
    pub fn data(&self) -> Vec<Data> {
        let of = |statement: &Statement| {
            let line = self.line(statement.span().start as usize);
            let word = self.word(statement).to_ascii_uppercase();
            let length = own_bytes(self.assembly, statement).len() as u16;
            let alone = statement.source == self.own && self.plain.get(&line) == Some(&true) && length > 0;
            let is_data = matches!(word.trim_start_matches('.'), "DB" | "DW" | "DEFB" | "DEFW");
            (alone && is_data).then_some(Data { line, at: statement.location, length })
        };
        self.assembly.statements.iter().filter_map(of).collect()
    }

    /// Lines without a label that fill up to an address, and make bytes.
    pub fn fills(&self, text: &str) -> Vec<Fill> {
        let lines: Vec<&str> = text.split('\n').collect();
        let of = |statement: &Statement| {
            let line = self.line(statement.span().start as usize);
            let plain = statement.source == self.own && self.plain.get(&line) == Some(&true);
            let there = lines.get(line).filter(|it| plain && it.starts_with(char::is_whitespace))?;
            let length = own_bytes(self.assembly, statement).len() as u16;
            if !self.word(statement).eq_ignore_ascii_case("STUFFTO") || length == 0 {
                return None;
            }
            let with = there.split(';').next()?.split_once(',').map(|(_, byte)| byte.trim().to_owned());
            let at = statement.location..statement.location.saturating_add(length);
            Some(Fill { line, at, with })
        };
        self.assembly.statements.iter().filter_map(of).collect()
    }

    fn word(&self, statement: &Statement) -> &'a str {
        let Span { start, end, .. } = statement.span();
        self.sources.get(statement.source).text().get(start as usize..end as usize).unwrap_or_default()
    }

    /// Statements that are no instructions, with the addresses that labels in them name; one that says where it lies
    /// itself names its own.
    pub fn named_by_data(&self) -> Vec<(&'a Statement, Vec<u16>)> {
        let data = self.assembly.statements.iter().filter(|it| it.instruction().is_none());
        let named = |statement: &'a Statement| {
            let text = self.sources.get(statement.source).text();
            let rest = text.get(statement.span().end as usize..).and_then(|rest| rest.split('\n').next());
            let rest = rest.unwrap_or_default();
            let of = |token: &Token| match token.kind {
                TokenKind::Dollar => Some(statement.location),
                TokenKind::Name => self.labels.get(&key(token.text(rest))).copied(),
                _ => None,
            };
            (statement, tokens(rest).iter().filter_map(of).collect())
        };
        data.map(named).collect()
    }

    /// What labels name that stand in bytes, or in data with something added to them: addresses that are put together by
    /// hand.
    pub fn named_in_pieces(&self) -> Vec<u16> {
        let mut found = Vec::new();
        for statement in &self.assembly.statements {
            let width = statement.instruction().map(|mnemonic| mnemonic.form().pattern.length());
            if width == Some(3) {
                continue;
            }
            let text = self.sources.get(statement.source).text();
            let rest = text.get(statement.span().end as usize..).and_then(|rest| rest.split('\n').next());
            let rest = rest.unwrap_or_default();
            let mut names = Names::default();
            let code = lex(rest, &mut names);
            let code = code.take_while(|token| !matches!(token.kind, TokenKind::Comment | TokenKind::Bang));
            let said: Vec<_> = code.filter(|it| it.kind == TokenKind::Name).map(|it| it.text(rest)).collect();
            let bare = width.is_none() && rest.split(';').next().is_some_and(is_list_of_names);
            let labels = said.into_iter().filter_map(|name| self.labels.get(&key(name)).copied());
            found.extend(labels.filter(|_| !bare));
        }
        found
    }

    /// Whether a name is an operator, or a constant.
    fn is_fixed(&self, name: &str) -> bool {
        self.fixed.get(&key(name)).copied().unwrap_or(false)
    }
}

/// A name as the assembler tells names apart: in capitals, without the marks that only part it.
fn key(name: &str) -> String {
    name.to_ascii_uppercase().replace('$', "")
}

/// The tokens of a statement behind its operation, blanks and comment left out.
fn tokens(rest: &str) -> Vec<Token> {
    let ends = |kind: TokenKind| matches!(kind, TokenKind::Comment | TokenKind::LineEnd | TokenKind::Bang);
    let mut names = Names::default();
    let tokens = lex(rest, &mut names).take_while(|token| !ends(token.kind));
    tokens.filter(|token| token.kind != TokenKind::Blank).collect()
}

/// Names that are no labels, and whether their values stay as they are when code moves: a constant that is made of a label
/// or of `$` does not.
fn fixed_names(assembly: &Assembly, sources: &SourceMap) -> HashMap<String, bool> {
    let mut fixed = HashMap::new();
    let mut made = Vec::new();
    for id in assembly.names.all() {
        let name = key(assembly.names.text(id));
        match assembly.symbols.get(id) {
            None => drop(fixed.insert(name, id.keyword().is_some())),
            Some(entry) if entry.meaning != Meaning::Constant || entry.worth == Worth::Pending => {
                fixed.insert(name, false);
            }
            Some(entry) => match entry.defined {
                None => drop(fixed.insert(name, true)),
                Some(span) => made.push((name, definition(sources, span))),
            },
        }
    }
    // What is made of names that are not known to move is fixed, once nothing more is found to move.
    fixed.extend(made.iter().map(|(name, _)| (name.clone(), true)));
    loop {
        let is_fixed = |text: &str| {
            tokens(text).iter().all(|token| match token.kind {
                TokenKind::Dollar => false,
                TokenKind::Name => fixed.get(&key(token.text(text))).copied().unwrap_or(false),
                _ => true,
            })
        };
        let moving: Vec<_> =
            made.iter().filter(|(name, text)| fixed[name] && !is_fixed(text)).map(|(name, _)| name.clone()).collect();
        if moving.is_empty() {
            return fixed;
        }
        fixed.extend(moving.into_iter().map(|name| (name, false)));
    }
}

/// The line of a definition from its name on.
fn definition(sources: &SourceMap, name: Span) -> &str {
    let text = sources.get(name.source).text();
    text.get(name.start as usize..).and_then(|rest| rest.split('\n').next()).unwrap_or("$")
}

/// Whether operands are names and nothing else, parted by commas: a table of addresses.
fn is_list_of_names(operands: &str) -> bool {
    let is_part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '?' | '@' | '_');
    operands.split(',').all(|it| !it.trim().is_empty() && it.trim().chars().all(is_part))
}

/// The bytes that a statement made.
pub(super) fn own_bytes(assembly: &Assembly, statement: &Statement) -> Vec<u8> {
    let image = &assembly.image;
    let is_own = |at: &u16| image.made_by(Address(*at)) == Some(statement.position());
    (statement.location..=u16::MAX).take_while(is_own).map_while(|at| image.byte(Address(at))).collect()
}
