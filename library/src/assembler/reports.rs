//! What pass one has to say of lines that are no statements, and of the program as a whole.

use std::collections::HashSet;

use super::evaluate::Cause;
use super::frames::{CONTROL_Z, Conditional};
use super::location::{PastTop, TOP};
use super::regions::largest;
use super::state::{PassOne, Place};
use super::symbols::{Meaning, Worth};
use super::trouble;
use crate::notation::counted;
use crate::source::{Code, Diagnostic, nearest};
use crate::syntax::{Directive, Keyword, Line, NameId, Operation, Token, TokenKind};

impl PassOne<'_> {
    pub(super) fn unknown(&mut self, place: Place, text: &str, tokens: &[Token], line: &Line, name: NameId) {
        if self.stray(place, tokens) || self.foreign(place, text, tokens, line) {
            return;
        }
        let first = (self.names.text(name).to_owned(), line.word);
        let behind = tokens.iter().position(|token| token.start == line.word.0).and_then(|at| tokens.get(at + 1));
        if behind.is_some_and(|token| token.kind == TokenKind::Colon) {
            return self.second_label(place, line, name);
        }
        // `LOOP MVO A,B`: the first word is a label in the first column and the second one is misspelt.
        let behind = behind.filter(|_| line.word.0 == place.start);
        let second = behind.map(|token| (token.text(text).to_owned(), (token.start, token.end)));
        let guessed = std::iter::once(&first)
            .chain(&second)
            .find_map(|(word, span)| Some((word, *span, self.near_operation(word)?.to_owned())));
        if guessed.as_ref().is_some_and(|(_, span, _)| *span != line.word) {
            self.define(name, Meaning::Label, Worth::Known(self.location.here()), Some(place.span(line.word)));
        }
        let (word, span) = guessed.as_ref().map_or((&first.0, first.1), |(word, span, _)| (*word, *span));
        let headline = format!("`{word}` is no instruction, directive or macro");
        let problem = Diagnostic::error(Code::OperationUnknown, headline).at(place.span(span), "expected an operation");
        self.diagnostics.push(match guessed {
            Some((_, _, near)) => problem.with_near(&near),
            None => problem.with_help("a label in front of an operation ends with a colon"),
        });
    }

    /// `ONE: TWO: NOP`: the second label is defined all the same.
    fn second_label(&mut self, place: Place, line: &Line, name: NameId) {
        let headline = format!("a second label, `{}`, in one statement", self.names.text(name));
        let problem = Diagnostic::error(Code::OperationUnknown, headline)
            .at(place.span(line.word), "expected an operation")
            .with_help("give the first label a line of its own");
        self.diagnostics.push(problem);
        self.define(name, Meaning::Label, Worth::Known(self.location.here()), Some(place.span(line.word)));
    }

    /// After a line that could not be parsed: what it defines or opens is taken as defined or opened all the same, so that
    /// the lines that rely on it are no further problems.
    pub(super) fn recover(&mut self, place: Place, tokens: &[Token]) {
        use Directive::{Equ, If, Irp, Irpc, Macro, Rept, Set};
        if let [first, second, ..] = tokens
            && first.kind == TokenKind::Name
        {
            let name = first.name;
            let at = Some(place.span((first.start, first.end)));
            match second.name.keyword().filter(|_| second.kind == TokenKind::Name) {
                _ if second.kind == TokenKind::Colon => {
                    self.define(name, Meaning::Label, Worth::Known(self.location.here()), at);
                }
                Some(Keyword::Directive(Equ | Set) | Keyword::OtherHands(Equ | Set))
                    if self.symbols.get(name).is_none() =>
                {
                    self.define(name, Meaning::Constant, Worth::Pending, at);
                }
                _ if second.kind == TokenKind::Equal && self.symbols.get(name).is_none() => {
                    self.define(name, Meaning::Constant, Worth::Pending, at);
                }
                // A label without its colon, before an operation whose operands are wrong.
                Some(keyword) if keyword.is_operation() && self.is_free(name) => {
                    self.define(name, Meaning::Label, Worth::Known(self.location.here()), at);
                }
                _ => {}
            }
        }
        let Some((directive, token)) = self.block_word(tokens) else { return };
        let word = (token.start, token.end);
        match directive {
            If => self.frames.open(false, place.span(word)),
            Macro | Rept | Irp | Irpc => {
                let line = Line { label: None, operation: Operation::None, word, first: 0, count: 0 };
                self.body(place, &line);
            }
            _ => {}
        }
    }

    /// A control-Z ends the text, but not in a comment, and both are told where it matters: where something stands behind.
    pub(super) fn note_control_z(&mut self, place: Place, text: &str, tokens: &[Token], next: Option<u32>) {
        let bytes = text.as_bytes();
        let end = next.map_or(bytes.len(), |next| next as usize);
        let behind = tokens.last().map_or(place.start, |token| token.end) as usize;
        let Some(at) = memchr::memchr(CONTROL_Z, &bytes[behind..end]).map(|at| behind + at) else { return };
        let ends = !bytes[behind..at].contains(&b';');
        let rest = &bytes[if ends { at } else { end }..];
        if rest.iter().all(|&byte| byte.is_ascii_whitespace() || matches!(byte, 0 | 0x0B | CONTROL_Z | 0x7F)) {
            return;
        }
        let span = place.span((at as u32, at as u32 + 1));
        let problem = match ends {
            true => Diagnostic::note(Code::ControlZ, "a control-Z ends the text before the end of the file")
                .at(span, format!("{} behind it are not read", counted(text[at + 1..].chars().count(), "character"))),
            false => Diagnostic::note(Code::ControlZ, "a control-Z in a comment does not end the text")
                .at(span, "the lines behind it are read"),
        };
        self.diagnostics.push(problem);
    }

    fn near_operation(&self, word: &str) -> Option<&str> {
        if !trouble::may_guess(self.diagnostics.len(), &self.names) {
            return None;
        }
        let macros = self.names.all().filter(|&name| self.symbols.macro_of(name).is_some());
        nearest(word, self.names.operations().chain(macros.map(|name| self.names.text(name))))
    }

    fn labels(&self) -> impl Iterator<Item = (&str, u32)> {
        self.names.all().filter_map(|id| {
            let entry = self.symbols.get(id).filter(|entry| entry.meaning == Meaning::Label)?;
            let Worth::Known(at) = entry.worth else { return None };
            Some((self.names.text(id), u32::from(at)))
        })
    }

    /// Names the largest stretches between labels in `start..end`.
    pub(super) fn with_largest(&self, problem: Diagnostic, start: u32, end: u32) -> Diagnostic {
        // It takes time for every known name, as a guess does.
        if !trouble::may_guess(self.diagnostics.len(), &self.names) {
            return problem;
        }
        let largest = largest(self.labels(), start, end);
        let largest: Vec<_> = largest.iter().map(|(name, size)| format!("{name} {size}")).collect();
        match largest.is_empty() {
            true => problem,
            false => problem.with_note(format!("largest parts in bytes: {}", largest.join(", "))),
        }
    }

    fn report_past_top(&mut self) {
        let Some(PastTop { span, start, from, over }) = self.location.past_top else { return };
        let bytes = counted(over, "byte");
        let owner = self.labels().filter(|(_, at)| (start..=from).contains(at)).max_by_key(|&(_, at)| at);
        let told = match owner {
            Some((label, _)) => format!("the first byte without a place, in `{label}`"),
            None => "the first byte without a place".into(),
        };
        let headline = format!("the program runs past the top of memory by {bytes}");
        let problem = Diagnostic::error(Code::PastTop, headline)
            .at(span, told)
            .with_help("start lower with ORG, or make the program smaller");
        let problem = self.with_largest(problem, start, TOP.saturating_add(over));
        self.diagnostics.push(problem);
    }

    /// What is left to say when all lines are read.
    pub(super) fn finish(&mut self) {
        let waiting: HashSet<_> = self.pending.iter().map(|&(name, _)| name).collect();
        for missing in std::mem::take(&mut self.missing) {
            // A constant whose own line is faulty has been told.
            if let Cause::Pending(name) = missing.trouble.cause
                && self.symbols.get(name).is_some_and(|entry| entry.meaning == Meaning::Constant)
                && !waiting.contains(&name)
            {
                continue;
            }
            let told = (missing.trouble, missing.source, missing.needs);
            self.diagnostics.push(trouble::diagnose_early(told, &self.names, &self.symbols));
        }
        for region in std::mem::take(&mut self.regions) {
            let headline = format!("a region is not closed by {}", region.closer());
            let problem = Diagnostic::error(Code::RegionUnbalanced, headline).at(region.span(), "opened here");
            self.diagnostics.push(problem);
        }
        self.report_past_top();
        self.report_controls();
        self.report_relocations();
        self.report_habits();
    }

    fn report_controls(&mut self) {
        let [first, rest @ ..] = &self.controls[..] else { return };
        let count = rest.len() + 1;
        let headline = match count {
            1 => "a listing control is passed over".into(),
            count => format!("{count} listing controls are passed over"),
        };
        let problem = Diagnostic::note(Code::ListingControl, headline).at(*first, "the first of them");
        self.diagnostics.push(problem);
    }

    /// A conditional that is open where its text ends. An expansion closes its own, so that what it asks for is done.
    pub(super) fn report_open_conditionals(&mut self, open: &[Conditional], is_expansion: bool) {
        for conditional in open {
            let headline = "an IF is not closed by ENDIF";
            let problem = match is_expansion {
                true => Diagnostic::warning(Code::ConditionalUnbalanced, headline)
                    .at(conditional.span, "opened here, and closed by the end of the expansion")
                    .with_help("put ENDIF before ENDM"),
                false => Diagnostic::error(Code::ConditionalUnbalanced, headline)
                    .at(conditional.span, "opened here, and the text ends without its ENDIF"),
            };
            self.diagnostics.push(problem);
        }
    }
}
