//! Macros and repetitions in pass one: bodies are taken from the text, expanded into a text of their own, and read.

use std::ops::Range;
use std::sync::Arc;

use super::arguments::{Actual, UnclosedGroup, actuals, characters};
use super::bounds::Claim;
use super::evaluate::Value;
use super::frames::Kind;
use super::macros::{Macro, Template, normal};
use super::state::{Missing, PassOne, Place};
use super::statement::ListedLine;
use super::symbols::{Meaning, Worth};
use super::trouble::{self, Need};
use crate::source::{Body, Code, Diagnostic, Origin, Position, Span};
use crate::syntax::{Directive, Keyword, Line, NameId, Operand, Silent, Token, lex_line, parse_expression};

/// The longest name of a macro that stands whole in the title of its expansions; names are ASCII.
const LONGEST_TITLE: usize = 64;

/// The body of a macro or repetition: its range in the text, without the LOCAL line.
pub(super) struct Taken {
    range: Range<usize>,
    locals: Vec<String>,
}

impl PassOne<'_> {
    pub(super) fn define_macro(&mut self, place: Place, text: &str, line: &Line) {
        let parameters: Vec<_> = names_after(text, line.word.1);
        let Some(body) = self.body(place, line) else { return };
        let Some(label) = line.label else {
            let problem = Diagnostic::error(Code::NameMissing, "`MACRO` has no name to define")
                .at(place.span(line.word), "expected a name before MACRO")
                .with_help("write it as `NAME MACRO parameters`");
            return self.diagnostics.push(problem);
        };
        let span = place.span((label.start, label.end));
        if label.name.keyword().is_some_and(Keyword::is_reserved) {
            return self.diagnostics.push(trouble::reserved(label.name, Some(span), &self.names));
        }
        let text = self.sources.get(place.source).shared_text();
        let number = self.macros.len() as u32;
        match self.symbols.redefine(label.name, Meaning::Macro(number), Worth::Pending, span) {
            Ok(()) => {
                let start = Position { source: place.source, offset: body.range.start as u32 };
                let template = Template::new(text, body.range, &parameters, &body.locals);
                let name = self.names.text(label.name);
                let title = format!("expansion of {}", &name[..name.len().min(LONGEST_TITLE)]).into();
                self.macros.push(Arc::new(Macro { template, start, title }));
            }
            Err(first) => {
                let problem = trouble::twice(label.name, Some(span), first.defined, &self.names);
                self.diagnostics.push(problem);
            }
        }
    }

    pub(super) fn call(&mut self, place: Place, text: &str, line: &Line, name: NameId) {
        let Some(number) = self.symbols.macro_of(name) else { return };
        let Some(actuals) = self.actuals(place, text, line.word.1) else { return };
        let called = Arc::clone(&self.macros[number as usize]);
        let size = called.template.size(&actuals);
        if !self.affords(place.span(line.word), Claim::Bytes(size)) {
            return;
        }
        let mut out = String::with_capacity(size);
        called.template.expand(&actuals, &mut self.local_names, &mut out);
        let lines = memchr::memchr_iter(b'\n', out.as_bytes()).count();
        if self.affords(place.span(line.word), Claim::Lines(lines)) {
            self.expand(place.span(line.word), Body { start: called.start, lines }, Arc::clone(&called.title), out);
        }
    }

    pub(super) fn repeat(&mut self, place: Place, _text: &str, line: &Line) {
        let count = self.value_now(place, self.operand(line), "REPT");
        let Some(body) = self.body(place, line) else { return };
        let passes = (0..count.unwrap_or(0)).map(|_| Vec::new());
        self.expand_each(place, line, body, &[], passes);
    }

    pub(super) fn repeat_list(&mut self, place: Place, text: &str, line: &Line) {
        let Some((parameter, list)) = self.parameter_and_text(place, text, line) else { return };
        let Some(body) = self.body(place, line) else { return };
        let items = actuals(&list, 0).unwrap_or_default();
        let span = place.span(line.word);
        let text_of = |item: Actual| match item {
            Actual::Text(text) => Some(text),
            Actual::Value(range) => {
                // The list is no part of a source, so that a value in it gets a text of its own.
                let list = list.get(range).unwrap_or_default();
                let source = self.sources.add("a value in the list of IRP", list, Origin::Expanded(span, None));
                self.actual(Place { source, start: 0 }, list, Actual::Value(0..list.len()))
            }
        };
        let Some(mut items) = items.into_iter().map(text_of).collect::<Option<Vec<_>>>() else { return };
        if items.is_empty() {
            items.push(String::new());
        }
        self.expand_each(place, line, body, &[parameter], items.into_iter().map(|item| vec![item]));
    }

    pub(super) fn repeat_characters(&mut self, place: Place, text: &str, line: &Line) {
        let Some((parameter, list)) = self.parameter_and_text(place, text, line) else { return };
        let Some(body) = self.body(place, line) else { return };
        let passes = characters(&list).map(|character| vec![character]);
        self.expand_each(place, line, body, &[parameter], passes);
    }

    pub(super) fn exit_macro(&mut self, place: Place, line: &Line) {
        if !self.frames.leave_expansion() {
            self.misplaced(place, line, Directive::ExitM);
        }
    }

    pub(super) fn misplaced(&mut self, place: Place, line: &Line, directive: Directive) {
        let (code, headline, label) = match directive {
            Directive::EndM => {
                (Code::MacroUnbalanced, "this ENDM ends nothing", "no MACRO, REPT, IRP or IRPC is open here")
            }
            Directive::Local => (
                Code::MacroMisplaced,
                "LOCAL does not stand at the start of a body",
                "expected directly behind the line of MACRO, REPT, IRP or IRPC",
            ),
            _ => (Code::MacroMisplaced, "EXITM stands outside of every expansion", "there is no expansion to end"),
        };
        self.diagnostics.push(Diagnostic::error(code, headline).at(place.span(line.word), label));
    }

    /// The parameter of IRP or IRPC and the text that it runs over.
    fn parameter_and_text(&mut self, place: Place, text: &str, line: &Line) -> Option<(String, String)> {
        let Some(list) = self.actuals(place, text, line.word.1) else {
            self.body(place, line);
            return None;
        };
        let mut list = list.into_iter();
        match (list.next(), list.next(), list.next()) {
            (Some(parameter), text, None) if is_name(&parameter) => {
                Some((normal(&parameter), text.unwrap_or_default()))
            }
            _ => {
                let word = self.sources.text(place.span(line.word)).to_ascii_uppercase();
                let form = if word == "IRP" { "IRP X,<first,second>" } else { "IRPC X,text" };
                let problem = Diagnostic::error(Code::MacroArgument, format!("`{word}` takes a parameter and a text"))
                    .at(place.span(line.word), "expected a name, a comma and what it runs over")
                    .with_help(format!("write it as `{form}`"));
                self.diagnostics.push(problem);
                // The body belongs to this line and is passed over with it.
                self.body(place, line);
                None
            }
        }
    }

    /// The arguments of a call as text; values that `%` asks for are worked out now.
    fn actuals(&mut self, place: Place, text: &str, at: u32) -> Option<Vec<String>> {
        match actuals(text, at as usize) {
            Ok(list) => list.into_iter().map(|actual| self.actual(place, text, actual)).collect(),
            Err(UnclosedGroup { at }) => {
                let span = place.span((at as u32, at as u32 + 1));
                let problem = Diagnostic::error(Code::MacroArgument, "a group is not closed")
                    .at(span, "no `>` closes this")
                    .with_help("pass a single `<` as `!<`");
                self.diagnostics.push(problem);
                None
            }
        }
    }

    fn actual(&mut self, place: Place, text: &str, actual: Actual) -> Option<String> {
        let range = match actual {
            Actual::Text(text) => return Some(text),
            Actual::Value(range) => range,
        };
        let span = Span { source: place.source, start: range.start as u32, end: range.end as u32 };
        let source = (place.source, text);
        let parsed = parse_expression::<Silent>(source, range, &mut self.names, &mut self.program);
        let value = match parsed.map(|expression| self.evaluate(Operand::Expression(expression))) {
            Ok(Ok(Value::Number(value))) => return Some(value.to_string()),
            Ok(Err(trouble)) => {
                self.missing.push(Missing { trouble, source: place.source, needs: Need::Argument });
                return None;
            }
            Ok(Ok(Value::Register(_))) | Err(_) => {
                Diagnostic::error(Code::MacroArgument, "`%` is not followed by a value")
                    .at(span, "expected an expression")
            }
        };
        self.diagnostics.push(value);
        None
    }

    /// Takes the body that follows the line up to its ENDM out of the text.
    pub(super) fn body(&mut self, place: Place, line: &Line) -> Option<Taken> {
        let text = self.sources.get(place.source).shared_text();
        let (start, parted) = self.frames.top().map_or((None, false), |frame| (frame.next, frame.has_bang));
        let (mut next, mut depth, mut tokens) = (start, 0, Vec::new());
        // The expansions have the habits of the body, and count them.
        let habits = self.habits.len();
        while let Some(at) = next {
            next = self.statement_line((place.source, &text), at, parted, &mut tokens).next;
            self.habits.truncate(habits);
            match self.block_word(&tokens) {
                Some((Directive::Macro | Directive::Rept | Directive::Irp | Directive::Irpc, _)) => depth += 1,
                Some((Directive::EndM, _)) if depth == 0 => {
                    let statement = self.lines.last().and_then(|line| line.statement);
                    self.list_body(place, &text, (start, next));
                    if let Some(listed) = self.lines.last_mut() {
                        listed.statement = listed.statement.or(statement);
                    }
                    if let Some(frame) = self.frames.top() {
                        frame.next = next;
                    }
                    return Some(self.without_locals(&text, start.unwrap_or(at) as usize..at as usize));
                }
                Some((Directive::EndM, _)) => depth -= 1,
                _ => {}
            }
        }
        if let Some(frame) = self.frames.top() {
            frame.next = None;
        }
        let problem = Diagnostic::error(Code::MacroUnbalanced, "a body is not ended by ENDM")
            .at(place.span(line.word), "it begins here, and the text ends without its ENDM");
        self.diagnostics.push(problem);
        None
    }

    /// Puts the lines of a body, its ENDM included, into the listing.
    fn list_body(&mut self, place: Place, text: &str, (start, end): (Option<u32>, Option<u32>)) {
        let (Some(start), Some(&listed)) = (start, self.lines.last()) else { return };
        let end = end.unwrap_or(text.len() as u32);
        let mut at = start;
        while at < end {
            self.lines.push(ListedLine { start: at, source: place.source, statement: None, ..listed });
            let rest = &text.as_bytes()[at as usize..];
            at = memchr::memchr(b'\n', rest).map_or(end, |line| at + line as u32 + 1);
        }
    }

    /// Splits the LOCAL lines off the front of a body.
    fn without_locals(&mut self, text: &str, range: Range<usize>) -> Taken {
        let (mut locals, mut start, mut tokens) = (Vec::new(), range.start, Vec::new());
        while start < range.end {
            let next = lex_line(text, start as u32, &mut self.names, &mut tokens);
            let word = tokens.first().map(|token: &Token| (token.text(text), token.end));
            let Some((word, end)) = word else {
                // Comments may stand before LOCAL.
                start = next.map_or(range.end, |next| next as usize);
                continue;
            };
            if !word.eq_ignore_ascii_case("LOCAL") {
                break;
            }
            locals.extend(names_after(text, end));
            start = next.map_or(range.end, |next| next as usize);
        }
        let begin = if locals.is_empty() { range.start } else { start };
        Taken { range: begin..range.end, locals }
    }

    /// Expands a body once for each pass, all into one text, so that EXITM ends the later passes too.
    fn expand_each(
        &mut self,
        place: Place,
        line: &Line,
        body: Taken,
        parameters: &[String],
        passes: impl Iterator<Item = Vec<String>>,
    ) {
        let text = self.sources.get(place.source).shared_text();
        let lines = memchr::memchr_iter(b'\n', text[body.range.clone()].as_bytes()).count();
        let start = Position { source: place.source, offset: body.range.start as u32 };
        let template = Template::new(text, body.range, parameters, &body.locals);
        let span = place.span(line.word);
        let word = self.sources.text(span).to_ascii_uppercase();
        let mut out = String::new();
        for actuals in passes {
            if !self.affords(span, Claim::Lines(lines)) || !self.affords(span, Claim::Bytes(template.size(&actuals))) {
                return;
            }
            template.expand(&actuals, &mut self.local_names, &mut out);
        }
        self.expand(span, Body { start, lines }, format!("passes of {word}").into(), out);
    }

    /// Reads generated text next.
    fn expand(&mut self, call: Span, body: Body, title: Arc<str>, text: String) {
        if text.is_empty() || !self.affords(call, Claim::Text(self.frames.depth())) {
            return;
        }
        let id = self.sources.add(title, text, Origin::Expanded(call, Some(body)));
        let text = self.sources.get(id).shared_text();
        self.frames.push(id, text, Kind::Expansion);
    }
}

/// The names in a list that starts at an offset and ends with the statement, in normal form.
fn names_after(text: &str, at: u32) -> Vec<String> {
    let rest = text[at as usize..].lines().next().unwrap_or_default();
    let list = rest.split([';', '!']).next().unwrap_or_default();
    list.split(|sign: char| sign == ',' || sign.is_ascii_whitespace())
        .filter(|name| !name.is_empty())
        .map(normal)
        .collect()
}

fn is_name(text: &str) -> bool {
    text.starts_with(|first: char| first.is_ascii_alphabetic() || matches!(first, '?' | '@' | '_' | '.'))
        && text.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'?' | b'@' | b'_' | b'$' | b'.'))
}
