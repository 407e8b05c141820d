//! Whether the program that comes of a change is the one that was meant.

use std::collections::{BTreeMap, HashMap};

use super::edit::{Edit, Piece};
use super::lines::own_bytes;
use super::made::Made;
use super::outside::Outside;
use crate::assembler::{Assembly, Meaning, Statement, Worth};
use crate::isa::{Instruction, Mnemonic, Operands, decode};
use crate::notation::Address;
use crate::source::{SourceId, SourceMap, Span};

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
pub(super) struct Side<'a> {
    pub assembly: &'a Assembly,
    pub sources: &'a SourceMap,
    /// The text whose lines may change.
    pub own: SourceId,
    /// Where its lines begin.
    starts: Vec<usize>,
}

impl<'a> Side<'a> {
    pub fn new(assembly: &'a Assembly, sources: &'a SourceMap, own: SourceId) -> Side<'a> {
        let text = sources.get(own).text();
        let starts = std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
        Side { assembly, sources, own, starts }
    }

    /// The line in which a statement stands, from 0; nothing for one of another text.
    fn line(&self, statement: &Statement) -> Option<usize> {
        let at = statement.span().start as usize;
        (statement.source == self.own).then(|| self.starts.partition_point(|&start| start <= at) - 1)
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

    /// Bytes that fill up to addresses.
    fn filled(&self) -> usize {
        let fills = self.assembly.statements.iter().filter(|it| self.is_fill(it));
        fills.map(|it| own_bytes(self.assembly, it).len()).sum()
    }

    /// What labels name, by their names.
    fn labels(&self) -> HashMap<&'a str, u16> {
        let assembly = self.assembly;
        let label = |id| match assembly.symbols.get(id)? {
            entry if entry.meaning == Meaning::Label => match entry.worth {
                Worth::Known(value) => Some((assembly.names.text(id), value)),
                Worth::Pending => None,
            },
            _ => None,
        };
        assembly.names.all().filter_map(label).collect()
    }
}

/// Whether the program of a changed source is the old one but for the change: every other instruction and every byte of
/// data the same, but for addresses of what has moved, which must be where it is now.
pub(super) fn is_as_meant(edit: &Edit, old: &Side, new: &Side, saves: usize, outside: &Outside) -> Result<(), Differs> {
    let old_statements = old.assembly.statements.iter();
    let kept: Vec<_> = old_statements.filter(|it| old.line(it).is_none_or(|line| edit.moved(line).is_some())).collect();
    let came: Vec<_> = edit.came().collect();
    let is_new = |it: &&Statement| new.line(it).is_some_and(|line| came.iter().any(|(_, lines)| lines.contains(&line)));
    let stayed: Vec<_> = new.assembly.statements.iter().filter(|it| !is_new(it)).collect();
    if kept.len() != stayed.len() {
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
    let changes: Vec<_> = came
        .into_iter()
        .map(|(piece, lines)| {
            let within = |side: &Side, it: &Statement, lines: &std::ops::Range<usize>| {
                side.line(it).is_some_and(|line| lines.contains(&line))
            };
            let gone = old.assembly.statements.iter().filter(|it| within(old, it, &piece.lines)).collect();
            let made = new.assembly.statements.iter().filter(|it| within(new, it, &lines));
            Change { piece, gone, made: made.filter(|it| it.instruction().is_some()).collect() }
        })
        .collect();
    let moves = Moves::new(&pairs, old, new, &changes);
    pairs.iter().try_for_each(|&(a, b)| moves.statement(old, new, a, b))?;
    changes.iter().try_for_each(|change| moves.change(old, new, change))?;
    if let Some(address) = outside.fixed().find(|&at| !moves.stays(old, new, at)) {
        return Err(Differs::Outside(Address(address)));
    }
    let (was, is) = (&old.assembly.image, &new.assembly.image);
    // What fills up to an address is longer by what is saved before it, or is there only now.
    if is.len() - new.filled() + saves != was.len() - old.filled() {
        return Err(Differs::Length);
    }
    let entry = was.entry.map(|entry| moves.to(entry.0));
    if entry == is.entry.map(|entry| entry.0) { Ok(()) } else { Err(Differs::Entry) }
}

/// The statements that went with a piece, and the instructions that came.
struct Change<'a> {
    piece: &'a Piece,
    gone: Vec<&'a Statement>,
    made: Vec<&'a Statement>,
}

/// Where everything has moved: bytes with their statements, and what labels name besides.
struct Moves {
    /// First addresses of statements, with their lengths and where they are now.
    starts: BTreeMap<u16, (u16, u16)>,
    /// What labels name, and what they name now; nothing where two disagree.
    labels: BTreeMap<u16, Option<u16>>,
}

impl Moves {
    fn new(pairs: &[(&Statement, &Statement)], old: &Side, new: &Side, changes: &[Change]) -> Moves {
        let mut moves = Moves { starts: BTreeMap::new(), labels: BTreeMap::new() };
        for (a, b) in pairs {
            let length = own_bytes(old.assembly, a).len() as u16;
            if length > 0 {
                // What fills up to an address begins earlier; its bytes are where they were.
                let now = if old.is_fill(a) { a.location } else { b.location };
                moves.starts.insert(a.location, (length, now));
            }
        }
        // What the change took away begins where its first new instruction does, or what follows it; from the last piece on,
        // as what follows one may be gone with the next.
        for Change { piece, gone, made } in changes.iter().rev() {
            let Some(first) = gone.first() else { continue };
            let behind = gone.iter().map(|it| it.location.wrapping_add(own_bytes(old.assembly, it).len() as u16)).max();
            let behind = behind.unwrap_or(first.location);
            let follows = moves.to(behind);
            let entry = match piece.instead {
                Some(there) => (behind.wrapping_sub(first.location), moves.to(there)),
                None => (1, made.first().map_or(follows, |made| made.location)),
            };
            moves.starts.insert(first.location, entry);
        }
        let now = new.labels();
        for (name, was) in old.labels() {
            if let Some(&is) = now.get(name) {
                let known = moves.labels.entry(was).or_insert(Some(is));
                *known = known.filter(|&known| known == is);
            }
        }
        moves
    }

    /// Whether the instructions of a change are those that were meant.
    fn change(&self, old: &Side, new: &Side, Change { piece, gone, made }: &Change) -> Result<(), Differs> {
        if made.len() != piece.form.len() {
            return Err(Differs::Statements);
        }
        let instructions = gone.iter().copied().filter(|it| it.instruction().is_some());
        self.numbers_stay(old, instructions, &piece.form)?;
        let meant = |(statement, made): (&&Statement, &Made)| self.is_made(new, statement, made);
        let first = piece.at.is_none_or(|at| made.first().is_some_and(|it| it.location == at));
        if first && made.iter().zip(&piece.form).all(meant) { Ok(()) } else { Err(Differs::Form) }
    }

    /// Whether a new line became what was meant.
    fn is_made(&self, new: &Side, statement: &Statement, made: &Made) -> bool {
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
    fn stays(&self, old: &Side, new: &Side, address: u16) -> bool {
        let there = old.byte(address).is_some();
        there == new.byte(address).is_some() && (!there || self.to(address) == address)
    }

    /// Numbers of the lines that went, and words of those that came, must be no addresses of what has moved.
    fn numbers_stay<'a>(
        &self,
        old: &Side,
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

    fn statement(&self, old: &Side, new: &Side, a: &Statement, b: &Statement) -> Result<(), Differs> {
        let wrong = Differs::Bytes(Address(a.location));
        let is_words = old.word(a) == "DW";
        let (was, is) = (own_bytes(old.assembly, a), own_bytes(new.assembly, b));
        if old.is_fill(a) && was.iter().chain(&is).all(|byte| Some(byte) == is.first()) {
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
