//! What is told of the word under the cursor.

use super::described::{described, operands};
use super::headers::{comment_at, header};
use super::rows::{instruction, shown, statements_in};
use super::view::View;
use super::words::Words;
use crate::assembler::{Meaning, Statement, Worth, built_in};
use crate::isa::{Flags, Instruction, Mnemonic, Pattern};
use crate::notation::{Address, Notation};
use crate::panel::Port;
use crate::project::Surveyed;
use crate::source::{Position, SourceId, Span};
use crate::syntax::{Directive, Keyword, NameId, Names, Token, TokenKind, parse_constant, unquote};

/// The most bytes of a statement that are shown.
const MOST: usize = 8;

/// What is told of a word.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hover {
    /// The word.
    pub span: Span,
    /// What is told, in Markdown.
    pub text: String,
}

/// What is told of the word at a place of a source; nothing if there is no word of which something is known.
pub fn hover(view: &View, at: Position) -> Option<Hover> {
    let program = view.program_of(at.source)?;
    let text = view.sources.get(at.source).text();
    let words = Words::around(text, at.offset as usize, &mut Names::default());
    let token = words.at(at.offset as usize)?;
    let asked = Asked { view, program, source: at.source, words: &words, token };
    let told = match token.kind {
        TokenKind::Name => asked.name(),
        TokenKind::Number => asked.number(),
        TokenKind::Dollar => asked.here(),
        TokenKind::Text => asked.file(),
        _ => None,
    }?;
    Some(Hover { span: Span { source: at.source, start: token.start, end: token.end }, text: told })
}

struct Asked<'a> {
    view: &'a View,
    program: &'a Surveyed,
    source: SourceId,
    words: &'a Words<'a>,
    token: Token,
}

impl Asked<'_> {
    fn notation(&self) -> Notation {
        self.view.notation()
    }

    fn word(&self) -> &str {
        self.token.text(self.words.text)
    }

    /// The statement of the line.
    fn statement(&self) -> Option<&Statement> {
        statements_in(self.program, self.source, self.words.line.clone()).next()
    }

    fn name(&self) -> Option<String> {
        if self.is_file() {
            return self.file();
        }
        let is_operation = self.statement().is_some_and(|statement| statement.word.0 == self.token.start);
        let known = self.program.assembly.names.find(self.word());
        match known.filter(|_| !is_operation).and_then(|name| self.symbol(name)) {
            Some(told) => Some(told),
            None => self.keyword(self.token.name.keyword()?),
        }
    }

    /// A name of the program.
    fn symbol(&self, name: NameId) -> Option<String> {
        let assembly = &self.program.assembly;
        let entry = assembly.symbols.get(name)?;
        let what = match entry.meaning {
            Meaning::Undefined => return None,
            Meaning::Label => "label",
            Meaning::Constant => "constant",
            Meaning::Variable => "value given by SET",
            Meaning::Register(_) => "register by another name",
            Meaning::Macro(_) => "macro",
        };
        let mut told = format!("`{}`: {what}", assembly.names.text(name));
        match (entry.meaning, entry.worth) {
            (Meaning::Macro(_), _) => {}
            (Meaning::Register(register), _) => told += &format!(" for {}", register.name()),
            (_, Worth::Known(value)) => told += &format!(" = {}", self.valued(value)),
            (_, Worth::Pending) => told += ", whose value is not known",
        }
        told += &self.others(name);
        if let Worth::Known(value) = entry.worth {
            told += &self.port(value);
        }
        match entry.defined {
            Some(defined) => {
                told += &format!("\n\ndefined at {}", self.view.sources.file_line(defined.position()));
                told += &self.said_at(defined);
            }
            None => told += "\n\ndefined by the chain file",
        }
        Some(told)
    }

    /// A number as the machine's owner reads it, and in decimal.
    fn valued(&self, value: u16) -> String {
        let text = match u8::try_from(value) {
            Ok(byte) => self.notation().byte(byte).to_string(),
            Err(_) => self.notation().word(value).to_string(),
        };
        format!("`{text}` ({value})")
    }

    /// What the name is in other programs that are made from the same text, where it is something else.
    fn others(&self, name: NameId) -> String {
        let file = self.view.sources.get(self.source).name();
        let (spelling, own) = (self.program.assembly.names.text(name), self.worth(self.program, name));
        let mut told = String::new();
        for (_, other) in self.view.programs_at(file).filter(|(_, other)| other.root != self.program.root) {
            let Some(there) = other.assembly.names.find(spelling) else { continue };
            let worth = self.worth(other, there);
            if let Some(Worth::Known(value)) = worth.filter(|worth| Some(*worth) != own) {
                told += &format!("\n\nin the stage `{}`: {}", other.name, self.valued(value));
            }
        }
        told
    }

    fn worth(&self, program: &Surveyed, name: NameId) -> Option<Worth> {
        program.assembly.symbols.get(name).map(|entry| entry.worth)
    }

    /// What a port is, where the line names one.
    fn port(&self, value: u16) -> String {
        let Some(statement) = self.statement() else { return String::new() };
        let (Ok(number), Some(machine)) = (u8::try_from(value), &self.view.machine) else { return String::new() };
        let (way, port) = match statement.instruction() {
            Some(Mnemonic::In) => ("IN", machine.ports.inputs.get(&number)),
            Some(Mnemonic::Out) => ("OUT", machine.ports.outputs.get(&number)),
            _ => return String::new(),
        };
        port.map(|port| told_port(way, number, port, self.notation())).unwrap_or_default()
    }

    /// The comments that belong to what is defined at a place.
    fn said_at(&self, defined: Span) -> String {
        let source = self.view.sources.get(defined.source);
        let is_library = source.name().starts_with("stdlib/");
        let said = if is_library { header(source.text()) } else { comment_at(source.text(), defined.start as usize) };
        if said.is_empty() { said } else { format!("\n\n```text\n{}\n```", said.trim_end()) }
    }

    fn keyword(&self, keyword: Keyword) -> Option<String> {
        let mut told = described(keyword)?;
        let Some(statement) = self.statement() else { return Some(told) };
        if let (Keyword::Mnemonic(mnemonic), Some(found)) = (keyword, instruction(self.program, statement))
            && statement.word.0 == self.token.start
        {
            told = format!("`{} {}`: {}", mnemonic.name(), operands(mnemonic), told).replace(" `:", "`:");
            told += &self.made(statement);
            told += &timed(found);
            if mnemonic.form().pattern == Pattern::Port {
                let place = Address(statement.deposit()).wrapping_add(1);
                let port = self.program.assembly.image.byte(place);
                told += &port.map(|port| self.port(port.into())).unwrap_or_default();
            }
        } else if statement.word.0 == self.token.start {
            told += &self.made(statement);
        }
        Some(told)
    }

    /// The bytes of a statement and where they lie.
    fn made(&self, statement: &Statement) -> String {
        let bytes = self.program.assembly.bytes_of(statement);
        if bytes.is_empty() {
            return String::new();
        }
        let notation = self.notation();
        let at = notation.address(Address(statement.location));
        let mut told = format!("\n\n`{}` at `{at}`", shown(&bytes, MOST, notation));
        if statement.shift != 0 {
            told += &format!(", put at `{}`", notation.address(Address(statement.deposit())));
        }
        told
    }

    fn number(&self) -> Option<String> {
        let value = parse_constant(self.word()).ok()?;
        Some(self.valued(value) + &self.port(value))
    }

    fn here(&self) -> Option<String> {
        let at = self.statement()?.location;
        Some(format!("the address of this statement: `{}`", self.notation().address(Address(at))))
    }

    /// Whether the word names a file.
    fn is_file(&self) -> bool {
        let before = self.words.tokens.iter().take_while(|token| token.start < self.token.start);
        let last = before.last().and_then(|token| token.name.keyword().filter(|_| token.kind == TokenKind::Name));
        matches!(
            last,
            Some(Keyword::Directive(Directive::Include | Directive::Embed) | Keyword::OtherHands(Directive::Include))
        )
    }

    /// What an included file says of itself.
    fn file(&self) -> Option<String> {
        if !self.is_file() {
            return None;
        }
        let name = match self.token.kind {
            TokenKind::Text => unquote(self.word()).collect(),
            _ => self.word().to_owned(),
        };
        let included = self.view.sources.ids().map(|id| self.view.sources.get(id));
        let read = included.into_iter().find(|source| {
            matches!(source.origin(), crate::source::Origin::Included(at)
                if at.source == self.source && self.words.line.contains(&(at.start as usize)))
        });
        let (name, text) = match read {
            Some(source) => (source.name().to_owned(), source.text().to_owned()),
            None => built_in(&name).map(|file| (file.name, String::from_utf8_lossy(&file.bytes).into_owned()))?,
        };
        Some(format!("`{name}`\n\n```text\n{}\n```", header(&text).trim_end()))
    }
}

/// What a port is, in the owner's words.
pub(super) fn told_port(way: &str, number: u8, port: &Port, notation: Notation) -> String {
    let bits = port.bit_words();
    let bits = if bits.is_empty() { bits } else { format!("; bits: {bits}") };
    format!("\n\n{way} port `{}`: {}{bits}", notation.byte(number), port.name)
}

/// T-states, machine cycles and flags of an instruction.
fn timed(instruction: &Instruction) -> String {
    let states = match instruction.states_not_taken() {
        Some(fewer) => format!("{} T-states, {fewer} if the condition fails", instruction.states()),
        None => format!("{} T-states", instruction.states()),
    };
    let cycles: Vec<_> = instruction
        .cycles
        .iter()
        .map(|cycle| format!("{} {}", super::described::cycle(cycle.kind), cycle.states))
        .collect();
    format!("\n\n{states}: {}\n\n{}", cycles.join(", "), flags(instruction.flags))
}

/// Which flags are written, in words.
fn flags(flags: Flags) -> String {
    let all = [
        (Flags::S, "sign"),
        (Flags::Z, "zero"),
        (Flags::A, "auxiliary carry"),
        (Flags::P, "parity"),
        (Flags::C, "carry"),
    ];
    let written: Vec<_> = all.into_iter().filter(|(flag, _)| flags.contains(*flag)).map(|(_, name)| name).collect();
    match written.len() {
        0 => "no flag is changed".into(),
        5 => "all flags are changed".into(),
        _ => format!("changes {}", written.join(", ")),
    }
}
