//! Directives in pass one: which goes where, and those that name values.

use super::evaluate::Value;
use super::state::{PassOne, Place};
use super::statement::Task;
use super::symbols::{Meaning, Worth};
use super::trouble;
use crate::source::{Code, Diagnostic};
use crate::syntax::{Directive, Habit, Line, Operand, unquote};

impl PassOne<'_> {
    pub(super) fn directive(&mut self, place: Place, text: &str, line: &Line, directive: Directive) {
        use Directive::*;
        match directive {
            Org => self.org(place, line),
            Equ => self.equ(place, line),
            Set => self.set(place, line),
            End => self.end(place, line),
            Db => {
                self.keep(place, line, Task::Bytes);
                let sizes = self.program.operands(line.first, line.count).iter().map(|operand| match *operand {
                    Operand::Text(start, end) => unquote(&text[start as usize..end as usize]).count() as u32,
                    _ => 1,
                });
                let size = sizes.sum();
                self.advance(place, line, size);
            }
            Dw => {
                self.keep(place, line, Task::Words);
                self.advance(place, line, 2 * line.count);
            }
            Ds => {
                self.keep(place, line, Task::Nothing);
                let bytes = self.value_now(place, self.operand(line), "DS");
                self.advance(place, line, bytes.unwrap_or(0).into());
            }
            If => self.open_if(place, line),
            Else => self.turn_if(place, line),
            EndIf => self.close_if(place, line),
            Macro => self.define_macro(place, text, line),
            Rept => self.repeat(place, text, line),
            Irp => self.repeat_list(place, text, line),
            Irpc => self.repeat_characters(place, text, line),
            ExitM => self.exit_macro(place, line),
            EndM | Local => self.misplaced(place, line, directive),
            Include => self.include(place, text, line),
            Embed => self.embed(place, text, line),
            RunAt => self.run_at(place, line),
            EndRun => self.end_run(place, line),
            Limit => self.limit(place, text, line),
            EndLimit => self.end_limit(place, line),
            Insist => self.keep(place, line, Task::Insist),
            Boundary => self.boundary(place, line),
            Stuff => {
                let count = self.value_now(place, self.operand(line), "STUFF").unwrap_or(0);
                self.fill(place, line, count);
            }
            StuffTo => self.stuff_to(place, line),
        }
    }

    fn org(&mut self, place: Place, line: &Line) {
        if let Some(address) = self.value_now(place, self.operand(line), "ORG") {
            self.location.set(address);
        }
        self.keep(place, line, Task::Origin);
    }

    fn equ(&mut self, place: Place, line: &Line) {
        let Some(label) = line.label else { return self.name_missing(place, line) };
        let span = place.span((label.start, label.end));
        let (meaning, worth) = match self.evaluate(self.operand(line)) {
            Ok(Value::Number(value)) => (Meaning::Constant, Worth::Known(value)),
            Ok(Value::Register(register)) => (Meaning::Register(register), Worth::Known(register.code())),
            Err(_) => (Meaning::Constant, Worth::Pending),
        };
        if line.word.1 - line.word.0 == 1 {
            self.habit(Habit::EqualSign, place.span(line.word));
        }
        // A second definition is an error of its own and must not touch the value of the first.
        if !self.define(label.name, meaning, worth, Some(span)) {
            return self.keep(place, line, Task::Nothing);
        }
        if worth == Worth::Pending {
            self.pending.push((label.name, self.statements.len()));
        }
        self.keep(place, line, Task::Equ(label.name));
    }

    fn set(&mut self, place: Place, line: &Line) {
        let Some(label) = line.label else { return self.name_missing(place, line) };
        self.keep(place, line, Task::Set(label.name));
        let span = place.span((label.start, label.end));
        let (meaning, worth) = match self.evaluate(self.operand(line)) {
            Ok(Value::Number(value)) => (Meaning::Variable, Worth::Known(value)),
            Ok(Value::Register(register)) => (Meaning::Register(register), Worth::Known(register.code())),
            Err(_) => (Meaning::Variable, Worth::Pending),
        };
        if !self.may_name(label.name, Some(span)) {
            self.diagnostics.push(trouble::reserved(label.name, Some(span), &self.names));
        } else if let Err(first) = self.symbols.redefine(label.name, meaning, worth, span) {
            let problem = trouble::twice(label.name, Some(span), first.defined, &self.names);
            self.diagnostics.push(problem);
        }
    }

    fn name_missing(&mut self, place: Place, line: &Line) {
        let word = self.sources.text(place.span(line.word)).to_ascii_uppercase();
        let problem = Diagnostic::error(Code::NameMissing, format!("`{word}` has no name to define"))
            .at(place.span(line.word), format!("expected a name before {word}"))
            .with_help(format!("write it as `NAME {word} ...`"));
        self.diagnostics.push(problem);
    }

    fn end(&mut self, place: Place, line: &Line) {
        self.keep(place, line, Task::End);
        self.frames.end_file();
    }
}
