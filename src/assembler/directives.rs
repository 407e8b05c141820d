//! Directives in pass one.

use super::evaluate::Value;
use super::loader::{LoadError, Loaded};
use super::pass_one::{PassOne, Place, TOP};
use super::regions::Region;
use super::statement::Task;
use super::symbols::{Meaning, Worth};
use super::{frames, trouble};
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic, Origin};
use crate::syntax::{Directive, Keyword, Line, Operand, Token, TokenKind, unquote};

/// How many times a program may read a file.
const MOST_FILES: usize = 10_000;

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
                let bytes = self.value_now(place, self.operands(line)[0], "DS");
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
                let count = self.value_now(place, self.operands(line)[0], "STUFF").unwrap_or(0);
                self.fill(place, line, count);
            }
            StuffTo => self.stuff_to(place, line),
        }
    }

    /// The operands of a line, copied out so that the pass can change while they are looked at.
    pub(super) fn operands(&self, line: &Line) -> Vec<Operand> {
        self.program.operands(line.first, line.count).to_vec()
    }

    fn org(&mut self, place: Place, line: &Line) {
        if let Some(address) = self.value_now(place, self.operands(line)[0], "ORG") {
            self.location = address.into();
            self.origin = self.location;
        }
        self.keep(place, line, Task::Nothing);
    }

    fn equ(&mut self, place: Place, line: &Line) {
        let Some(label) = line.label else { return self.name_missing(place, line) };
        let span = place.span((label.start, label.end));
        let (meaning, worth) = match self.evaluate(self.operands(line)[0]) {
            Ok(Value::Number(value)) => (Meaning::Constant, Worth::Known(value)),
            Ok(Value::Register(register)) => (Meaning::Register(register), Worth::Known(register.code())),
            Err(_) => (Meaning::Constant, Worth::Pending),
        };
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
        let (meaning, worth) = match self.evaluate(self.operands(line)[0]) {
            Ok(Value::Number(value)) => (Meaning::Variable, Worth::Known(value)),
            Ok(Value::Register(register)) => (Meaning::Register(register), Worth::Known(register.code())),
            Err(_) => (Meaning::Variable, Worth::Pending),
        };
        if label.name.keyword().is_some_and(Keyword::is_reserved) {
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

    fn open_if(&mut self, place: Place, line: &Line) {
        let value = self.value_now(place, self.operands(line)[0], "IF");
        // What depends on an unknown condition is left out, so that it adds no errors of its own.
        self.frames.open(value.is_some_and(|value| value != 0), place.span(line.word));
        if let Some(value) = value.filter(|value| *value != 0 && value & 1 == 0) {
            let headline = format!("the condition comes to {value}, which not every reading of IF calls true");
            let problem = Diagnostic::warning(Code::ConditionUnclear, headline)
                .at(place.span(line.word), "taken as true, because it is not 0; bit 0 alone would make it false")
                .with_help("compare explicitly: `IF value NE 0`");
            self.diagnostics.push(problem);
        }
    }

    fn turn_if(&mut self, place: Place, line: &Line) {
        let Err(conditional) = self.frames.turn() else { return };
        let problem = Diagnostic::error(Code::ConditionalUnbalanced, "this ELSE belongs to no IF")
            .at(place.span(line.word), "no open IF here lacks its ELSE");
        self.diagnostics.push(match conditional {
            Some(conditional) => problem.and_at(conditional.span, "this IF has its ELSE already"),
            None => problem,
        });
    }

    fn close_if(&mut self, place: Place, line: &Line) {
        if !self.frames.close() {
            let problem = Diagnostic::error(Code::ConditionalUnbalanced, "this ENDIF belongs to no IF")
                .at(place.span(line.word), "no IF is open here");
            self.diagnostics.push(problem);
        }
    }

    /// A line that a conditional leaves out: only what opens, turns or closes a conditional counts.
    pub(super) fn skipped_line(&mut self, place: Place, tokens: &[Token]) {
        let Some((directive, token)) = block_word(tokens) else { return };
        let line = Line {
            label: None,
            operation: crate::syntax::Operation::None,
            word: (token.start, token.end),
            first: 0,
            count: 0,
        };
        match directive {
            Directive::If => self.frames.open(false, place.span(line.word)),
            Directive::Else => self.turn_if(place, &line),
            Directive::EndIf => self.close_if(place, &line),
            _ => {}
        }
    }

    fn include(&mut self, place: Place, text: &str, line: &Line) {
        let span = place.span(line.word);
        let Some(name) = self.file_name(place, text, line) else { return };
        let Some(file) = self.load(place, line, &name) else { return };
        let ring = self.frames.files().any(|(identity, _)| identity == file.identity);
        if ring {
            let mut chain: Vec<_> = self.frames.files().map(|(_, id)| self.sources.get(id).name().to_owned()).collect();
            chain.push(file.name);
            let problem = Diagnostic::error(Code::IncludeRing, format!("`{name}` includes itself"))
                .at(span, "this include closes a ring")
                .with_note(format!("the ring: {}", chain.join(" includes ")));
            return self.diagnostics.push(problem);
        }
        if self.bounded(span) && self.affords(span, file.bytes.len()) {
            let id = self.sources.add(file.name, file.bytes, Origin::Included(span));
            self.open_file(id, file.identity);
        }
    }

    /// Whether one more text may be opened; if not, that is an error and all expansions end.
    pub(super) fn bounded(&mut self, span: crate::source::Span) -> bool {
        if self.frames.depth() < frames::DEEPEST {
            return true;
        }
        let headline = format!("includes and expansions are nested more than {} deep", frames::DEEPEST);
        let problem = Diagnostic::error(Code::ExpansionBound, headline)
            .at(span, "the one that is one too many")
            .with_help("a macro that calls itself needs an IF that ends it");
        self.diagnostics.push(problem);
        self.frames.leave_all_expansions();
        false
    }

    fn file_name(&mut self, place: Place, text: &str, line: &Line) -> Option<String> {
        match self.operands(line)[0] {
            Operand::Text(start, end) => Some(unquote(&text[start as usize..end as usize]).collect()),
            _ => {
                let problem = Diagnostic::error(Code::UnexpectedText, "expected a file name in quotes")
                    .at(place.span(line.word), "the name of a file stands in single quotes")
                    .with_help("write it as `INCLUDE 'name.asm'`");
                self.diagnostics.push(problem);
                None
            }
        }
    }

    fn load(&mut self, place: Place, line: &Line, name: &str) -> Option<Loaded> {
        self.files_read += 1;
        if self.files_read > MOST_FILES {
            let headline = format!("more than {MOST_FILES} files are included or embedded");
            let problem = Diagnostic::error(Code::ExpansionBound, headline)
                .at(place.span(line.word), "this one goes past the bound")
                .with_help("look for files that include each other's parts again and again");
            self.diagnostics.push(problem);
            self.frames.leave_all_expansions();
            return None;
        }
        let from = self.frames.files().last().map_or(place.source, |(_, id)| id);
        let loaded = self.loader.load(name, self.sources.get(from).name());
        loaded
            .map_err(|LoadError { reason, tried }| {
                let problem = Diagnostic::error(Code::IncludeMissing, format!("cannot read `{name}`: {reason}"))
                    .at(place.span(line.word), "asked for here");
                self.diagnostics.push(match tried.is_empty() {
                    true => problem,
                    false => problem.with_note(format!("looked for: {}", tried.join(", "))),
                });
            })
            .ok()
    }

    fn embed(&mut self, place: Place, text: &str, line: &Line) {
        let Some(name) = self.file_name(place, text, line) else { return };
        let Some(file) = self.load(place, line, &name) else { return };
        let operands = self.operands(line);
        let mut number = |at: usize| operands.get(at).map(|&operand| self.value_now(place, operand, "EMBED"));
        let (skip, count) = (number(1), number(2));
        let skip = usize::from(skip.flatten().unwrap_or(0));
        let available = file.bytes.len().saturating_sub(skip);
        let wanted = count.flatten().map_or(available, usize::from);
        if skip > file.bytes.len() || wanted > available {
            let headline = format!("`{name}` has {} bytes, too few for this part of it", file.bytes.len());
            let problem = Diagnostic::error(Code::ValueRange, headline)
                .at(place.span(line.word), format!("asks for {wanted} bytes after the first {skip}"));
            return self.diagnostics.push(problem);
        }
        if !self.affords(place.span(line.word), wanted) {
            return;
        }
        let bytes = file.bytes[skip..skip + wanted].to_vec();
        let size = bytes.len().min(TOP as usize + 1) as u32;
        self.keep(place, line, Task::Embed(self.embedded.len() as u32));
        self.embedded.push(bytes);
        self.advance(place, line, size);
    }

    fn run_at(&mut self, place: Place, line: &Line) {
        self.keep(place, line, Task::Nothing);
        let Some(address) = self.value_now(place, self.operands(line)[0], "RUNAT") else { return };
        let span = place.span(line.word);
        self.regions.push(Region::Run { outer_shift: self.shift, span });
        self.shift += self.location as i32 - i32::from(address);
        self.location = address.into();
    }

    fn end_run(&mut self, place: Place, line: &Line) {
        let Some(Region::Run { outer_shift, .. }) =
            self.region(place, line, |region| matches!(region, Region::Run { .. }))
        else {
            return;
        };
        let location = i64::from(self.location) + i64::from(self.shift) - i64::from(outer_shift);
        // Only an ORG to an address below the region leads out of memory, and the bytes there wrap round.
        self.location = if location == i64::from(TOP) { TOP } else { location.rem_euclid(TOP.into()) as u32 };
        self.shift = outer_shift;
        self.keep(place, line, Task::Nothing);
    }

    fn limit(&mut self, place: Place, text: &str, line: &Line) {
        self.keep(place, line, Task::Nothing);
        let operands = self.operands(line);
        let most = self.value_now(place, operands[0], "LIMIT").unwrap_or(u16::MAX);
        let name = match operands.get(1) {
            Some(&Operand::Text(start, end)) => unquote(&text[start as usize..end as usize]).collect(),
            _ => format!("the region at {}", Both(Address(self.location as u16))),
        };
        self.regions.push(Region::Limit { most, start: self.location, name, span: place.span(line.word) });
    }

    fn end_limit(&mut self, place: Place, line: &Line) {
        let Some(Region::Limit { most, start, name, span }) =
            self.region(place, line, |region| matches!(region, Region::Limit { .. }))
        else {
            return;
        };
        self.keep(place, line, Task::Nothing);
        let used = self.location.saturating_sub(start);
        if used <= most.into() {
            return;
        }
        let over = used - u32::from(most);
        let problem =
            Diagnostic::error(Code::LimitExceeded, format!("{name} is {over} bytes over its limit of {most}"))
                .at(place.span(line.word), format!("{used} bytes used up to here"))
                .and_at(span, format!("the limit of {most} bytes"));
        self.diagnostics.push(self.with_largest(problem, start, self.location));
    }

    /// Closes the innermost region, if it is of the wanted kind.
    fn region(&mut self, place: Place, line: &Line, wanted: impl Fn(&Region) -> bool) -> Option<Region> {
        let fits = self.regions.last().is_some_and(wanted);
        if fits {
            return self.regions.pop();
        }
        let word = self.sources.text(place.span(line.word)).to_ascii_uppercase();
        let problem = Diagnostic::error(Code::RegionUnbalanced, format!("this {word} closes nothing"))
            .at(place.span(line.word), "no region that it could close is open here");
        self.diagnostics.push(match self.regions.last() {
            Some(open) => problem.and_at(open.span(), format!("this one is open and wants {}", open.closer())),
            None => problem,
        });
        None
    }

    fn boundary(&mut self, place: Place, line: &Line) {
        let Some(multiple) = self.value_now(place, self.operands(line)[0], "BOUNDARY") else { return };
        if multiple == 0 {
            let problem = Diagnostic::error(Code::ValueRange, "the multiple of BOUNDARY is 0")
                .at(place.span(line.word), "expected 1..=65535");
            return self.diagnostics.push(problem);
        }
        let gap = self.location.next_multiple_of(multiple.into()) - self.location;
        if line.count == 2 && gap < TOP {
            return self.fill(place, line, gap as u16);
        }
        self.keep(place, line, Task::Nothing);
        self.advance(place, line, gap);
    }

    fn stuff_to(&mut self, place: Place, line: &Line) {
        let Some(end) = self.value_now(place, self.operands(line)[0], "STUFFTO") else { return };
        // Up to address 0 means up to the top of memory.
        let end = if end == 0 { TOP } else { end.into() };
        match end.checked_sub(self.location) {
            Some(count) if count < TOP => self.fill(place, line, count as u16),
            _ => {
                let past = self.location.saturating_sub(end);
                let problem = Diagnostic::error(
                    Code::LimitExceeded,
                    format!("the program is {past} bytes past {} already", Both(Address(end as u16))),
                )
                .at(place.span(line.word), "expected to fill up to this address");
                self.diagnostics.push(problem);
            }
        }
    }

    /// Equal bytes; their value is the last operand.
    fn fill(&mut self, place: Place, line: &Line, count: u16) {
        self.keep(place, line, Task::Fill(count));
        self.advance(place, line, count.into());
    }
}

/// The directive of a line that opens or closes a block, found without parsing the line: its first word, or the one
/// behind a label or name.
pub(super) fn block_word(tokens: &[Token]) -> Option<(Directive, Token)> {
    let words = match tokens {
        [_, colon, word, ..] if colon.kind == TokenKind::Colon => [Some(word), None],
        [first, second, ..] => [Some(first), Some(second)],
        [first] => [Some(first), None],
        [] => [None, None],
    };
    words.into_iter().flatten().find_map(|token| {
        use Directive::*;
        match Some(token.name).filter(|_| token.kind == TokenKind::Name)?.keyword()? {
            Keyword::Directive(block @ (If | Else | EndIf | Macro | Rept | Irp | Irpc | EndM)) => Some((block, *token)),
            _ => None,
        }
    })
}
