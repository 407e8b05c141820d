//! Routines: what lies between the target of a call and its returns, and whether they simply come back.

use std::collections::{BTreeMap, BTreeSet};

use super::code::Code;
use super::effect::returns;
use super::row::Row;
use crate::isa::Mnemonic;

/// A routine: the rows from its beginning to its returns, without those that it calls.
#[derive(Debug, Default)]
pub(super) struct Routine {
    /// Its rows.
    pub rows: BTreeSet<usize>,
    /// Those that return.
    pub returns: BTreeSet<usize>,
    /// Where the routines begin that it calls.
    pub calls: BTreeSet<usize>,
    /// Whether every return finds the stack as the call left it.
    pub is_regular: bool,
}

/// By how much an instruction lowers the stack, in bytes.
fn pushes(row: &Row) -> i32 {
    match row.mnemonic() {
        Mnemonic::Push => 2,
        Mnemonic::Pop => -2,
        _ => 0,
    }
}

/// Routines by the row where they begin: all that a call goes to.
pub(super) fn routines(code: &Code) -> BTreeMap<usize, Routine> {
    let calls = |row: &&Row| row.mnemonic().calls() && row.mnemonic() != Mnemonic::Rst;
    let starts: BTreeSet<_> = code.rows.iter().filter(calls).filter_map(|row| code.row_at(row.operand)).collect();
    let mut routines: BTreeMap<_, _> = starts.into_iter().map(|start| (start, routine(code, start))).collect();
    // A routine that calls an irregular one is irregular: its own words may be gone when that comes back.
    loop {
        let bad = routines.iter().find(|(_, it)| {
            it.is_regular && it.calls.iter().any(|callee| !routines.get(callee).is_some_and(|it| it.is_regular))
        });
        let Some(start) = bad.map(|(&start, _)| start) else { return routines };
        routines.entry(start).and_modify(|it| it.is_regular = false);
    }
}

/// What lies between a row and the returns that follow it.
pub(super) fn routine(code: &Code, start: usize) -> Routine {
    let mut routine = Routine { is_regular: true, ..Routine::default() };
    let mut depths: BTreeMap<usize, i32> = BTreeMap::new();
    let mut left = vec![(start, 0)];
    while let Some((number, depth)) = left.pop() {
        if let Some(&before) = depths.get(&number) {
            routine.is_regular &= before == depth;
            continue;
        }
        depths.insert(number, depth);
        routine.rows.insert(number);
        let row = &code.rows[number];
        let after = depth + pushes(row);
        routine.is_regular &= after >= 0 && !Code::moves_stack(row) && !code.changing.contains(&number);
        if returns(row.mnemonic()) {
            routine.returns.insert(number);
            routine.is_regular &= depth == 0;
        }
        let is_call = row.mnemonic().calls();
        if is_call {
            match code.row_at(row.operand).filter(|_| row.mnemonic() != Mnemonic::Rst) {
                Some(callee) => drop(routine.calls.insert(callee)),
                None => routine.is_regular = false,
            }
        }
        let on = if is_call { vec![code.row_at(row.next())] } else { code.successors(number) };
        let leaves = returns(row.mnemonic()) || row.mnemonic() == Mnemonic::Hlt;
        for next in on {
            match next {
                Some(next) => left.push((next, after)),
                None => routine.is_regular &= leaves,
            }
        }
    }
    routine
}
