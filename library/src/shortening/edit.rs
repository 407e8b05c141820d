//! Changes of a source's lines, and whether the program that comes of them is the one that was meant.

use std::collections::BTreeMap;
use std::ops::Range;

use super::code::Row;
use super::outside::Outside;
use super::search::{Made, written};
use crate::assembler::{Assembly, Meaning, Statement, Worth};
use crate::image::Extent;
use crate::isa::{Instruction, Mnemonic, Operands, decode};
use crate::notation::Address;
use crate::source::{SourceId, SourceMap, Span};

/// A change of a source: lines that go, and those that come in their place; and a label that another line gets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Edit {
    /// Lines that go, from 0.
    pub lines: Range<usize>,
    /// Lines that come.
    pub new: Vec<String>,
    /// A label before another line, which stays as it is.
    pub label: Option<(usize, String)>,
}

/// A name for a label that no line of a source says.
pub(super) fn free_name(text: &str) -> String {
    let upper = text.to_ascii_uppercase();
    let names = (1..).map(|number| format!("SHARE{number}"));
    names.into_iter().find(|name| !upper.contains(name.as_str())).unwrap_or_default()
}

/// The label that stands before the instruction of a line, if there is one.
pub(super) fn label_of(line: &str) -> Option<&str> {
    let (label, _) = line.split_once(':')?;
    let is_name = |label: &str| {
        label.starts_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '?' | '@'))
            && label.chars().all(|c| c.is_ascii_alphanumeric() || matches!(c, '?' | '@' | '_'))
    };
    is_name(label).then_some(label)
}

impl Edit {
    /// The lines of a form in place of those of some rows, which stand in lines that follow each other but for comments.
    pub fn new(text: &str, rows: &[Row], form: &[Made]) -> Option<Edit> {
        let lines: Vec<&str> = text.split('\n').collect();
        let numbers: Vec<usize> = rows.iter().map(|row| row.line).collect::<Option<_>>()?;
        let (&first, &last) = (numbers.first()?, numbers.last()?);
        if first > last {
            return None;
        }
        let (mut head, mut comments, mut between) = (String::new(), Vec::new(), Vec::new());
        for (at, line) in lines.iter().enumerate().take(last + 1).skip(first) {
            let (before, comment) = parted(line);
            if !numbers.contains(&at) {
                // A line between with more than a comment means something to somebody.
                if !before.trim().is_empty() {
                    return None;
                }
                between.push((*line).to_owned());
                continue;
            }
            if at == first {
                head = before[..before.find(|c: char| c.is_whitespace()).unwrap_or(before.len())].to_owned();
            }
            if !comment.is_empty() {
                comments.push(comment.trim_start_matches(';').trim().to_owned());
            }
        }
        let mut new = Vec::new();
        for (at, made) in form.iter().enumerate() {
            let (mnemonic, operands) = written(made);
            let label = if at == 0 { head.as_str() } else { "" };
            let body = format!("{label:<7} {mnemonic:<7} {operands}");
            let comment = if at == 0 { comments.join("; ") } else { String::new() };
            new.push(if comment.is_empty() {
                body.trim_end().to_owned()
            } else {
                format!("{:<31} ; {comment}", body.trim_end())
            });
        }
        if form.is_empty() && !head.is_empty() {
            new.push(head);
        }
        new.extend(between);
        Some(Edit { lines: first..last + 1, new, label: None })
    }

    /// The source with the change.
    pub fn apply(&self, text: &str) -> String {
        let carriage = if text.contains("\r\n") { "\r" } else { "" };
        let mut lines: Vec<String> = text.split('\n').map(str::to_owned).collect();
        let new = self.new.iter().map(|line| format!("{}{carriage}", line.trim_end_matches('\r')));
        if let Some((line, label)) = &self.label {
            let it = &mut lines[*line];
            // The label takes the room of the blanks before the instruction.
            let blank = it.len() - it.trim_start().len();
            *it = format!("{:<width$}{}", format!("{label}:"), it.trim_start(), width = blank.max(label.len() + 2));
        }
        lines.splice(self.lines.clone(), new);
        lines.join("\n")
    }

    /// Where a line of the old source stands in the new one; nothing if it went.
    fn moved(&self, line: usize) -> Option<usize> {
        match line {
            _ if line < self.lines.start => Some(line),
            _ if line >= self.lines.end => Some(line - self.lines.len() + self.new.len()),
            _ => None,
        }
    }
}

/// A line up to its comment, and the comment.
pub(super) fn parted(line: &str) -> (&str, &str) {
    let mut quoted = false;
    for (at, c) in line.char_indices() {
        match c {
            '\'' => quoted = !quoted,
            ';' if !quoted => return line.split_at(at),
            _ => {}
        }
    }
    (line.trim_end_matches('\r'), "")
}

/// Why a change is not the one that was meant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Differs {
    /// Another number of statements.
    Statements,
    /// Bytes of a line that was not changed mean something else: where they lay.
    Bytes(Address),
    /// The new lines are not what was meant.
    Form,
    /// It saves another number of bytes.
    Length,
    /// The entry is another place.
    Entry,
    /// What others of the chain know has moved.
    Outside(Address),
}

/// An assembled source.
#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    pub assembly: &'a Assembly,
    pub sources: &'a SourceMap,
    /// The text whose lines may change.
    pub own: SourceId,
}

impl Side<'_> {
    /// The line in which a statement stands, from 0; nothing for one of another text.
    fn line(&self, statement: &Statement) -> Option<usize> {
        let text = self.sources.get(self.own).text();
        (statement.source == self.own).then(|| text[..statement.span().start as usize].matches('\n').count())
    }

    /// The word with which a statement begins, in capitals.
    fn word(&self, statement: &Statement) -> String {
        let Span { start, end, .. } = statement.span();
        let word = self.sources.get(statement.source).text().get(start as usize..end as usize);
        word.unwrap_or_default().to_ascii_uppercase()
    }

    /// Whether a statement fills up to an address.
    fn is_fill(&self, statement: &Statement) -> bool {
        self.word(statement) == "STUFFTO"
    }

    fn byte(&self, address: u16) -> Option<u8> {
        self.assembly.image.byte(Address(address))
    }
}

/// Whether the program of a changed source is the old one but for the change: every other instruction and every byte of
/// data the same, but for addresses of what has moved, which must be where it is now.
pub(super) fn is_as_meant(
    edit: &Edit,
    old: Side,
    new: Side,
    form: &[Made],
    saves: usize,
    outside: &Outside,
) -> Result<(), Differs> {
    let old_statements = old.assembly.statements.iter();
    let kept: Vec<_> = old_statements.filter(|it| old.line(it).is_none_or(|line| edit.moved(line).is_some())).collect();
    let came = edit.lines.start..edit.lines.start + edit.new.len();
    let came = |it: &&Statement| new.line(it).is_some_and(|line| came.contains(&line));
    let (made, stayed): (Vec<_>, Vec<_>) = new.assembly.statements.iter().partition(came);
    if kept.len() != stayed.len() || made.len() != form.len() {
        return Err(Differs::Statements);
    }
    let pairs: Vec<_> = kept.into_iter().zip(stayed).collect();
    let same_line = |&(a, b): &(&Statement, &Statement)| match (old.line(a), new.line(b)) {
        (Some(a), Some(b)) => edit.moved(a) == Some(b),
        (None, None) => true,
        _ => false,
    };
    if !pairs.iter().all(same_line) {
        return Err(Differs::Statements);
    }
    let moves = Moves::new(&pairs, old, new, edit, made.first().copied());
    pairs.iter().try_for_each(|&(a, b)| moves.statement(old, new, a, b))?;
    let gone = old.assembly.statements.iter().filter(|it| old.line(it).is_some_and(|line| edit.lines.contains(&line)));
    moves.numbers_stay(old, gone, form)?;
    let meant = |(statement, made): (&&Statement, &Made)| moves.is_made(new, statement, made);
    if !made.iter().zip(form).all(meant) {
        return Err(Differs::Form);
    }
    if let Some(address) = outside.fixed().find(|&at| !moves.stays(old, new, at)) {
        return Err(Differs::Outside(Address(address)));
    }
    let (was, is) = (&old.assembly.image, &new.assembly.image);
    // What fills up to an address is longer by what is saved before it, or is there only now.
    let filled = |side: Side| -> usize {
        let fills = side.assembly.statements.iter().filter(|it| side.is_fill(it));
        fills.map(|it| own_bytes(side.assembly, it).len()).sum()
    };
    if is.len() - filled(new) + saves != was.len() - filled(old) {
        return Err(Differs::Length);
    }
    let entry = was.entry.map(|entry| moves.to(entry.0));
    if entry == is.entry.map(|entry| entry.0) { Ok(()) } else { Err(Differs::Entry) }
}

/// Where everything has moved: bytes with their statements, and what labels name besides.
struct Moves {
    /// First addresses of statements, with their lengths and where they are now.
    starts: BTreeMap<u16, (u16, u16)>,
    /// What labels name, and what they name now; nothing where two disagree.
    labels: BTreeMap<u16, Option<u16>>,
}

impl Moves {
    fn new(pairs: &[(&Statement, &Statement)], old: Side, new: Side, edit: &Edit, made: Option<&Statement>) -> Moves {
        let gone = |it: &&Statement| old.line(it).is_some_and(|line| edit.lines.contains(&line));
        let fills = old;
        let (old, new) = (old.assembly, new.assembly);
        let mut moves = Moves { starts: BTreeMap::new(), labels: BTreeMap::new() };
        for (a, b) in pairs {
            let length = own_bytes(old, a).len() as u16;
            if length > 0 {
                // What fills up to an address begins earlier; its bytes are where they were.
                let now = if fills.is_fill(a) { a.location } else { b.location };
                moves.starts.insert(a.location, (length, now));
            }
        }
        // What the change took away begins where its first new instruction does, or what follows it.
        let gone: Vec<_> = old.statements.iter().filter(gone).collect();
        if let Some(first) = gone.first() {
            let behind = gone.iter().map(|it| it.location.wrapping_add(own_bytes(old, it).len() as u16)).max();
            let follows = behind.map(|behind| moves.to(behind));
            if let Some(now) = made.map(|made| made.location).or(follows) {
                moves.starts.insert(first.location, (1, now));
            }
        }
        for id in old.names.all() {
            let label = |assembly: &Assembly, id| match assembly.symbols.get(id) {
                Some(entry) if entry.meaning == Meaning::Label => match entry.worth {
                    Worth::Known(value) => Some(value),
                    Worth::Pending => None,
                },
                _ => None,
            };
            let again = new.names.all().find(|&other| new.names.text(other) == old.names.text(id));
            if let (Some(was), Some(is)) = (label(old, id), again.and_then(|id| label(new, id))) {
                let known = moves.labels.entry(was).or_insert(Some(is));
                *known = known.filter(|&known| known == is);
            }
        }
        moves
    }

    /// Whether a new line became what was meant.
    fn is_made(&self, new: Side, statement: &Statement, made: &Made) -> bool {
        let byte = |at: u16| new.byte(statement.location.wrapping_add(at));
        let meant = made.operand.as_ref().map(|given| if given.fixed { given.value } else { self.to(given.value) });
        let operand = match made.instruction.length {
            1 => None,
            2 => byte(1).map(u16::from),
            _ => byte(1).zip(byte(2)).map(|(low, high)| u16::from_le_bytes([low, high])),
        };
        let meant = if made.instruction.length == 2 { meant.map(|value| value & 0xFF) } else { meant };
        byte(0) == Some(made.instruction.opcode) && operand == meant && self.vector_stays(made.instruction)
    }

    /// Where an address is now. What belongs to no statement and no label has not moved.
    fn to(&self, address: u16) -> u16 {
        if let Some((&was, &(length, is))) = self.starts.range(..=address).next_back()
            && address - was < length
        {
            return is.wrapping_add(address - was);
        }
        self.labels.get(&address).copied().flatten().unwrap_or(address)
    }

    /// Whether what a restart calls lies there still; of other instructions, nothing is asked.
    fn vector_stays(&self, instruction: &Instruction) -> bool {
        let Operands::Vector(vector) = instruction.operands else { return true };
        let address = u16::from(vector) * 8;
        self.to(address) == address
    }

    /// Whether what lies at an address lies there still, be it nothing.
    fn stays(&self, old: Side, new: Side, address: u16) -> bool {
        let there = old.byte(address).is_some();
        there == new.byte(address).is_some() && (!there || self.to(address) == address)
    }

    /// Numbers of the lines that went, and words of those that came, must be no addresses of what has moved.
    fn numbers_stay<'a>(
        &self,
        old: Side,
        gone: impl Iterator<Item = &'a Statement>,
        form: &[Made],
    ) -> Result<(), Differs> {
        let moved = |word: u16| self.to(word) != word;
        let mut before: Option<u8> = None;
        for statement in gone {
            let bytes = own_bytes(old.assembly, statement);
            let text = old.sources.get(statement.source).text();
            let operands = text.get(statement.span().end as usize..).and_then(|rest| rest.split([';', '\n']).next());
            let follows = operands.is_some_and(|it| says_label(old.assembly, it));
            let half = match bytes[..] {
                [_, low, high] if !follows && moved(u16::from_le_bytes([low, high])) => return Err(Differs::Form),
                [opcode, byte] if decode(opcode).mnemonic == Mnemonic::Mvi => Some(byte),
                _ => None,
            };
            // Two halves of an address, one behind the other.
            if let (Some(before), Some(byte)) = (before, half)
                && [[before, byte], [byte, before]].into_iter().any(|it| moved(u16::from_be_bytes(it)))
            {
                return Err(Differs::Form);
            }
            before = half;
        }
        let mut words =
            form.iter().filter(|made| made.instruction.length == 3).filter_map(|made| made.operand.as_ref());
        let wrong = words.any(|given| given.fixed && moved(given.value));
        if wrong { Err(Differs::Form) } else { Ok(()) }
    }

    fn statement(&self, old: Side, new: Side, a: &Statement, b: &Statement) -> Result<(), Differs> {
        let wrong = Differs::Bytes(Address(a.location));
        let is_words = old.word(a) == "DW";
        let (was, is) = (own_bytes(old.assembly, a), own_bytes(new.assembly, b));
        if old.is_fill(a) && was.len() <= is.len() && was.iter().chain(&is).all(|byte| Some(byte) == is.first()) {
            return Ok(());
        }
        if was.len() != is.len() || a.instruction() != b.instruction() {
            return Err(wrong);
        }
        let word = |bytes: &[u8], at: usize| Some(u16::from_le_bytes([*bytes.get(at)?, *bytes.get(at + 1)?]));
        if a.instruction().is_some() {
            let (Some(&opcode), Some(&now)) = (was.first(), is.first()) else { return Err(wrong) };
            let right = match (opcode == now, decode(opcode).length) {
                (false, _) => false,
                (true, 1) => self.vector_stays(decode(opcode)),
                (true, 3) => word(&was, 1).zip(word(&is, 1)).is_some_and(|(was, is)| self.is_right(was, is)),
                _ => was == is,
            };
            return if right { Ok(()) } else { Err(wrong) };
        }
        // A word that stays although what lies there has moved may be an address in numbers.
        let stuck =
            |at: usize| word(&was, at).zip(word(&is, at)).is_some_and(|(was, is)| was == is && self.to(was) != is);
        if is_words && (0..was.len()).step_by(2).any(stuck) {
            return Err(wrong);
        }
        let mut at = 0;
        while at < was.len() {
            if was[at] == is[at] {
                at += 1;
                continue;
            }
            // A word whose low byte differs, or only its high one.
            let begins = [at, at.wrapping_sub(1)].into_iter().find(|&begin| {
                word(&was, begin).zip(word(&is, begin)).is_some_and(|(was, is)| was != is && self.to(was) == is)
            });
            match begins {
                Some(begin) => at = begin + 2,
                None => return Err(wrong),
            }
        }
        Ok(())
    }

    /// Whether a word of an instruction is the same number, or the new place of what it named. A number that stays though
    /// what lies there has moved may be a number or an address: nobody can tell.
    fn is_right(&self, was: u16, is: u16) -> bool {
        self.to(was) == is
    }
}

/// Whether operands name a label, so that they follow what moves.
fn says_label(assembly: &Assembly, operands: &str) -> bool {
    let is_part = |c: char| c.is_ascii_alphanumeric() || matches!(c, '?' | '@' | '_');
    let mut words = operands.split(|c: char| !is_part(c)).filter(|word| !word.is_empty());
    words.any(|word| {
        let found = assembly.names.all().find(|&id| assembly.names.text(id).eq_ignore_ascii_case(word));
        found.and_then(|id| assembly.symbols.get(id)).is_some_and(|entry| entry.meaning == Meaning::Label)
    })
}

/// The bytes that a statement made.
fn own_bytes(assembly: &Assembly, statement: &Statement) -> Vec<u8> {
    let image = &assembly.image;
    let within = |extent: &Extent| (extent.base..=extent.last()).contains(&Address(statement.location));
    let Some(extent) = image.extents().find(within) else { return Vec::new() };
    let from = usize::from(statement.location.wrapping_sub(extent.base.0));
    let own = |at: &usize| image.made_by(extent.base.wrapping_add(*at as u16)) == Some(statement.position());
    (from..extent.bytes.len()).take_while(own).map(|at| extent.bytes[at]).collect()
}
