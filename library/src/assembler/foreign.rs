//! What other hands write that is not accepted: each with the line to write in its place. And what they write for a
//! linker, which a program of one part can do without.

use std::collections::BTreeSet;

use super::state::{PassOne, Place};
use super::statement::Task;
use super::symbols::{Meaning, Worth};
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic};
use crate::syntax::{Habit, Line, Relocation, Token, TokenKind};

impl PassOne<'_> {
    /// A word of other hands, as the operation or behind a label without a colon: the help is the line to write.
    pub(super) fn foreign(&mut self, place: Place, text: &str, tokens: &[Token], line: &Line) -> bool {
        let Some(at) = tokens.iter().position(|token| token.start == line.word.0) else { return false };
        if let [name, first, second, ..] = tokens[at..]
            && (first.kind, second.kind) == (TokenKind::Equal, TokenKind::Equal)
        {
            self.double_equals(place, text, name, place.span((first.start, second.end)));
            return true;
        }
        let found = [at, at + 1].into_iter().find_map(|at| {
            let token = tokens.get(at).filter(|token| token.kind == TokenKind::Name)?;
            let operand = tokens.get(at + 1).map_or("", |token| token.text(text));
            Some((at, *token, foreign_word(self.names.text(token.name), operand)?))
        });
        let Some((word_at, word, told)) = found else { return false };
        let span = place.span((word.start, word.end));
        let Foreign::Refused(help) = told else {
            self.controls.push(span);
            return true;
        };
        if word_at > at && self.is_free(tokens[at].name) {
            let (meaning, worth) = match self.names.text(word.name) {
                "DEFL" => (Meaning::Constant, Worth::Pending),
                _ => (Meaning::Label, Worth::Known(self.location.here())),
            };
            let span = place.span((tokens[at].start, tokens[at].end));
            self.define(tokens[at].name, meaning, worth, Some(span));
        }
        let headline = format!("`{}` is no instruction, directive or macro", word.text(text));
        let problem =
            Diagnostic::error(Code::OperationUnknown, headline).at(span, "expected an operation").with_help(help);
        self.diagnostics.push(problem);
        true
    }

    fn double_equals(&mut self, place: Place, text: &str, name: Token, span: crate::source::Span) {
        let problem = Diagnostic::error(Code::CharacterUnknown, "`==` defines no name")
            .at(span, "expected EQU or SET")
            .with_help(format!("write `{} EQU value`", name.text(text)));
        self.diagnostics.push(problem);
        if self.is_free(name.name) {
            let at = place.span((name.start, name.end));
            self.define(name.name, Meaning::Constant, Worth::Pending, Some(at));
        }
    }

    /// Tells of a byte in a faulty line that is no character, but would be one without its bit 7. Returns whether there
    /// is one; it is the cause then.
    pub(super) fn stray(&mut self, place: Place, tokens: &[Token]) -> bool {
        let source = self.sources.get(place.source);
        let found = tokens.iter().filter(|token| token.kind == TokenKind::Unknown);
        let Some((token, byte)) = found.filter_map(|token| Some((token, source.stray(token.start)?))).next() else {
            return false;
        };
        let character = char::from(byte & 0x7F);
        let headline = format!("the byte {} is no character: its bit 7 is set", Both(byte));
        let problem =
            Diagnostic::error(Code::CharacterUnknown, headline).at(place.span((token.start, token.end)), "here");
        self.diagnostics.push(match character.is_ascii_graphic() {
            true => problem
                .with_help(format!("without bit 7 it is `{character}`; a worn tape or a parity bit may have set it")),
            false => problem,
        });
        true
    }

    /// What is said of marks for a linker. One segment and names offered to others are no more than the program itself;
    /// anything else needs a linker.
    pub(super) fn report_relocations(&mut self) {
        let marks = std::mem::take(&mut self.relocations);
        let kinds: BTreeSet<_> = marks.iter().map(|&(_, kind, _)| kind).collect();
        let several = kinds.contains(&Relocation::Code) && kinds.contains(&Relocation::Data);
        let refused = |kind| match kind {
            Relocation::Code | Relocation::Data => several,
            Relocation::Stack | Relocation::External => true,
            Relocation::Public => false,
        };
        let bad: Vec<_> = marks.iter().filter(|&&(_, kind, _)| refused(kind)).collect();
        if let [(first, kind, _), ..] = bad[..] {
            let help = match kind {
                Relocation::External => {
                    "put the other module into this program with INCLUDE; all names are shared then"
                }
                Relocation::Stack => "put the stack where the machine has memory, with LXI SP, and leave this line out",
                _ => "give each part its address with ORG, and leave the segment lines out",
            };
            let headline = "programs here are absolute: there are no relocatable segments and no linker";
            let mut problem = Diagnostic::error(Code::RelocationUnsupported, headline)
                .at(*first, "asks for relocation")
                .with_help(help);
            if bad.len() > 1 {
                problem = problem.with_note(format!("there are {} such lines", bad.len()));
            }
            self.diagnostics.push(problem);
            return;
        }
        for &(span, kind, _) in &marks {
            if kind == Relocation::Public {
                self.habit(Habit::SharedNames, span);
            }
        }
        let segment = marks.iter().find(|(_, kind, _)| *kind != Relocation::Public);
        if let Some(&(span, _, next)) = segment {
            self.note_segment(span, next);
        }
    }

    /// The one segment of a program: where it lies, because a linker would have decided that.
    fn note_segment(&mut self, span: crate::source::Span, next: usize) {
        let makes_bytes = |task: Task| {
            !matches!(task, Task::Nothing | Task::Origin | Task::Set(_) | Task::Equ(_) | Task::End | Task::Insist)
        };
        let Some(at) = self.statements[next..].iter().position(|statement| makes_bytes(statement.task)) else { return };
        let first = next + at;
        let placed = self.statements[..first].iter().any(|statement| statement.task == Task::Origin);
        let lies = Both(Address(self.statements[first].location));
        let problem = Diagnostic::note(Code::OtherHands, "the program has one segment, and it is absolute");
        self.diagnostics.push(match placed {
            true => problem.at(span, format!("its bytes lie from {lies} on")),
            false => problem
                .at(span, format!("its bytes lie from {lies} on, because no ORG stands before them"))
                .with_help("a linker would have placed it: put an ORG with the address in place of this line"),
        });
    }
}

/// What becomes of a word of other hands.
enum Foreign {
    /// The line says what is so anyway.
    PassedOver,
    /// An error, with what to write.
    Refused(String),
}

/// A word that other hands use, with the word behind it.
fn foreign_word(word: &str, operand: &str) -> Option<Foreign> {
    Some(Foreign::Refused(match word {
        "DEFM" | "DC" | ".BYTE" | ".ASCII" | ".TEXT" => "bytes and strings are put by `DB`".into(),
        ".WORD" => "words are put by `DW`".into(),
        ".BLOCK" => "bytes are left out by `DS`; `STUFF count,value` puts them".into(),
        "DEFL" => "a value that may change is given by `SET`".into(),
        "CPU" if operand == "8080" => return Some(Foreign::PassedOver),
        ".Z80" | ".8085" | "CPU" => {
            "only the 8080 is known here: look whether the program keeps to its instructions, and take the line out"
                .into()
        }
        "MACLIB" => format!("write `INCLUDE '{operand}.lib'`, with the name that the file has"),
        "IFDEF" | "IFNDEF" => {
            let not = if word == "IFNDEF" { "NOT " } else { "" };
            format!(
                "no IF asks whether a name is defined: give `{operand}` 0 or 0FFFFH with EQU, and write `IF {not}{operand}`"
            )
        }
        "RIM" | "SIM" => format!("{word} is an instruction of the 8085; the 8080 has none in its place"),
        _ => return None,
    }))
}
