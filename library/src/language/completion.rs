//! What may stand at a place of a source.

use super::described::{described, does, operands};
use super::headers::header;
use super::hover::told_port;
use super::view::View;
use super::words::Words;
use crate::assembler::{Meaning, STDLIB, Worth};
use crate::isa::{Mnemonic, Pattern, Register};
use crate::project::Surveyed;
use crate::source::{Position, Span};
use crate::syntax::{Directive, Keyword, Names, RegisterName, Token, TokenKind};

/// What an item is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ItemKind {
    /// An instruction.
    Instruction,
    /// A directive or an operator.
    Word,
    /// A register.
    Register,
    /// A label.
    Label,
    /// A constant or a value of SET.
    Constant,
    /// A macro.
    Macro,
    /// A file.
    File,
    /// A key of a TOML file.
    Key,
    /// A value of a TOML file.
    Value,
}

/// Something that may stand at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What is shown, and written unless `text` says otherwise.
    pub label: String,
    /// What is written.
    pub text: String,
    /// What it replaces.
    pub span: Span,
    /// What it is.
    pub kind: ItemKind,
    /// A few words beside it.
    pub detail: String,
    /// What is told of it, in Markdown.
    pub about: String,
}

/// What may stand at a place of a source. Names of files are those of the built-in library; the caller knows others.
pub fn completion(view: &View, at: Position) -> Vec<Item> {
    let Some(program) = view.program_of(at.source) else { return Vec::new() };
    let text = view.sources.get(at.source).text();
    let mut names = Names::default();
    let words = Words::around(text, at.offset as usize, &mut names);
    let before: Vec<Token> = words.tokens.iter().copied().filter(|token| token.end < at.offset).collect();
    let here = words.tokens.iter().copied().find(|token| token.start < at.offset && at.offset <= token.end);
    let (word, before) = match here {
        Some(token) if matches!(token.kind, TokenKind::Name | TokenKind::Text | TokenKind::OpenText) => {
            (Some(token), before)
        }
        // A sign ends just here: what comes behind it is wanted.
        Some(token) if !matches!(token.kind, TokenKind::Comment | TokenKind::Number | TokenKind::Remark) => {
            (None, [before, vec![token]].concat())
        }
        Some(_) => return Vec::new(),
        None => (None, before),
    };
    if words.tokens.iter().any(|token| token.kind == TokenKind::Comment && token.start < at.offset) {
        return Vec::new();
    }
    let span = match word {
        Some(token) => Span { source: at.source, start: token.start, end: token.end.min(words.line.end as u32) },
        None => at.span(),
    };
    let wanted = Wanted { view, program, span };
    let operation = before.iter().find_map(|token| Some((token, operation(program, token, text)?)));
    match operation {
        None if word.is_some_and(|token| token.kind != TokenKind::Name) => Vec::new(),
        None => wanted.operations(),
        Some((_, Some(Keyword::Directive(Directive::Include) | Keyword::OtherHands(Directive::Include)))) => {
            let quoted = word.is_some_and(|token| token.kind != TokenKind::Name);
            wanted.library(quoted)
        }
        Some((_, Some(Keyword::Mnemonic(mnemonic)))) => {
            let commas = before.iter().filter(|token| token.kind == TokenKind::Comma).count();
            wanted.operands(mnemonic, commas)
        }
        Some(_) => wanted.values(),
    }
}

/// The operation that a word in front of the cursor is: a keyword, or a macro, for which nothing more is told.
fn operation(program: &Surveyed, token: &Token, text: &str) -> Option<Option<Keyword>> {
    if token.kind != TokenKind::Name {
        return None;
    }
    match token.name.keyword().filter(|keyword| keyword.is_operation()) {
        Some(keyword) => Some(Some(keyword)),
        None => {
            let name = program.assembly.names.find(token.text(text))?;
            let entry = program.assembly.symbols.get(name)?;
            matches!(entry.meaning, Meaning::Macro(_)).then_some(None)
        }
    }
}

struct Wanted<'a> {
    view: &'a View,
    program: &'a Surveyed,
    span: Span,
}

impl Wanted<'_> {
    fn item(&self, label: &str, kind: ItemKind, detail: &str, about: String) -> Item {
        let (label, text, detail) = (label.to_owned(), label.to_owned(), detail.to_owned());
        Item { label, text, span: self.span, kind, detail, about }
    }

    /// Words that can stand where an operation does.
    fn operations(&self) -> Vec<Item> {
        let names = Names::default();
        let words = names.operations().filter_map(|word| {
            let keyword = names.find(word)?.keyword()?;
            Some(match keyword {
                Keyword::Mnemonic(mnemonic) => {
                    self.item(word, ItemKind::Instruction, operands(mnemonic), does(mnemonic).to_owned())
                }
                keyword => self.item(word, ItemKind::Word, "", described(keyword)?),
            })
        });
        let mut items: Vec<_> = words.collect();
        items.extend(self.symbols(|meaning| matches!(meaning, Meaning::Macro(_))));
        items
    }

    /// What an instruction takes as its next operand.
    fn operands(&self, mnemonic: Mnemonic, commas: usize) -> Vec<Item> {
        let pattern = mnemonic.form().pattern;
        let registers: Vec<&'static str> = match (pattern, commas) {
            (Pattern::DestinationSource, 0 | 1)
            | (Pattern::Destination | Pattern::Source | Pattern::DestinationByte, 0) => {
                Register::ALL.into_iter().map(Register::name).collect()
            }
            (_, 0) => pattern.pairs().iter().map(|pair| pair.name()).collect(),
            _ => Vec::new(),
        };
        if !registers.is_empty() {
            return registers.into_iter().filter_map(|name| self.register(name)).collect();
        }
        let (registers, others) = pattern.operand_counts();
        if commas >= usize::from(registers + others) {
            return Vec::new();
        }
        let mut items = if pattern == Pattern::Port { self.ports(mnemonic) } else { Vec::new() };
        items.extend(self.values());
        items
    }

    fn register(&self, name: &str) -> Option<Item> {
        let keyword = Names::default().find(name)?.keyword()?;
        let Keyword::Register(register) = keyword else { return None };
        let about = described(Keyword::Register(register))?;
        Some(self.item(RegisterName::name(register), ItemKind::Register, "", about))
    }

    /// The ports of the machine that an instruction can reach.
    fn ports(&self, mnemonic: Mnemonic) -> Vec<Item> {
        let Some(machine) = &self.view.machine else { return Vec::new() };
        let (way, ports) = match mnemonic {
            Mnemonic::In => ("IN", &machine.ports.inputs),
            _ => ("OUT", &machine.ports.outputs),
        };
        let notation = self.view.notation();
        let item = |(&number, port): (&u8, &crate::panel::Port)| {
            let about = told_port(way, number, port, notation).trim().to_owned();
            self.item(&notation.constant(number.into()), ItemKind::Value, &port.name, about)
        };
        ports.iter().map(item).collect()
    }

    /// Names that have a value, and operators.
    fn values(&self) -> Vec<Item> {
        self.symbols(|meaning| !matches!(meaning, Meaning::Macro(_) | Meaning::Undefined))
    }

    fn symbols(&self, wanted: impl Fn(Meaning) -> bool) -> Vec<Item> {
        let assembly = &self.program.assembly;
        let notation = self.view.notation();
        let item = |name| {
            let entry = assembly.symbols.get(name).filter(|entry| wanted(entry.meaning))?;
            let text = assembly.names.text(name);
            // Made for LOCAL: nobody writes it.
            if text.starts_with("??") {
                return None;
            }
            let kind = match entry.meaning {
                Meaning::Label => ItemKind::Label,
                Meaning::Macro(_) => ItemKind::Macro,
                Meaning::Register(_) => ItemKind::Register,
                _ => ItemKind::Constant,
            };
            let detail = match entry.worth {
                Worth::Known(value) if kind != ItemKind::Macro => notation.word(value).to_string(),
                _ => String::new(),
            };
            Some(self.item(text, kind, &detail, String::new()))
        };
        assembly.names.all().filter_map(item).collect()
    }

    /// The files of the built-in library.
    fn library(&self, quoted: bool) -> Vec<Item> {
        let quote = if quoted { "'" } else { "" };
        let item = |file: &crate::assembler::StdlibFile| {
            let header = header(file.text);
            let about = header.lines().next().unwrap_or_default();
            let about = about.split_once(char::is_whitespace).map_or("", |(_, about)| about.trim());
            let mut item = self.item(file.name, ItemKind::File, about, format!("```text\n{}\n```", header.trim_end()));
            item.text = format!("{quote}{}{quote}", file.name);
            item
        };
        STDLIB.iter().map(item).collect()
    }
}
