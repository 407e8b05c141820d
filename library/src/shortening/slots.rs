//! Restarts for a routine that is called often, by way of bytes that the program fills where a restart goes.

use std::collections::BTreeMap;
use std::ops::Range;

use super::code::Code;
use super::edit::{Edit, Piece, label_of, line_of};
use super::facts::Facts;
use super::follow::follow;
use super::lines::{Fill, Lines};
use super::made::Made;
use super::outside::Outside;
use super::row::Given;
use crate::image::Image;
use crate::isa::{Mnemonic, Operands, Pair, decode};

/// A routine that could be called by restarts.
pub(super) struct Slot {
    pub edit: Edit,
    pub saves: usize,
    pub states: i64,
    /// Where the restart goes.
    pub at: u16,
    /// How many calls become restarts.
    pub calls: usize,
}

/// The bytes of the jump that stands where the restart goes.
const JUMP: u16 = 3;

/// For each routine that is called often enough, a place for a jump to it among the bytes that the program fills.
pub(super) fn slots(
    code: &Code,
    facts: &Facts,
    image: &Image,
    lines: &Lines,
    text: &str,
    outside: &Outside,
) -> Vec<Slot> {
    let fills = lines.fills(text);
    let free = fills.iter().flat_map(|fill| (0..8).map(move |number| (fill, number * 8)));
    let free: Vec<_> = free
        .filter(|(fill, at)| fill.at.contains(at) && at + JUMP <= fill.at.end && is_free(code, *at, outside))
        .filter(|(_, at)| stack_stays_off(code, &(*at..at + JUMP)))
        .collect();
    let calls: Vec<_> = callers(code, facts).into_iter().filter(|(_, rows)| 2 * rows.len() > JUMP.into()).collect();
    if free.is_empty() || calls.is_empty() {
        return Vec::new();
    }
    let Some(touched) = follow(code, facts, image) else { return Vec::new() };
    let is_off = |at: u16| !touched.reads.contains(&at) && !touched.writes.contains(&at);
    let Some((fill, at)) = free.into_iter().find(|(_, at)| (*at..at + JUMP).all(is_off)) else { return Vec::new() };
    calls.into_iter().filter_map(|(to, rows)| slot(code, text, fill, at, to, &rows)).collect()
}

/// Calls that may become restarts, by the row where their routine begins.
fn callers(code: &Code, facts: &Facts) -> BTreeMap<usize, Vec<usize>> {
    let mut calls: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (number, row) in code.rows.iter().enumerate() {
        let may_go = row.line.is_some() && !facts.timed.contains(&number) && !code.changing.contains(&number);
        if row.mnemonic() == Mnemonic::Call && may_go {
            calls.entry(code.row_at(row.operand).unwrap_or(usize::MAX)).or_default().push(number);
        }
    }
    calls.remove(&usize::MAX);
    calls
}

/// Whether no word of the program and nobody outside names the bytes of a jump at an address, or a byte below from which a
/// pointer may come there.
fn is_free(code: &Code, at: u16, outside: &Outside) -> bool {
    let bytes = at..at + JUMP;
    let names = |row: &super::row::Row| match row.instruction.operands {
        Operands::Vector(vector) => u16::from(vector) * 8 == at,
        Operands::PairWord(Pair::Sp) => false,
        Operands::PairWord(_) => row.text.as_ref().is_none_or(|it| it.fixed) && row.operand < bytes.end,
        Operands::Address => (at.saturating_sub(1)..bytes.end).contains(&row.operand),
        _ => false,
    };
    !code.rows.iter().any(names) && !outside.fixed().any(|other| bytes.contains(&other))
}

/// Whether the stack, as deep as it may be, does not come down to some bytes: it is set by numbers only, nothing is pushed
/// around and around, and no routine calls itself.
fn stack_stays_off(code: &Code, bytes: &Range<u16>) -> bool {
    let mut tops = Vec::new();
    for row in &code.rows {
        match (row.mnemonic(), row.instruction.operands) {
            (_, Operands::PairWord(Pair::Sp)) if row.text.as_ref().is_some_and(|it| it.fixed) => tops.push(row.operand),
            (Mnemonic::Sphl, _) | (_, Operands::PairWord(Pair::Sp)) => return false,
            (Mnemonic::Inx | Mnemonic::Dcx, Operands::Pair(Pair::Sp)) => return false,
            _ => {}
        }
    }
    let Some(deep) = code.entered.iter().try_fold(0, |deep, &row| Some(depth(code, row, &mut Vec::new())?.max(deep)))
    else {
        return false;
    };
    // An empty stack at 0 has its first word at the top of memory.
    let is_off = |&top: &u16| {
        let top = if top == 0 { 0x1_0000 } else { u32::from(top) };
        top <= bytes.start.into() || top >= u32::from(bytes.end) + deep
    };
    !tops.is_empty() && tops.iter().all(is_off)
}

/// How many bytes the stack may hold more, from a row on to where it returns; nothing if nobody can tell.
fn depth(code: &Code, start: usize, within: &mut Vec<usize>) -> Option<u32> {
    if within.contains(&start) {
        return None;
    }
    within.push(start);
    let mut depths: BTreeMap<usize, i32> = BTreeMap::new();
    let mut left = vec![(start, 0)];
    let mut most = 0;
    while let Some((number, depth)) = left.pop() {
        if let Some(&known) = depths.get(&number) {
            if known != depth {
                return None;
            }
            continue;
        }
        depths.insert(number, depth);
        let row = &code.rows[number];
        let after = match row.mnemonic() {
            Mnemonic::Push => depth + 2,
            Mnemonic::Pop => depth - 2,
            Mnemonic::Lxi if Code::moves_stack(row) => 0,
            _ => depth,
        };
        most = most.max(after);
        let mut next = code.successors(number);
        if row.mnemonic().calls() {
            let to = match row.instruction.operands {
                Operands::Vector(vector) => u16::from(vector) * 8,
                _ => row.operand,
            };
            let deeper = self::depth(code, code.row_at(to)?, within)?;
            most = most.max(after + 2 + deeper as i32);
            next = vec![code.row_at(row.next())];
        }
        if row.mnemonic() == Mnemonic::Pchl {
            return None;
        }
        left.extend(next.into_iter().flatten().map(|next| (next, after)));
    }
    within.pop();
    u32::try_from(most).ok()
}

/// A jump to a routine where a restart goes, and restarts for its calls.
fn slot(code: &Code, text: &str, fill: &Fill, at: u16, to: usize, calls: &[usize]) -> Option<Slot> {
    let lines: Vec<&str> = text.split('\n').collect();
    let there = code.rows[to].line?;
    // A label in a line above is as good: the calls say it.
    let said = || code.rows[calls[0]].text.as_ref().filter(|it| it.from.as_ref().is_some_and(|(_, on)| *on == 0));
    let name = label_of(lines[there]).or_else(|| Some(said()?.text.as_str()))?.to_owned();
    let given = Given { text: name, value: code.rows[to].address, fixed: false, from: None, length: false };
    let jump = Made { instruction: decode(0o303), operand: Some(given) };
    let mut new = vec![line_of("", &jump)];
    if fill.at.start < at {
        // What is filled up to the jump keeps the byte that it is filled with.
        let byte = fill.with.as_ref().map_or(String::new(), |byte| format!(",{byte}"));
        new.insert(0, format!("{:<7} STUFFTO {at}{byte}", ""));
    }
    let into = Piece { lines: fill.line..fill.line, new, form: vec![jump], instead: None, at: Some(at) };
    let restart = Made { instruction: decode(0o307 | at as u8), operand: None };
    let piece = |&row: &usize| Piece::new(text, &code.rows[row..row + 1], std::slice::from_ref(&restart));
    let mut pieces = calls.iter().map(piece).collect::<Option<Vec<_>>>()?;
    pieces.push(into);
    pieces.sort_by_key(|it| it.lines.start);
    // A restart and a jump in the place of each call.
    let states = |opcode: u8| decode(opcode).states().0 as i64;
    Some(Slot {
        edit: Edit { pieces, labels: Vec::new() },
        saves: 2 * calls.len() - usize::from(JUMP),
        states: states(0o307) + states(0o303) - states(0o315),
        at,
        calls: calls.len(),
    })
}
