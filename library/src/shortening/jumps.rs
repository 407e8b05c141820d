//! Jumps, calls and returns in fewer bytes, and tails that two places can share.

use std::ops::Range;

use super::code::Code;
use super::facts::Facts;
use super::made::Made;
use super::row::Given;
use super::row::Row;
use crate::isa::{Mnemonic, decode};

/// The fewest instructions of a tail that is shared.
const TAIL: usize = 2;

/// Why a change of jumps changes nothing else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// A jump to what follows it.
    ToNext,
    /// A jump to a return.
    ToReturn,
    /// A call with a return behind it.
    CallAndReturn,
    /// A jump over a jump.
    OverJump,
    /// A call of a routine that lies where a restart goes.
    Restart,
    /// The same instructions stand elsewhere.
    SharedTail,
    /// The same bytes lie elsewhere, and nobody writes there.
    SameData,
}

/// A change of jumps.
#[derive(Clone, Debug)]
pub(super) struct Turn {
    pub rows: Range<usize>,
    pub form: Vec<Made>,
    pub way: Way,
    pub saves: usize,
    pub states: i64,
    /// The row at which a label is needed that the form names, if it has none.
    pub label_at: Option<usize>,
}

/// What the jump in a row could be instead.
pub(super) fn turn(code: &Code, facts: &Facts, number: usize) -> Option<Turn> {
    let row = &code.rows[number];
    if !may_change(code, facts, number) {
        return None;
    }
    let to = code.row_at(row.operand);
    let is_jump = row.mnemonic().goes_to_address() && !row.mnemonic().calls();
    if is_jump && row.operand == row.next() {
        return Some(made(code, number..number + 1, Vec::new(), Way::ToNext));
    }
    if let Some(to) =
        to.filter(|&to| is_jump && code.rows[to].mnemonic() == Mnemonic::Ret && !code.changing.contains(&to))
    {
        // JMP 303, J.. 3x2; RET 311, R.. 3x0.
        let opcode = if row.mnemonic() == Mnemonic::Jmp { 0o311 } else { row.instruction.opcode - 2 };
        debug_assert!(code.rows[to].instruction.length == 1);
        return Some(made(code, number..number + 1, vec![plain(opcode)], Way::ToReturn));
    }
    call_and_return(code, facts, number).or_else(|| over_jump(code, facts, number)).or_else(|| restart(code, number))
}

/// A call of a routine of the program's own that begins where a restart goes: at 0, 10, 20 up to 70 octal.
fn restart(code: &Code, number: usize) -> Option<Turn> {
    let row = &code.rows[number];
    let fits = row.mnemonic() == Mnemonic::Call && row.operand < 0o100 && row.operand.is_multiple_of(8);
    code.row_at(row.operand).filter(|_| fits)?;
    // RST 3x7, with the number of the place in the middle digit.
    Some(made(code, number..number + 1, vec![plain(0o307 | row.operand as u8)], Way::Restart))
}

fn plain(opcode: u8) -> Made {
    Made { instruction: decode(opcode), operand: None }
}

/// An instruction with the address of another row's, as that row has it.
fn with_operand_of(opcode: u8, row: &Row) -> Option<Made> {
    Some(Made { instruction: decode(opcode), operand: Some(row.text.clone()?) })
}

fn made(code: &Code, rows: Range<usize>, form: Vec<Made>, way: Way) -> Turn {
    let (mut saves, mut states) = (0, 0);
    for row in &code.rows[rows.clone()] {
        saves += usize::from(row.instruction.length);
        states -= row.instruction.states().0 as i64;
    }
    for it in &form {
        saves -= usize::from(it.instruction.length);
        states += it.instruction.states().0 as i64;
    }
    Turn { rows, form, way, saves, states, label_at: None }
}

fn may_change(code: &Code, facts: &Facts, number: usize) -> bool {
    code.rows[number].line.is_some() && !facts.timed.contains(&number) && !code.changing.contains(&number)
}

/// CALL and RET, of a routine that leaves the stack as it found it: it returns to whoever called here.
fn call_and_return(code: &Code, facts: &Facts, number: usize) -> Option<Turn> {
    let (row, behind) = (&code.rows[number], code.rows.get(number + 1)?);
    let callee = code.row_at(row.operand)?;
    let fits = row.mnemonic() == Mnemonic::Call
        && behind.mnemonic() == Mnemonic::Ret
        && row.next() == behind.address
        && facts.regular.contains(&callee)
        && may_change(code, facts, number + 1)
        && !behind.labelled
        && !code.is_met(number + 1);
    let form = with_operand_of(0o303, row)?;
    fits.then(|| made(code, number..number + 2, vec![form], Way::CallAndReturn))
}

/// A jump with a condition over a jump, to what follows that one.
fn over_jump(code: &Code, facts: &Facts, number: usize) -> Option<Turn> {
    let (row, behind) = (&code.rows[number], code.rows.get(number + 1)?);
    let conditional = row.mnemonic().goes_to_address() && !row.mnemonic().calls() && row.mnemonic() != Mnemonic::Jmp;
    let fits = conditional
        && behind.mnemonic() == Mnemonic::Jmp
        && row.next() == behind.address
        && row.operand == behind.next()
        && may_change(code, facts, number + 1)
        && !behind.labelled
        && !code.is_met(number + 1);
    // Bit 3 of a jump with a condition is whether the flag must be set.
    let form = with_operand_of(row.instruction.opcode ^ 0o010, behind)?;
    fits.then(|| made(code, number..number + 2, vec![form], Way::OverJump))
}

/// The longest tail that ends at a row and stands elsewhere as well.
pub(super) fn shared_tail(code: &Code, facts: &Facts, end: usize) -> Option<Turn> {
    if !code.rows[end].mnemonic().ends_flow() || !may_change(code, facts, end) {
        return None;
    }
    let mut best: Option<Turn> = None;
    for other in 0..code.rows.len() {
        let length = alike(code, facts, end, other);
        // A tail shared with itself, or with one that lies over it, would go.
        let apart = other.abs_diff(end) >= length;
        if length < TAIL || !apart {
            continue;
        }
        let (rows, first) = (end + 1 - length..end + 1, other + 1 - length);
        let jump = Made {
            instruction: decode(0o303),
            operand: Some(Given {
                text: String::new(),
                value: code.rows[first].address,
                fixed: false,
                from: None,
                length: false,
            }),
        };
        let bytes: usize = code.rows[rows.clone()].iter().map(|row| usize::from(row.instruction.length)).sum();
        if bytes > 3 && best.as_ref().is_none_or(|best| bytes - 3 > best.saves) {
            let turn = Turn {
                saves: bytes - 3,
                states: jump.instruction.states().0 as i64,
                rows,
                form: vec![jump],
                way: Way::SharedTail,
                label_at: Some(first),
            };
            best = Some(turn);
        }
    }
    best
}

/// How many rows before and with two ends are the same and may become one.
fn alike(code: &Code, facts: &Facts, end: usize, other: usize) -> usize {
    let mut length = 0;
    while length <= end && length <= other {
        let (at, there) = (end - length, other - length);
        let (row, like) = (&code.rows[at], &code.rows[there]);
        let same = at != there
            && row.instruction.opcode == like.instruction.opcode
            && row.operand == like.operand
            && row.text.as_ref().map(|it| &it.text) == like.text.as_ref().map(|it| &it.text)
            && !row.text.as_ref().is_some_and(|it| it.text.contains('$'))
            && row.instruction.documented;
        // Nobody may come into the middle of the one that goes; it may be met at its first row only.
        let joins =
            length == 0 || row.next() == code.rows[at + 1].address && like.next() == code.rows[there + 1].address;
        let free = may_change(code, facts, at) && !code.changing.contains(&there) && like.line.is_some();
        let closed = length == 0 || !code.is_met(at + 1) && !code.rows[at + 1].labelled;
        if !(same && joins && free && closed) {
            break;
        }
        length += 1;
    }
    length
}
