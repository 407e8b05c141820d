//! Pass one: every line is read in order, labels get their addresses, and what pass two needs is kept.

use std::collections::HashSet;
use std::num::NonZeroU32;
use std::sync::Arc;

use super::Options;
use super::evaluate::{Cause, Evaluator, Trouble, Value, offsets};
use super::expand::Macro;
use super::frames::{Frames, Kind};
use super::lines::Extent;
use super::loader::Loader;
use super::regions::Region;
use super::statement::{ListedLine, Statement, Task};
use super::symbols::{Meaning, Symbols, Worth};
use super::trouble::{self, Need};
use crate::source::{Diagnostics, SourceId, SourceMap, Span, nearest};
use crate::syntax::{
    Directive, Habit, Keyword, Label, Line, NameId, Names, Op, Operand, Operation, Program, Relocation, Silent, Step,
    Token, TokenKind, Told, parse_line,
};

/// One past the highest address.
pub(super) const TOP: u32 = 0x1_0000;

/// No line that holds an instruction is shorter than a blank, `EI` and the line's end. Room is made by it for what pass
/// one keeps: room that is not used costs nothing, but growing large blocks does.
const BYTES_PER_LINE: usize = 4;

/// Every so many of those lines may define a name: room for the names is made by it.
const LINES_PER_NAME: usize = 4;

/// How many constants may be looked at for all values that pass one needs of them.
const MOST_SETTLED: usize = 1_000_000;

/// A value that pass one needed and did not have.
pub(super) struct Missing {
    pub trouble: Trouble,
    pub source: SourceId,
    pub needs: Need,
}

/// The place at which the program ran past the top of memory.
#[derive(Clone, Copy, Debug)]
pub(super) struct PastTop {
    /// The statement whose bytes lie above the top.
    pub span: Span,
    /// Where the part of the program begins that ran past.
    pub start: u32,
    /// The location of the statement.
    pub from: u32,
    /// How many bytes lie above the top in all; no more are counted than a number of 32 bits holds.
    pub over: u32,
}

/// The state of pass one; what it leaves behind is public to pass two.
pub(super) struct PassOne<'a> {
    pub sources: &'a mut SourceMap,
    pub loader: &'a mut dyn Loader,
    pub names: Names,
    pub program: Program,
    pub symbols: Symbols,
    pub statements: Vec<Statement>,
    pub lines: Vec<ListedLine>,
    pub diagnostics: Diagnostics,
    /// Constants whose value waits for pass two, with their statement.
    pub pending: Vec<(NameId, usize)>,
    /// Files read by EMBED.
    pub embedded: Vec<Vec<u8>>,
    /// Where the location ran past the top of memory, if it did.
    pub past_top: Option<PastTop>,
    /// Where the last ORG put the location.
    pub(super) origin: u32,
    keep_lines: bool,
    pub(super) frames: Frames,
    /// Macros, with where their bodies begin.
    pub(super) macros: Vec<Arc<Macro>>,
    pub(super) location: u32,
    /// What to add to the location to get the address of deposit.
    pub(super) shift: i32,
    pub(super) regions: Vec<Region>,
    pub(super) evaluator: Evaluator,
    pub(super) local_names: u32,
    pub(super) expanded_lines: usize,
    /// Bytes of all expansions, included and embedded files so far.
    pub(super) read_bytes: usize,
    /// How many files have been included or embedded.
    pub(super) files_read: usize,
    pub(super) missing: Vec<Missing>,
    pub(super) controls: Vec<Span>,
    /// Habits of other hands that are no matter of grammar alone.
    pub(super) habits: Vec<(Habit, Span)>,
    /// How many constants have been looked at to settle them early.
    settle_work: usize,
    /// Labels that stand alone and look like a misspelt operation, with what they are near to.
    pub(super) doubtful: Vec<(NameId, Span, String)>,
    /// Marks of relocatable programs, each with the number of the next statement.
    pub(super) relocations: Vec<(Span, Relocation, usize)>,
}

/// A line being read: where it stands.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub source: SourceId,
    /// Offset of its first column.
    pub start: u32,
}

impl Place {
    pub fn span(self, (start, end): (u32, u32)) -> Span {
        Span { source: self.source, start, end }
    }
}

/// Reads the whole program.
pub(super) fn run<'a>(
    sources: &'a mut SourceMap,
    root: SourceId,
    options: &Options,
    loader: &'a mut dyn Loader,
) -> PassOne<'a> {
    let expected = sources.get(root).text().len() / BYTES_PER_LINE;
    let mut pass = PassOne {
        sources,
        loader,
        names: Names::default(),
        program: Program::with_capacity(expected),
        symbols: Symbols::with_capacity(expected / LINES_PER_NAME),
        statements: Vec::with_capacity(expected),
        lines: Vec::with_capacity(if options.keep_lines { expected } else { 0 }),
        diagnostics: Diagnostics::default(),
        pending: Vec::new(),
        embedded: Vec::new(),
        past_top: None,
        origin: 0,
        keep_lines: options.keep_lines,
        frames: Frames::default(),
        macros: Vec::new(),
        location: 0,
        shift: 0,
        regions: Vec::new(),
        evaluator: Evaluator::default(),
        local_names: 0,
        expanded_lines: 0,
        read_bytes: 0,
        files_read: 0,
        missing: Vec::new(),
        controls: Vec::new(),
        habits: Vec::new(),
        settle_work: 0,
        doubtful: Vec::new(),
        relocations: Vec::new(),
    };
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
    /// Goes on with the text of a file.
    pub(super) fn open_file(&mut self, id: SourceId, identity: String) {
        let source = self.sources.get(id);
        if let Some(parity) = source.parity() {
            self.diagnostics.push(parity.note(id, source.name()));
        }
        self.frames.push(id, source.shared_text(), Kind::File(identity));
    }

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
        let parsed = parse_line::<Silent>(source, tokens, place.start, is_macro, &mut self.program);
        match parsed {
            Ok(line) => self.statement(place, text, tokens, &line),
            Err(_) => {
                let told = parse_line::<Told>(source, tokens, place.start, is_macro, &mut self.program);
                if !self.stray(place, tokens) {
                    self.diagnostics.extend(told.err().and_then(|(_, Told(reason))| reason));
                }
                self.recover(place, tokens);
            }
        }
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
        self.define(label.name, Meaning::Label, Worth::Known(self.location as u16), Some(span));
        if label.colon || line.operation != Operation::None {
            return;
        }
        if let Some(near) = nearest(self.names.text(label.name), self.names.operations()) {
            self.doubtful.push((label.name, span, near.to_owned()));
        }
    }

    /// Defines a name once; without a place it is one from the command line. Returns false if that is an error.
    pub(super) fn define(&mut self, name: NameId, meaning: Meaning, worth: Worth, at: Option<Span>) -> bool {
        if !self.may_name(name, at) {
            self.diagnostics.push(trouble::reserved(name, at, &self.names));
        } else if let Err(first) = self.symbols.define(name, meaning, worth, at) {
            let fixed = |meaning| matches!(meaning, Meaning::Label | Meaning::Constant);
            let same = matches!(worth, Worth::Known(_)) && first.worth == worth;
            if let Some(span) = at.filter(|_| same && fixed(meaning) && fixed(first.meaning)) {
                self.habit(Habit::SameValue, span);
                return true;
            }
            let problem = trouble::twice(name, at, first.defined, &self.names);
            self.diagnostics.push(problem);
        } else {
            return true;
        }
        false
    }

    /// Whether a word can name something of the user's. A word of the language can where a line of the source defines
    /// it: it is the name wherever an operation or operator cannot stand. Registers always can stand there.
    pub(super) fn may_name(&mut self, name: NameId, at: Option<Span>) -> bool {
        match (name.keyword().filter(|keyword| keyword.is_reserved()), at) {
            (None, _) => true,
            (Some(Keyword::Register(_)), _) | (_, None) => false,
            // A line above has read it as an instruction, and bytes may hang on that.
            (Some(_), Some(_)) if self.evaluator.bare.contains(&name) => false,
            (Some(_), Some(at)) => {
                self.habit(Habit::ReservedName, at);
                true
            }
        }
    }

    /// Keeps a statement for pass two and ties the current line to it.
    pub(super) fn keep(&mut self, place: Place, line: &Line, task: Task) {
        self.statements.push(Statement {
            source: place.source,
            word: line.word,
            location: self.location as u16,
            shift: self.shift as u16,
            task,
            first: line.first,
            count: line.count,
        });
        if let Some(listed) = self.lines.last_mut() {
            listed.statement = NonZeroU32::new(self.statements.len() as u32);
        }
    }

    /// Moves the location on.
    pub(super) fn advance(&mut self, place: Place, line: &Line, bytes: u32) {
        self.location += bytes;
        let deposit = i64::from(self.location) + i64::from(self.shift);
        let end = deposit.max(self.location.into());
        if end > TOP.into() {
            let over = (end - i64::from(TOP)) as u32;
            let (span, from) = (place.span(line.word), self.location - bytes);
            let past = self.past_top.get_or_insert(PastTop { span, start: self.origin, from, over: 0 });
            past.over = past.over.saturating_add(over);
            self.location %= TOP;
        } else if let Some(past) = &mut self.past_top {
            past.over = past.over.saturating_add(bytes);
        }
    }

    /// The value of an operand that pass one must know, or `None` after noting what is missing.
    pub(super) fn value_now(&mut self, place: Place, operand: Operand, needs: &'static str) -> Option<u16> {
        match self.evaluate(operand) {
            Ok(Value::Number(value)) => Some(value),
            Ok(Value::Register(register)) => {
                let (start, end) = offsets(&self.program, operand).unwrap_or_default();
                let trouble = Trouble { cause: Cause::Register(register), start, end };
                self.diagnostics.push(trouble::diagnose(trouble, place.source, &self.names, &self.symbols));
                None
            }
            Err(Trouble { cause: Cause::Pending(_), .. }) if self.settle_pending() => {
                self.value_now(place, operand, needs)
            }
            Err(trouble) => {
                self.missing.push(Missing { trouble, source: place.source, needs: Need::Directive(needs) });
                None
            }
        }
    }

    /// Gives values to constants that waited for names which have been defined by now. A constant that is made from a SET
    /// name keeps waiting, because the name may change. Returns whether any got its value.
    fn settle_pending(&mut self) -> bool {
        let before = self.pending.len();
        self.settle_work = self.settle_work.saturating_add(before);
        if self.settle_work > MOST_SETTLED {
            return false;
        }
        let mut settled = HashSet::new();
        for &(name, at) in &self.pending {
            let statement = &self.statements[at];
            let operand = self.program.operands(statement.first, statement.count)[0];
            let varies = |step: &Op| matches!(step.step, Step::Name(name) if self.symbols.is_variable(name));
            let varies = match operand {
                Operand::Name(name, _) => self.symbols.is_variable(name),
                Operand::Expression(expression) => self.program.ops(expression).iter().any(varies),
                _ => false,
            };
            let value = self.evaluator.operand(&self.program, &self.symbols, operand, statement.location);
            if let (false, Ok(Value::Number(value))) = (varies, value) {
                self.symbols.settle(name, value);
                settled.insert(name);
            }
        }
        self.pending.retain(|(name, _)| !settled.contains(name));
        self.pending.len() < before
    }

    pub(super) fn evaluate(&mut self, operand: Operand) -> Result<Value, Trouble> {
        self.evaluator.operand(&self.program, &self.symbols, operand, self.location as u16)
    }

    fn define_given(&mut self, options: &Options) {
        for (spelling, value) in &options.definitions {
            let name = self.names.intern(spelling);
            self.define(name, Meaning::Constant, Worth::Known(*value), None);
        }
    }
}
