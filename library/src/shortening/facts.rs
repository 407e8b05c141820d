//! What is known before each instruction, and what those behind it can tell apart.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;
use super::effect::{ALL, Effect, Places, effect, returns};
use super::made::{Made, made_of};
use super::routines::{Routine, routine, routines};
use super::state::{Known, Operand, State};
use super::timing::timed;
use super::value::{Values, Word};
use crate::isa::Mnemonic;

/// Facts of a program.
#[derive(Debug)]
pub(super) struct Facts {
    /// What is told apart behind each row: registers and flags that something may read before it writes them.
    pub live: Vec<Places>,
    /// What is known before each row.
    pub known: Vec<Known>,
    /// Rows whose time may be counted, and rows behind calls that may skip them.
    pub timed: BTreeSet<usize>,
    /// Where each return goes back to, if that is known: the rows of the calls that it may end.
    pub back: BTreeMap<usize, BTreeSet<usize>>,
    /// Routines that leave the stack as they found it, by the row where they begin.
    pub regular: BTreeSet<usize>,
    /// Addresses behind calls whose bytes a routine may take by way of its return address.
    pub taken: BTreeSet<u16>,
}

impl Facts {
    pub fn new(code: &Code) -> Facts {
        let mut values = Values::default();
        let effects: Vec<_> = code.rows.iter().map(|row| effect(&mut values, row.instruction)).collect();
        let routines = routines(code);
        let skipped = skipped(code, &routines);
        let back = back(code, &routines);
        let live = live(code, &effects, &routines, &back);
        let mut timed = timed(code, &effects, &routines, &live);
        let known = known(code, &effects, &routines, &skipped);
        timed.extend(skipped);
        let regular = routines.iter().filter(|(_, it)| it.is_regular).map(|(&row, _)| row).collect();
        let taken = taken(code, &regular);
        Facts { live, known, timed, back, regular, taken }
    }
}

/// The callers of each routine: rows of calls by the row where the routine begins.
fn callers(code: &Code) -> BTreeMap<usize, Vec<usize>> {
    let mut callers: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, row) in code.rows.iter().enumerate() {
        if row.mnemonic().calls() && row.mnemonic() != Mnemonic::Rst {
            callers.entry(code.row_at(row.operand).unwrap_or(usize::MAX)).or_default().push(number);
        }
    }
    callers
}

/// Returns of which it is not known where they go: those that a hand may reach without a call, and those of irregular
/// routines.
fn unknown_returns(code: &Code, routines: &BTreeMap<usize, Routine>) -> BTreeSet<usize> {
    let mut unknown: BTreeSet<_> =
        routines.values().filter(|it| !it.is_regular).flat_map(|it| it.returns.iter().copied()).collect();
    for &start in code.entered.iter().chain(&code.changing) {
        unknown.extend(routine(code, start).returns);
    }
    unknown
}

/// Where each return goes back to, if that is known: behind the calls of all routines that it ends.
fn back(code: &Code, routines: &BTreeMap<usize, Routine>) -> BTreeMap<usize, BTreeSet<usize>> {
    let callers = callers(code);
    let unknown = unknown_returns(code, routines);
    let mut back: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    for (start, routine) in routines.iter().filter(|(_, it)| it.is_regular) {
        for &number in routine.returns.difference(&unknown) {
            back.entry(number).or_default().extend(callers.get(start).into_iter().flatten());
        }
    }
    back
}

fn live(
    code: &Code,
    effects: &[Effect],
    routines: &BTreeMap<usize, Routine>,
    back: &BTreeMap<usize, BTreeSet<usize>>,
) -> Vec<Places> {
    let count = code.rows.len();
    let (mut before, mut behind) = (vec![0; count], vec![0; count]);
    loop {
        let mut changed = false;
        for number in (0..count).rev() {
            let row = &code.rows[number];
            let at = |next: Option<usize>, before: &[Places]| next.map_or(ALL, |next| before[next]);
            let mut out = 0;
            for next in code.successors(number) {
                out |= match next {
                    Some(next) => before[next],
                    None if returns(row.mnemonic()) && back.contains_key(&number) => {
                        let callers = &back[&number];
                        callers.iter().fold(0, |all, &caller| all | at(code.row_at(code.rows[caller].next()), &before))
                    }
                    // Nothing comes behind a halt but a start that expects nothing.
                    None if row.mnemonic() == Mnemonic::Hlt => 0,
                    None => ALL,
                };
            }
            if row.mnemonic().calls() {
                let regular =
                    code.row_at(row.operand).and_then(|start| routines.get(&start)).is_some_and(|it| it.is_regular);
                if !regular || row.mnemonic() == Mnemonic::Rst {
                    out = ALL;
                }
            }
            let Effect { reads, writes } = effects[number];
            let within = if code.changing.contains(&number) { ALL } else { reads | out & !writes };
            changed |= behind[number] != out || before[number] != within;
            (behind[number], before[number]) = (out, within);
        }
        if !changed {
            return behind;
        }
    }
}

/// What each routine may write, calls included.
fn modified(effects: &[Effect], routines: &BTreeMap<usize, Routine>) -> BTreeMap<usize, Places> {
    let own = |it: &Routine| it.rows.iter().fold(0, |all, &row| all | effects[row].writes);
    let mut modified: BTreeMap<_, _> =
        routines.iter().map(|(&start, it)| (start, if it.is_regular { own(it) } else { ALL })).collect();
    loop {
        let mut changed = false;
        for (start, routine) in routines {
            let more = routine.calls.iter().fold(0, |all, callee| all | modified.get(callee).copied().unwrap_or(ALL));
            let entry = modified.entry(*start).or_default();
            changed |= *entry | more != *entry;
            *entry |= more;
        }
        if !changed {
            return modified;
        }
    }
}

fn known(
    code: &Code,
    effects: &[Effect],
    routines: &BTreeMap<usize, Routine>,
    skipped: &BTreeSet<usize>,
) -> Vec<Known> {
    let modified = modified(effects, routines);
    let mut known: Vec<Option<Known>> = vec![None; code.rows.len()];
    let mut left: Vec<usize> = Vec::new();
    let meet = |known: &mut Vec<Option<Known>>, left: &mut Vec<usize>, row: usize, with: Known| {
        let met = match known[row] {
            None => with,
            Some(before) => std::array::from_fn(|code| before[code].filter(|_| before[code] == with[code])),
        };
        if known[row] != Some(met) {
            known[row] = Some(met);
            left.push(row);
        }
    };
    // Where a routine may come back further on, what stands before it there may not have run.
    for &row in code.entered.iter().chain(&code.changing).chain(skipped) {
        meet(&mut known, &mut left, row, Known::default());
    }
    loop {
        while let Some(number) = left.pop() {
            let row = &code.rows[number];
            let before = known[number].unwrap_or_default();
            let after = if code.changing.contains(&number) {
                Known::default()
            } else {
                after(&made_of(row), effects[number], before)
            };
            for next in code.successors(number).into_iter().flatten() {
                meet(&mut known, &mut left, next, after);
            }
            if row.mnemonic().calls() {
                let callee = code.row_at(row.operand).filter(|_| row.mnemonic() != Mnemonic::Rst);
                let places = callee.and_then(|callee| modified.get(&callee)).copied().unwrap_or(ALL);
                let kept = std::array::from_fn(|code| after[code].filter(|_| places >> code & 1 == 0));
                if let Some(next) = code.row_at(row.next()) {
                    meet(&mut known, &mut left, next, kept);
                }
            }
        }
        // What nobody is seen to reach may be reached all the same.
        let Some(unseen) = known.iter().position(Option::is_none) else { break };
        meet(&mut known, &mut left, unseen, Known::default());
    }
    known.into_iter().map(Option::unwrap_or_default).collect()
}

/// What is known behind an instruction.
pub(super) fn after(made: &Made, effect: Effect, before: Known) -> Known {
    let mut values = Values::default();
    let mut state = State::start(&mut values, &before);
    let number = made.operand.as_ref().filter(|it| it.fixed).map(|it| it.value.to_be_bytes());
    let operand = match number {
        Some([high, low]) => Operand { high: values.byte(high), low: values.byte(low) },
        None => Operand { high: values.word(Word::default(), true), low: values.word(Word::default(), false) },
    };
    match state.run(&mut values, made.instruction, Some(operand)) {
        Some(()) => std::array::from_fn(|code| values.known_byte(state.registers[code])),
        None => std::array::from_fn(|code| before[code].filter(|_| effect.writes >> code & 1 == 0)),
    }
}

/// Addresses behind calls whose bytes a routine may take: data at once behind any call, and what is in reach of a routine that
/// does not simply come back.
fn taken(code: &Code, regular: &BTreeSet<usize>) -> BTreeSet<u16> {
    let mut taken = BTreeSet::new();
    for row in code.rows.iter().filter(|row| row.mnemonic().calls()) {
        let callee = code.row_at(row.operand).filter(|_| row.mnemonic() != Mnemonic::Rst);
        let comes_back = callee.is_some_and(|callee| regular.contains(&callee));
        let reach = (0..REACH).map(|on| row.next().wrapping_add(on));
        taken.extend(reach.take_while(|&at| !comes_back || code.row_over(at).is_none()));
    }
    taken
}

/// Rows behind calls of routines that do not simply come back: they may skip bytes there, or take them.
fn skipped(code: &Code, routines: &BTreeMap<usize, Routine>) -> BTreeSet<usize> {
    let mut skipped = BTreeSet::new();
    for row in code.rows.iter().filter(|row| row.mnemonic().calls()) {
        let callee = code.row_at(row.operand).filter(|_| row.mnemonic() != Mnemonic::Rst);
        if callee.and_then(|callee| routines.get(&callee)).is_some_and(|it| it.is_regular) {
            continue;
        }
        let within = |other: &&super::row::Row| other.address.wrapping_sub(row.next()) < REACH;
        skipped.extend(code.rows.iter().filter(within).filter_map(|other| code.row_at(other.address)));
    }
    skipped
}

/// Bytes behind a call that a routine may skip or take.
const REACH: u16 = 16;
