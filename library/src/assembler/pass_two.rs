//! Pass two: all names are known; operands are evaluated and bytes go into the image.

use std::collections::{HashMap, HashSet};

use super::assembly::Assembly;
use super::emit::{Emitter, Known, operand_span};
use super::evaluate::{Cause, Evaluator, Trouble, Value};
use super::state::PassOne;
use super::statement::{ListedLine, Statement, Task};
use super::symbols::{Meaning, Unsteady, Worth};
use super::trouble;
use crate::image::{Image, InsertError, MEMORY, entry_outside};
use crate::notation::{Address, Both, counted};
use crate::source::{Code, Diagnostic, Diagnostics, Span};
use crate::syntax::{NameId, Operand, unquote};

struct PassTwo<'a> {
    known: Known<'a>,
    embedded: Vec<Vec<u8>>,
    lines: Vec<ListedLine>,
    image: Image,
    diagnostics: Diagnostics,
    emitter: Emitter,
    /// Names that nothing defines: where first used, and how often.
    undefined: HashMap<NameId, (Span, usize)>,
    /// Constants whose value depends on itself.
    circular: HashSet<NameId>,
    past_top: bool,
    /// Where `END` says at which address to start.
    entry: Option<Span>,
    /// How many bytes all statements so far have come to.
    emitted: usize,
}

/// Past so many bytes nothing is filled any more: long before that, two statements have put bytes at one address, or the
/// program has run past the top of memory, and either is an error.
const MOST_EMITTED: usize = 256 * MEMORY;

/// Runs over what pass one kept.
pub(super) fn run(first: PassOne<'_>) -> Assembly {
    let PassOne {
        sources,
        names,
        program,
        symbols,
        statements,
        lines,
        diagnostics,
        pending,
        embedded,
        location,
        doubtful,
        ..
    } = first;
    let mut pass = PassTwo {
        known: Known { sources, names, program, symbols, statements },
        embedded,
        lines,
        image: Image::default(),
        diagnostics,
        emitter: Emitter::default(),
        undefined: HashMap::new(),
        circular: HashSet::new(),
        past_top: location.past_top.is_some(),
        entry: None,
        emitted: 0,
    };
    pass.settle(&pending);
    pass.known.symbols.start_pass_two();
    for number in 0..pass.known.statements.len() {
        let statement = pass.known.statements[number];
        pass.statement(&statement);
    }
    pass.report_undefined();
    pass.report_pending();
    pass.report_doubtful(doubtful);
    pass.report_characters();
    pass.report_entry();
    let PassTwo { known: Known { names, program, symbols, statements, .. }, image, diagnostics, lines, .. } = pass;
    Assembly { image, diagnostics, symbols, names, lines, statements, program }
}

impl PassTwo<'_> {
    /// Gives values to the constants that waited. One that needs another waits for that one alone, so that a chain in any
    /// order is walked once. What is left hangs on a circle, or on a name that is wrong in itself.
    fn settle(&mut self, pending: &[(NameId, usize)]) {
        let mut ready = pending.to_vec();
        let mut waiting: HashMap<NameId, Vec<(NameId, usize)>> = HashMap::new();
        let mut evaluator = Evaluator::default();
        while let Some((name, at)) = ready.pop() {
            let statement = self.known.statements[at];
            let [operand] = *self.known.program.operands(statement.first, statement.count) else { continue };
            match evaluator.operand(&self.known.program, &self.known.symbols, operand, statement.location) {
                Ok(Value::Number(value)) => self.known.symbols.settle(name, value),
                Ok(Value::Register(register)) => self.known.symbols.settle_register(name, register),
                Err(Trouble { cause: Cause::Pending(other), .. }) => {
                    waiting.entry(other).or_default().push((name, at));
                    continue;
                }
                Err(_) => continue,
            }
            ready.extend(waiting.remove(&name).unwrap_or_default());
        }
        let needs = waiting.iter().flat_map(|(&other, names)| names.iter().map(move |&(name, _)| (name, other)));
        self.circular = on_circles(&needs.collect());
    }

    fn statement(&mut self, statement: &Statement) {
        self.emitter.bytes.clear();
        let operands = self.known.program.operands(statement.first, statement.count);
        match statement.task {
            Task::Instruction(mnemonic) => self.emitter.instruction(&self.known, statement, mnemonic),
            Task::Bytes => operands.iter().for_each(|operand| match *operand {
                Operand::Text(start, end) => self.emitter.text(&self.known, statement, (start, end)),
                _ => self.emitter.byte(&self.known, statement, *operand),
            }),
            Task::Words => operands.iter().for_each(|operand| self.emitter.word(&self.known, statement, *operand)),
            Task::Fill(count) if self.emitted <= MOST_EMITTED => {
                if let Some(value) = operands.last() {
                    self.emitter.byte(&self.known, statement, *value);
                }
                let byte = self.emitter.bytes.first().copied().unwrap_or(0);
                self.emitter.bytes.clear();
                self.emitter.bytes.resize(count.into(), byte);
            }
            Task::Embed(number) => self.emitter.bytes.extend_from_slice(&self.embedded[number as usize]),
            Task::Set(name) => self.set(statement, name),
            Task::Equ(name) => self.equ(statement, name),
            Task::End => {
                if let Some(entry) = operands.first() {
                    self.image.entry = self.emitter.number(&self.known, statement, *entry).map(Address);
                    self.entry = Some(operand_span(&self.known.program, statement, *entry));
                }
            }
            Task::Insist => self.insist(statement),
            Task::Nothing | Task::Origin | Task::Fill(_) => {}
        }
        self.emitted = self.emitted.saturating_add(self.emitter.bytes.len());
        self.take_problems();
        self.put(statement);
    }

    /// Of a program with errors, bytes may be missing that would be there.
    fn report_entry(&mut self) {
        if self.past_top || self.diagnostics.has_errors() {
            return;
        }
        let outside = self.image.entry.and_then(|entry| entry_outside(&self.image, entry)).zip(self.entry);
        self.diagnostics.extend(outside.map(|(problem, span)| problem.at(span, "told here")));
    }

    fn put(&mut self, statement: &Statement) {
        if self.emitter.bytes.is_empty() || self.past_top {
            return;
        }
        let base = Address(statement.deposit());
        match self.image.insert(base, &self.emitter.bytes, statement.position()) {
            Ok(()) => {}
            Err(InsertError::Overlap(overlap)) => {
                let headline = format!("two statements put bytes at {}", Both(overlap.address));
                let first = self.known.sources.file_line(overlap.first);
                let problem = Diagnostic::error(Code::BytesOverlap, headline)
                    .at(statement.span(), "this one")
                    .and_at(self.word_at(overlap.first), "and this one, earlier")
                    .with_note(format!("the bytes there come from {first}"))
                    .with_help("move one of them with ORG");
                self.diagnostics.push(problem);
            }
            Err(InsertError::PastTop(fit)) => {
                let problem = Diagnostic::error(Code::PastTop, "the program runs past the top of memory")
                    .at(statement.span(), format!("only {} of this statement fit", counted(fit, "byte")));
                self.diagnostics.push(problem);
            }
        }
    }

    /// The word that starts at a place.
    fn word_at(&self, position: crate::source::Position) -> Span {
        let rest = &self.known.sources.get(position.source).text()[position.offset as usize..];
        let length = rest.find(|sign: char| !sign.is_ascii_alphanumeric()).unwrap_or(rest.len());
        Span { end: position.offset + length as u32, ..position.span() }
    }

    fn set(&mut self, statement: &Statement, name: NameId) {
        let Some(operand) = self.known.program.operands(statement.first, statement.count).first() else { return };
        let (meaning, worth) = match self.emitter.value(&self.known, statement, *operand) {
            Some(Value::Number(value)) => (Meaning::Variable, Worth::Known(value)),
            Some(Value::Register(register)) => (Meaning::Register(register), Worth::Known(register.code())),
            None => (Meaning::Variable, Worth::Pending),
        };
        if let Err(Unsteady { first, second }) = self.known.symbols.set_again(name, meaning, worth) {
            let headline =
                format!("`{}` is {first} after pass one and {second} in pass two", self.known.names.text(name));
            let problem = Diagnostic::error(Code::SymbolUnsteady, headline)
                .at(statement.span(), "the first SET of the name; a line before it uses the value of the last one")
                .with_help("set the name before its first use, or name each value with EQU");
            self.diagnostics.push(problem);
        }
    }

    /// A constant that waited for pass two: the value it has here must be the one that was used for it.
    fn equ(&mut self, statement: &Statement, name: NameId) {
        let Some(operand) = self.known.program.operands(statement.first, statement.count).first() else { return };
        let Some(Value::Number(second)) = self.emitter.value(&self.known, statement, *operand) else { return };
        let Some(Worth::Known(first)) = self.known.symbols.get(name).map(|entry| entry.worth) else { return };
        if first != second && self.known.symbols.get(name).is_some_and(|entry| entry.meaning == Meaning::Constant) {
            let headline =
                format!("`{}` is {first} after pass one and {second} in pass two", self.known.names.text(name));
            let problem = Diagnostic::error(Code::SymbolUnsteady, headline)
                .at(operand_span(&self.known.program, statement, *operand), "comes to another value here")
                .with_help("a constant must not be made from a SET name that changes later");
            self.diagnostics.push(problem);
        }
    }

    fn insist(&mut self, statement: &Statement) {
        let operands = self.known.program.operands(statement.first, statement.count);
        if self.emitter.number(&self.known, statement, operands[0]) != Some(0) {
            return;
        }
        let message = match operands.get(1) {
            Some(&Operand::Text(start, end)) => {
                unquote(self.known.sources.text(Span { source: statement.source, start, end })).collect()
            }
            _ => "what this line insists on does not hold".to_owned(),
        };
        let span = operand_span(&self.known.program, statement, operands[0]);
        self.diagnostics.push(Diagnostic::error(Code::InsistFailed, message).at(span, "comes to 0"));
    }

    fn take_problems(&mut self) {
        if self.emitter.problems.is_empty() && self.emitter.undefined.is_empty() {
            return;
        }
        self.diagnostics.extend(self.emitter.problems.drain(..));
        for (name, span) in self.emitter.undefined.drain(..) {
            self.undefined.entry(name).or_insert((span, 0)).1 += 1;
        }
    }

    fn report_undefined(&mut self) {
        let mut undefined: Vec<_> = self.undefined.iter().map(|(&name, &(span, uses))| (span, name, uses)).collect();
        undefined.sort();
        for (span, name, uses) in undefined {
            let trouble = Trouble { cause: Cause::Undefined(name), start: span.start, end: span.end };
            // Looking for what was meant takes time for every known name, and nobody reads that many.
            let problem = match trouble::may_guess(self.diagnostics.len(), &self.known.names) {
                true => trouble::diagnose(trouble, span.source, &self.known.names, &self.known.symbols),
                false => trouble::not_defined(self.known.names.text(name), span),
            };
            self.diagnostics.push(match uses {
                1 => problem,
                uses => problem.with_note(format!("it is used {uses} times; this is the first")),
            });
        }
    }

    /// Uses of constants that have no value. Where a constant hangs on another problem, that one has been told, and its
    /// uses add nothing.
    fn report_pending(&mut self) {
        let told = self.diagnostics.has_errors();
        for (name, span) in std::mem::take(&mut self.emitter.pending) {
            let problem = match self.circular.contains(&name) {
                true => {
                    let trouble = Trouble { cause: Cause::Pending(name), start: span.start, end: span.end };
                    trouble::diagnose(trouble, span.source, &self.known.names, &self.known.symbols)
                }
                false if told => continue,
                false => trouble::late(name, span, &self.known.names, &self.known.symbols),
            };
            self.diagnostics.push(problem);
        }
    }
}

impl PassTwo<'_> {
    /// A label without a colon that looks like a misspelt operation; one that some line uses is a label.
    fn report_doubtful(&mut self, labels: Vec<(NameId, Span, String)>) {
        for (name, span, near) in labels.into_iter().filter(|(name, ..)| !self.known.symbols.is_used(*name)) {
            let headline = format!("`{}` is read as a label", self.known.names.text(name));
            let problem = Diagnostic::warning(Code::LabelDoubtful, headline)
                .at(span, "no operation has this name, and no line uses the label")
                .with_help(format!("did you mean `{near}`? If it is a label, put a colon behind it"))
                .with_instead(near);
            self.diagnostics.push(problem);
        }
    }
}

impl PassTwo<'_> {
    /// Register pairs loaded with two characters: the byte order of the processor turns them round in memory.
    fn report_characters(&mut self) {
        let [first, ..] = self.emitter.characters[..] else { return };
        let count = counted(self.emitter.characters.len(), "register pair");
        let text = self.known.sources.text(first);
        let problem = Diagnostic::note(Code::OtherHands, format!("{count} loaded with two characters"))
            .at(first, format!("the first character of {text} is the high byte: it lies second in memory"));
        self.diagnostics.push(problem);
    }
}

/// The names that lead back to themselves, each name leading to the one it needs.
fn on_circles(needs: &HashMap<NameId, NameId>) -> HashSet<NameId> {
    let (mut seen, mut circular) = (HashSet::new(), HashSet::new());
    for &start in needs.keys() {
        let (mut path, mut at) = (Vec::new(), Some(start));
        while let Some(name) = at.filter(|&name| seen.insert(name)) {
            path.push(name);
            at = needs.get(&name).copied();
        }
        let circle = at.and_then(|name| path.iter().position(|&other| other == name));
        circular.extend(circle.map(|first| path.split_off(first)).unwrap_or_default());
    }
    circular
}
