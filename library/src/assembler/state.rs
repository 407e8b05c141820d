//! What pass one knows while it reads: names, frames, the location, what it keeps; and what every line needs of it.

use std::collections::HashSet;
use std::num::NonZeroU32;
use std::sync::Arc;

use super::bounds::{Bounds, Claim};
use super::evaluate::{Cause, Evaluator, Trouble, Value, offsets};
use super::frames::Frames;
use super::loader::Loader;
use super::location::Location;
use super::macros::Macro;
use super::regions::Region;
use super::statement::{ListedLine, Statement, Task};
use super::symbols::{Meaning, Symbols, Worth};
use super::trouble::{self, Need};
use crate::source::{Diagnostics, SourceId, SourceMap, Span};
use crate::syntax::{Habit, Keyword, Line, NameId, Names, Op, Operand, Program, Relocation, Step};

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

/// What pass one knows so far, and leaves behind for pass two.
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
    /// Whether every line is kept for a listing.
    pub keep_lines: bool,
    pub frames: Frames,
    /// Macros, with where their bodies begin.
    pub macros: Vec<Arc<Macro>>,
    pub location: Location,
    pub regions: Vec<Region>,
    pub evaluator: Evaluator,
    /// How many local names the expansions have so far.
    pub local_names: u32,
    bounds: Bounds,
    pub missing: Vec<Missing>,
    pub controls: Vec<Span>,
    /// Habits of other hands that are no matter of grammar alone.
    pub habits: Vec<(Habit, Span)>,
    /// How many constants have been looked at to settle them early.
    settle_work: usize,
    /// Labels that stand alone and look like a misspelt operation, with what they are near to.
    pub doubtful: Vec<(NameId, Span, String)>,
    /// Marks of relocatable programs, each with the number of the next statement.
    pub relocations: Vec<(Span, Relocation, usize)>,
}

impl<'a> PassOne<'a> {
    /// Nothing read yet of the text `root`.
    pub fn new(
        sources: &'a mut SourceMap,
        root: SourceId,
        keep_lines: bool,
        loader: &'a mut dyn Loader,
    ) -> PassOne<'a> {
        let expected = sources.get(root).text().len() / BYTES_PER_LINE;
        PassOne {
            sources,
            loader,
            names: Names::default(),
            program: Program::with_capacity(expected),
            symbols: Symbols::with_capacity(expected / LINES_PER_NAME),
            statements: Vec::with_capacity(expected),
            lines: Vec::with_capacity(if keep_lines { expected } else { 0 }),
            diagnostics: Diagnostics::default(),
            pending: Vec::new(),
            embedded: Vec::new(),
            keep_lines,
            frames: Frames::default(),
            macros: Vec::new(),
            location: Location::default(),
            regions: Vec::new(),
            evaluator: Evaluator::default(),
            local_names: 0,
            bounds: Bounds::default(),
            missing: Vec::new(),
            controls: Vec::new(),
            habits: Vec::new(),
            settle_work: 0,
            doubtful: Vec::new(),
            relocations: Vec::new(),
        }
    }
}

impl PassOne<'_> {
    /// Defines a name once; without a place it is one from the command line. Returns false if that is an error.
    pub fn define(&mut self, name: NameId, meaning: Meaning, worth: Worth, at: Option<Span>) -> bool {
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
    pub fn may_name(&mut self, name: NameId, at: Option<Span>) -> bool {
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
    #[inline]
    pub fn keep(&mut self, place: Place, line: &Line, task: Task) {
        self.statements.push(Statement {
            source: place.source,
            word: line.word,
            location: self.location.here(),
            shift: self.location.shift as u16,
            task,
            first: line.first,
            count: line.count,
        });
        if let Some(listed) = self.lines.last_mut() {
            listed.statement = NonZeroU32::new(self.statements.len() as u32);
        }
    }

    /// Moves the location on over the bytes of a line.
    #[inline]
    pub fn advance(&mut self, place: Place, line: &Line, bytes: u32) {
        self.location.advance(place.span(line.word), bytes);
    }

    /// The value of an operand that pass one must know, or `None` after noting what is missing.
    pub fn value_now(&mut self, place: Place, operand: Operand, needs: &'static str) -> Option<u16> {
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

    pub fn evaluate(&mut self, operand: Operand) -> Result<Value, Trouble> {
        self.evaluator.operand(&self.program, &self.symbols, operand, self.location.here())
    }

    /// The first operand of a line, which the parser has seen to it that there is.
    pub fn operand(&self, line: &Line) -> Operand {
        self.program.operands(line.first, line.count)[0]
    }

    /// The operands of a line, copied out so that the pass can change while they are looked at.
    pub fn operands(&self, line: &Line) -> Vec<Operand> {
        self.program.operands(line.first, line.count).to_vec()
    }

    /// Whether nothing is known of a name, so that it can be a label.
    pub fn is_free(&self, name: NameId) -> bool {
        name.keyword().is_none() && self.symbols.get(name).is_none()
    }

    /// Counts a habit.
    pub fn habit(&mut self, habit: Habit, at: Span) {
        self.habits.push((habit, at));
    }

    /// Whether what is about to be read or made is within its bound; if not, that is an error and all expansions end.
    pub fn affords(&mut self, span: Span, claim: Claim) -> bool {
        let Some(problem) = self.bounds.claim(span, claim) else { return true };
        self.diagnostics.push(problem);
        self.frames.leave_all_expansions();
        false
    }
}
