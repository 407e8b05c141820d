//! Instructions that stand apart and can become one: the first and the last of a run, with what stands between them left
//! as it is. What is found is proved for the whole run.

use std::ops::Range;

use super::asked::Search;
use super::code::Code;
use super::effect::{Effect, Places, effect};
use super::facts::{Facts, after};
use super::made::{Made, made_of};
use super::search::{Shorter, Window, may_go, runs_on};
use super::state::Known;
use super::value::Values;
use crate::isa::{CycleKind, Instruction, Mnemonic, Operands, decode};

/// Instructions between the first and the last, the most.
const BETWEEN: usize = 8;

/// The best that becomes of a row and one behind it.
pub(super) fn gathered(code: &Code, facts: &Facts, first: usize, search: &Search) -> Option<Shorter> {
    if !may_go(code, facts, first) {
        return None;
    }
    let mut best: Option<Shorter> = None;
    for last in first + 2..=first + 1 + BETWEEN {
        let rows = first..last + 1;
        if rows.end > code.rows.len() || !runs_on(code, &rows) || !is_open(code, facts, last - 1) {
            break;
        }
        if !may_go(code, facts, last) {
            continue;
        }
        let Some(run) = Apart::new(code, facts, rows, search) else { break };
        let found = [run.brought_up(), run.brought_down()].into_iter().flatten();
        let better = |best: &Option<Shorter>, it: &Shorter| best.as_ref().is_none_or(|best| it.saves > best.saves);
        for it in found {
            if better(&best, &it) {
                best = Some(it);
            }
        }
    }
    best
}

/// A row that loads a pair, in fewer bytes by what the run before it left in registers.
pub(super) fn counted_on(code: &Code, facts: &Facts, last: usize) -> Option<Shorter> {
    let Operands::PairWord(pair) = code.rows[last].instruction.operands else { return None };
    if !may_go(code, facts, last) {
        return None;
    }
    let mut first = last;
    while first > 0
        && last - first < BETWEEN
        && runs_on(code, &(first - 1..last + 1))
        && is_open(code, facts, first - 1)
    {
        first -= 1;
    }
    let rows = first..last + 1;
    let whole = Window::new(code, facts, rows).filter(|_| first < last)?;
    let before: Vec<_> = (first..last).map(|number| made_of(&code.rows[number])).collect();
    let plain = |opcode: u8| Made { instruction: decode(opcode), operand: None };
    // INX 0x3, DCX 0xB with the pair in bits 5 and 4.
    let at = pair.code() << 4;
    let mut forms = vec![Vec::new(), vec![plain(0o003 | at)], vec![plain(0o013 | at)]];
    // MOV of both registers of another pair: 01 to from.
    let to = pair.code() * 2;
    let others = (0..3).filter(|&other| other * 2 != to);
    let moved = |from: u8| vec![plain(0o100 | to << 3 | from), plain(0o100 | (to + 1) << 3 | (from + 1))];
    forms.extend(others.filter(|_| to < 6).map(|other| moved(other * 2)));
    for form in forms {
        let all: Vec<&Made> = before.iter().chain(&form).collect();
        if whole.is_proved(&all) {
            let found = whole.shorter(all.into_iter().cloned().collect());
            return Some(Shorter { pieces: vec![(last..last + 1, form)], ..found });
        }
    }
    None
}

/// Whether a row may stand between: it runs straight on or works a port, and its time is not counted.
fn is_open(code: &Code, facts: &Facts, number: usize) -> bool {
    let row = &code.rows[number];
    let port = matches!(row.mnemonic(), Mnemonic::In | Mnemonic::Out) && row.text.is_some();
    may_go(code, facts, number) || port && !facts.timed.contains(&number) && !code.changing.contains(&number)
}

/// A run whose first and last instruction are brought together.
struct Apart<'a> {
    search: &'a Search,
    rows: Range<usize>,
    whole: Window<'a>,
    run: Vec<Made>,
    effects: Vec<Effect>,
    known: &'a Known,
    live: Places,
}

impl Apart<'_> {
    fn new<'a>(code: &Code, facts: &'a Facts, rows: Range<usize>, search: &'a Search) -> Option<Apart<'a>> {
        let mut values = Values::default();
        let run: Vec<_> = rows.clone().map(|number| made_of(&code.rows[number])).collect();
        let effects = run.iter().map(|it| effect(&mut values, it.instruction)).collect();
        let (known, live) = (&facts.known[rows.start], facts.live[rows.end - 1]);
        Some(Apart { search, whole: Window::new(code, facts, rows.clone())?, rows, run, effects, known, live })
    }

    fn between(&self) -> Range<usize> {
        1..self.run.len() - 1
    }

    /// Whether an instruction of the run can change places with all that stands between.
    fn is_free(&self, at: usize) -> bool {
        let Effect { reads, writes } = self.effects[at];
        let accesses = works_bus(self.run[at].instruction);
        self.between().all(|other| {
            let Effect { reads: read, writes: written } = self.effects[other];
            let apart = reads & written == 0 && writes & (read | written) == 0;
            apart && !(accesses && works_bus(self.run[other].instruction))
        })
    }

    /// The last one brought up to the first.
    fn brought_up(&self) -> Option<Shorter> {
        if !self.is_free(self.run.len() - 1) {
            return None;
        }
        let told_apart = |live: Places, at: usize| self.effects[at].reads | live & !self.effects[at].writes;
        let live = self.between().rev().fold(self.live, told_apart);
        let form = self.form_of_both(self.known, live)?;
        let all: Vec<&Made> = form.iter().chain(&self.run[self.between()]).collect();
        self.proved(&all, [form.clone(), Vec::new()])
    }

    /// The first one brought down to the last.
    fn brought_down(&self) -> Option<Shorter> {
        if !self.is_free(0) {
            return None;
        }
        let known = self.between().fold(*self.known, |known, at| after(&self.run[at], self.effects[at], known));
        let form = self.form_of_both(&known, self.live)?;
        let all: Vec<&Made> = self.run[self.between()].iter().chain(&form).collect();
        self.proved(&all, [Vec::new(), form.clone()])
    }

    /// One instruction, or none, for the first and the last.
    fn form_of_both(&self, known: &Known, live: Places) -> Option<Vec<Made>> {
        let pair = vec![self.run[0].clone(), self.run[self.run.len() - 1].clone()];
        let found = self.search.form(&Window::of(self.rows.clone(), pair, known, live)?, 1)?;
        found.pieces.into_iter().next().map(|(_, form)| form)
    }

    fn proved(&self, all: &[&Made], [first, last]: [Vec<Made>; 2]) -> Option<Shorter> {
        if !self.whole.is_proved(all) {
            return None;
        }
        let found = self.whole.shorter(all.iter().map(|&it| it.clone()).collect());
        let Range { start, end } = self.rows;
        Some(Shorter { pieces: vec![(start..start + 1, first), (end - 1..end, last)], ..found })
    }
}

/// Whether an instruction moves a byte besides its own over the bus.
fn works_bus(instruction: &Instruction) -> bool {
    use CycleKind as K;
    let of = |kinds: &[K]| instruction.cycles.iter().filter(|cycle| kinds.contains(&cycle.kind)).count();
    let others = of(&[K::Write, K::StackRead, K::StackWrite, K::Input, K::Output]);
    others > 0 || of(&[K::Fetch, K::Read]) > usize::from(instruction.length)
}
