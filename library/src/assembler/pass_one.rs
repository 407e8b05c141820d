//! Pass one: every line is read in order, labels get their addresses, and what pass two needs is kept.

use std::sync::Arc;

use super::assembly::Options;
use super::frames::Kind;
use super::lines::Extent;
use super::loader::Loader;
use super::state::{PassOne, Place};
use super::statement::{ListedLine, Task};
use super::symbols::{Meaning, Worth};
use crate::source::{SourceId, SourceMap, nearest};
use crate::syntax::{Directive, Habit, Label, Line, Operation, Silent, Token, TokenKind, Told, parse_line};

/// Reads the whole program.
pub(super) fn run<'a>(
    sources: &'a mut SourceMap,
    root: SourceId,
    options: &Options,
    loader: &'a mut dyn Loader,
) -> PassOne<'a> {
    let mut pass = PassOne::new(sources, root, options.keep_lines, loader);
    pass.define_given(options);
    let name = pass.sources.get(root).name().to_owned();
    let identity = pass.loader.identity(&name);
    pass.open_file(root, identity);
    let mut tokens = Vec::new();
    while pass.read_text(&mut tokens) {}
    pass.finish();
    pass
}

impl PassOne<'_> {
    /// Reads lines of the innermost text until another text is begun or this one ends. Returns false when all are read.
    fn read_text(&mut self, tokens: &mut Vec<Token>) -> bool {
        let depth = self.frames.depth();
        let Some(frame) = self.frames.top() else { return false };
        let (source, text, marked) = (frame.source, Arc::clone(&frame.text), frame.has_control_z);
        let parted = frame.has_bang;
        while let Some(start) = self.frames.top().and_then(|frame| frame.next) {
            let Extent { next, column } = self.statement_line((source, &text), start, parted, tokens);
            if let Some(frame) = self.frames.top() {
                frame.next = next;
            }
            let place = Place { source, start: column };
            if marked {
                self.note_control_z(place, &text, tokens, next);
            }
            // Behind the last line's end there is no further line.
            if start as usize == text.len() {
                continue;
            }
            self.list(Place { source, start });
            if self.frames.active() {
                self.line(place, &text, tokens);
            } else {
                self.skipped_line(place, tokens);
            }
            if self.frames.depth() != depth || self.frames.top().is_none_or(|frame| frame.source != source) {
                return self.frames.depth() > 0;
            }
        }
        let is_expansion = self.frames.top().is_some_and(|frame| frame.kind == Kind::Expansion);
        let open = self.frames.pop();
        self.report_open_conditionals(&open, is_expansion);
        self.frames.depth() > 0
    }

    fn list(&mut self, place: Place) {
        if !self.keep_lines {
            return;
        }
        let (files, expansions) = self.frames.depths();
        self.lines.push(ListedLine {
            source: place.source,
            start: place.start,
            include_depth: (files.saturating_sub(1)).min(255) as u8,
            expansion_depth: expansions.min(255) as u8,
            statement: None,
            skipped: !self.frames.active(),
        });
    }

    fn line(&mut self, place: Place, text: &str, tokens: &[Token]) {
        match tokens {
            [] => return,
            [remark] if remark.kind == TokenKind::Remark => {
                return self.habit(Habit::Asterisk, place.span((remark.start, remark.start + 1)));
            }
            _ => {}
        }
        let source = (place.source, text);
        let symbols = &self.symbols;
        let is_macro = |name| symbols.macro_of(name).is_some();
        let mut line = Line::starting(place.start);
        if parse_line::<Silent>(source, tokens, is_macro, &mut self.program, &mut line).is_ok() {
            return self.statement(place, text, tokens, &line);
        }
        line = Line::starting(place.start);
        let told = parse_line::<Told>(source, tokens, is_macro, &mut self.program, &mut line);
        if !self.stray(place, tokens) {
            self.diagnostics.extend(told.err().and_then(|(_, Told(reason))| reason));
        }
        self.recover(place, tokens);
    }

    fn statement(&mut self, place: Place, text: &str, tokens: &[Token], line: &Line) {
        use Directive::{Equ, Macro, Set};
        let defines = matches!(line.operation, Operation::Directive(Equ | Set | Macro));
        if let Some(label) = line.label.filter(|_| !defines) {
            self.label(place, label, line);
        }
        match line.operation {
            Operation::None if line.label.is_some() => self.keep(place, line, Task::Nothing),
            Operation::None => {}
            Operation::Instruction(mnemonic) => {
                self.keep(place, line, Task::Instruction(mnemonic));
                self.advance(place, line, mnemonic.form().pattern.length().into());
            }
            Operation::Directive(directive) => self.directive(place, text, line, directive),
            Operation::Call(name) => self.call(place, text, line, name),
            Operation::Control(_) => self.controls.push(place.span(line.word)),
            Operation::Relocation(relocation) => {
                self.relocations.push((place.span(line.word), relocation, self.statements.len()));
            }
            Operation::Unknown(name) => self.unknown(place, text, tokens, line, name),
        }
    }

    /// A label gets the location.
    fn label(&mut self, place: Place, label: Label, line: &Line) {
        let span = place.span((label.start, label.end));
        self.define(label.name, Meaning::Label, Worth::Known(self.location.here()), Some(span));
        if label.colon || line.operation != Operation::None {
            return;
        }
        if let Some(near) = nearest(self.names.text(label.name), self.names.operations()) {
            self.doubtful.push((label.name, span, near.to_owned()));
        }
    }

    fn define_given(&mut self, options: &Options) {
        for (spelling, value) in &options.definitions {
            let name = self.names.intern(spelling);
            self.define(name, Meaning::Constant, Worth::Known(*value), None);
        }
    }
}
