//! The source: labels, instructions, rows of data, comments, in the order of memory.

use std::collections::BTreeMap;

use super::bytes::Decoded;
use super::habits::Understood;
use super::labels::{Labels, Sight};
use super::marks::{Mark, Uses};
use super::ports::Way;
use super::rows::{self, Row};
use crate::image::MEMORY;
use crate::isa::{Mnemonic, Operands};
use crate::notation::{Address, counted};

/// Where operations, operands and comments begin.
const COLUMNS: [usize; 3] = [8, 16, 32];

/// What a source is made from besides the bytes.
pub struct Content<'a> {
    /// What is known of the bytes.
    pub sight: Sight<'a>,
    /// Their names.
    pub labels: Labels,
    /// What was understood.
    pub understood: Understood,
    /// What the readings disagree on, by address.
    pub disputed: &'a BTreeMap<Address, String>,
    /// What the bytes were read from.
    pub title: &'a str,
    /// Where the program starts.
    pub entry: Option<Address>,
    /// Whether T-states stand beside each instruction.
    pub states: bool,
}

struct Writer<'a> {
    content: &'a Content<'a>,
    text: String,
    /// Whether execution cannot come from the line above.
    apart: bool,
}

/// Writes the source.
pub fn write(content: &Content) -> String {
    let mut writer = Writer { content, text: String::new(), apart: true };
    writer.head();
    let moved = content.sight.found.places.moved();
    for run in content.sight.bytes.runs() {
        let base = content.sight.notation.constant(run.start as u16);
        writer.text.push('\n');
        writer.line("", "ORG", &base, "");
        writer.apart = false;
        let mut at = run.start;
        while at < run.end {
            let own = moved.iter().find(|moved| moved.from.contains(&at));
            let next = moved.iter().map(|moved| moved.from.start).find(|start| *start > at);
            let end = own.map_or(next.unwrap_or(run.end), |moved| moved.from.end).min(run.end);
            match own {
                Some(moved) => {
                    let runs_at = moved.to.wrapping_add((at - moved.from.start) as u16);
                    let name = if at == moved.from.start { content.labels.lying(at) } else { None };
                    let comment = "moved there before it is run";
                    writer.text.push('\n');
                    let to = content.sight.notation.constant(runs_at);
                    writer.line(&name.map(|name| format!("{name}:")).unwrap_or_default(), "RUNAT", &to, comment);
                    writer.stretch(at, end);
                    writer.line("", "ENDRUN", "", "");
                }
                None => writer.stretch(at, end),
            }
            at = end;
        }
    }
    let entry = content.entry.map(|entry| rows::address(&content.sight, &content.labels, MEMORY, entry.0));
    writer.text.push('\n');
    writer.line("", "END", &entry.unwrap_or_default(), "");
    writer.text
}

impl Writer<'_> {
    fn head(&mut self) {
        let Content { sight, labels, title, .. } = self.content;
        let count = sight.bytes.runs().iter().map(ExactSizeIterator::len).sum::<usize>();
        self.text += &format!("; {title}: {}, read back into source.\n", counted(count, "byte"));
        let ports = labels.all_ports();
        if !ports.is_empty() {
            self.text.push('\n');
        }
        for (name, (port, about)) in ports {
            let about = about.into_iter().collect::<Vec<_>>().join("; ");
            self.line(name, "EQU", &sight.notation.constant(port.into()), &about);
        }
        let hinted = labels.equates.iter().map(|(name, value)| (name.as_str(), *value));
        let mut outside: Vec<_> = hinted.collect();
        outside.extend(labels.all_outside().filter(|(name, _)| !labels.equates.iter().any(|(other, _)| other == name)));
        if !outside.is_empty() {
            self.text.push('\n');
        }
        for (name, value) in outside {
            self.line(name, "EQU", &sight.notation.constant(value), "");
        }
    }

    /// One line; what is empty is left out.
    fn line(&mut self, label: &str, operation: &str, operands: &str, comment: &str) {
        let start = self.text.len();
        for (column, part) in [label, operation, operands].into_iter().enumerate() {
            if part.is_empty() {
                continue;
            }
            if column > 0 {
                self.pad(start, COLUMNS[column - 1]);
            }
            self.text += part;
        }
        if !comment.is_empty() {
            if self.text.len() > start {
                self.pad(start, COLUMNS[2]);
            }
            self.text += "; ";
            self.text += comment;
        }
        self.text.push('\n');
    }

    /// Blanks up to a column, one at least.
    fn pad(&mut self, start: usize, column: usize) {
        let written = self.text.len() - start;
        let blanks = column.saturating_sub(written).max(usize::from(written > 0));
        self.text.extend(std::iter::repeat_n(' ', blanks));
    }

    /// The lines of bytes that lie together and run together.
    fn stretch(&mut self, start: usize, end: usize) {
        let sight = &self.content.sight;
        let mut at = start;
        while at < end {
            let label = self.above(at);
            let decoded = sight.instruction(at).filter(|decoded| at + decoded.length() <= end);
            let length = match decoded {
                Some(decoded) if decoded.instruction.documented => self.instruction(at, decoded, &label),
                Some(decoded) => self.undocumented(at, decoded, &label),
                None => self.data(at, end, &label),
            };
            at += length;
        }
    }

    /// What stands above a line: what the routine does, what the readings disagree on. Gives the label back.
    fn above(&mut self, at: usize) -> String {
        let Content { labels, understood, sight, disputed, .. } = self.content;
        let label = labels.at(at).map(|name| format!("{name}:")).unwrap_or_default();
        let sentence = understood.sentences.get(&at);
        if !label.is_empty() && (self.apart || sentence.is_some()) {
            self.text.push('\n');
        }
        if let Some(sentence) = sentence {
            self.line("", "", "", sentence);
        }
        if sight.found.marks.at(at) != Mark::Start {
            return label;
        }
        let length = sight.bytes.decode(at).map_or(1, |decoded| decoded.length());
        for at in at..at + length {
            if let Some(text) = disputed.get(&Address(at as u16)) {
                self.line("", "", "", text);
            }
        }
        label
    }

    fn instruction(&mut self, at: usize, decoded: Decoded, label: &str) -> usize {
        let mnemonic = decoded.instruction.mnemonic;
        let operands = self.operands(at, decoded);
        let comment = self.comment(at, decoded);
        self.line(label, mnemonic.name(), &operands, &comment);
        self.apart = mnemonic.ends_flow();
        decoded.length()
    }

    /// An opcode that no manual lists: the assembler has no word for it.
    fn undocumented(&mut self, at: usize, decoded: Decoded, label: &str) -> usize {
        let sight = &self.content.sight;
        let acts = format!("acts as {}, undocumented", decoded.instruction.mnemonic.name());
        let comment = [acts, self.comment(at, decoded)].into_iter().filter(|text| !text.is_empty()).collect::<Vec<_>>();
        self.line(label, "DB", &sight.notation.constant(decoded.instruction.opcode.into()), &comment.join("; "));
        match decoded.length() {
            2 => self.line("", "DB", &sight.notation.constant(decoded.operand), ""),
            3 => {
                let operand = rows::address(sight, &self.content.labels, at, decoded.operand);
                self.line("", "DW", &operand, "");
            }
            _ => {}
        }
        self.apart = decoded.instruction.mnemonic.ends_flow();
        decoded.length()
    }

    fn data(&mut self, at: usize, end: usize, label: &str) -> usize {
        let Content { sight, labels, disputed, .. } = self.content;
        let next = labels.next_after(at).unwrap_or(end).min(end);
        let commented = sight.hints.comments.range(Address(at as u16)..).map(|(at, _)| at.index()).find(|it| *it > at);
        let next = commented.map_or(next, |commented| commented.min(next));
        let Row { operation, operands, comment, length } = rows::row(sight, labels, at, next);
        for at in at..at + length {
            if let Some(text) = disputed.get(&Address(at as u16)) {
                self.line("", "", "", text);
            }
        }
        let told = sight.hints.comments.get(&Address(sight.found.places.runs_at(at)));
        let parts = [told.map(|hint| hint.value.clone()).unwrap_or_default(), comment];
        let comment = parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("  ");
        self.line(label, operation, &operands, &comment);
        self.apart = true;
        length
    }

    fn operands(&self, at: usize, decoded: Decoded) -> String {
        let Content { sight, labels, .. } = self.content;
        let own = sight.hints.operands.get(&Address(sight.found.places.runs_at(at))).map(|hint| hint.value.clone());
        let own = own.filter(|_| decoded.length() > 1);
        let byte = || own.clone().unwrap_or_else(|| self.byte(at, decoded));
        let port = |way| labels.port(decoded.operand as u8, way).map(str::to_owned);
        match decoded.instruction.operands {
            Operands::None => String::new(),
            Operands::Registers(to, from) => format!("{},{}", to.name(), from.name()),
            Operands::Register(register) => register.name().to_owned(),
            Operands::RegisterByte(register) => format!("{},{}", register.name(), byte()),
            Operands::Pair(pair) => pair.name().to_owned(),
            Operands::PairWord(pair) => format!("{},{}", pair.name(), own.unwrap_or_else(|| self.word(at, decoded))),
            Operands::Byte => byte(),
            Operands::Port => {
                let way = if decoded.instruction.mnemonic == Mnemonic::In { Way::In } else { Way::Out };
                own.or_else(|| port(way)).unwrap_or_else(|| sight.notation.constant(decoded.operand))
            }
            Operands::Address => own.unwrap_or_else(|| rows::address(sight, labels, at, decoded.operand)),
            Operands::Vector(number) => number.to_string(),
        }
    }

    /// A byte: a character where it is compared, or goes to a routine at once.
    fn byte(&self, at: usize, decoded: Decoded) -> String {
        let sight = &self.content.sight;
        let byte = decoded.operand as u8;
        let next = sight.instruction(at + decoded.length()).map(|next| next.instruction.mnemonic);
        let character = match decoded.instruction.mnemonic {
            Mnemonic::Cpi | Mnemonic::Sui | Mnemonic::Adi => byte.is_ascii_graphic(),
            Mnemonic::Mvi => byte.is_ascii_graphic() || byte == b' ',
            _ => false,
        };
        let sent = decoded.instruction.mnemonic != Mnemonic::Mvi || next.is_some_and(Mnemonic::calls);
        match character && sent && byte >= b' ' && byte != b'\'' {
            true => format!("'{}'", char::from(byte)),
            false => sight.notation.constant(decoded.operand),
        }
    }

    fn word(&self, at: usize, decoded: Decoded) -> String {
        let Content { sight, labels, .. } = self.content;
        match sight.meant(at, decoded) {
            Some(address) => rows::address(sight, labels, at, address),
            None => match labels.outside(decoded.operand) {
                Some(name) => name.to_owned(),
                None => sight.notation.constant(decoded.operand),
            },
        }
    }

    fn comment(&self, at: usize, decoded: Decoded) -> String {
        let Content { sight, understood, states, .. } = self.content;
        let mut parts = Vec::new();
        if *states {
            let taken = decoded.instruction.states();
            parts.push(match decoded.instruction.states_not_taken() {
                Some(other) => format!("{taken}/{other}"),
                None => taken.to_string(),
            });
        }
        let told = sight.hints.comments.get(&Address(sight.found.places.runs_at(at)));
        parts.extend(told.map(|hint| hint.value.clone()));
        parts.extend(understood.comments.get(&at).filter(|_| told.is_none()).cloned());
        let range = at..at + decoded.length();
        if range.clone().any(|at| sight.found.marks.uses(at).any(Uses::WRITTEN)) {
            parts.push("the program changes it".into());
        }
        for inside in range.skip(1).filter(|at| sight.found.marks.overlapping.contains(at)) {
            if let Some(other) = sight.bytes.decode(inside) {
                let name = other.instruction.mnemonic.name();
                parts.push(format!("run from its byte {} on it is {name}", inside - at + 1));
            }
        }
        parts.join("  ")
    }
}
