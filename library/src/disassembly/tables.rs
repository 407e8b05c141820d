//! Tables of addresses: where a jump over HL goes, and addresses among data.

use super::bytes::Decoded;
use super::flow::{Flow, Leap};
use super::hints::Kind;
use super::marks::{Mark, Uses};
use super::plausible;
use crate::isa::{Mnemonic, Operands, Pair, Register};

/// How many instructions before a jump over HL are looked at.
const BEFORE: usize = 28;

/// The most entries of a table.
const MOST: usize = 256;

/// How entries may lie in a table: bytes from one to the next, and where in each the address lies.
const SHAPES: [(usize, usize); 5] = [(2, 0), (3, 1), (3, 0), (4, 2), (4, 0)];

/// A table of addresses.
struct Table {
    at: usize,
    stride: usize,
    offset: usize,
    targets: Vec<usize>,
}

/// Looks at all jumps over registers that were found; whether any led further.
pub fn follow(flow: &mut Flow) -> bool {
    let leaps = std::mem::take(&mut flow.leaps);
    let mut found = false;
    for leap in leaps {
        found |= leap_over(flow, leap);
    }
    found
}

/// The instructions before an address, the nearest first.
fn before(flow: &Flow, at: usize) -> Vec<(usize, Decoded)> {
    let mut found = Vec::new();
    let mut at = at;
    while found.len() < BEFORE {
        let Some(first) = at.checked_sub(1).and_then(|last| flow.marks.instruction_of(last)) else { break };
        let Some(decoded) = flow.bytes.decode(first).filter(|decoded| first + decoded.length() == at) else { break };
        found.push((first, decoded));
        at = first;
    }
    found
}

fn leap_over(flow: &mut Flow, Leap { at }: Leap) -> bool {
    let before = before(flow, at);
    let returns = flow.bytes.decode(at).is_some_and(|decoded| decoded.instruction.mnemonic == Mnemonic::Ret);
    let pushed = || before.first().is_some_and(|(_, decoded)| decoded.instruction.mnemonic == Mnemonic::Push);
    if returns && !pushed() {
        return false;
    }
    let (mut reads, mut adds, mut mask, mut found) = (0, false, None, false);
    for (lies, decoded) in before {
        match (decoded.instruction.mnemonic, decoded.instruction.operands) {
            (Mnemonic::Mov, Operands::Registers(_, Register::M)) | (Mnemonic::Ldax, _) => reads += 1,
            (Mnemonic::Dad, _) => adds = true,
            (Mnemonic::Ani, _) => mask = mask.or(Some(usize::from(decoded.operand) + 1)),
            (Mnemonic::Lhld, _) => {
                let table = flow.places.lies_at(flow.bytes, lies, decoded.operand);
                return reads == 0 && table.is_some_and(|table| take(flow, table, Some(1), 1));
            }
            (Mnemonic::Lxi, Operands::PairWord(pair)) if pair != Pair::Sp => {
                let Some(table) = flow.places.lies_at(flow.bytes, lies, decoded.operand) else { continue };
                match (reads, adds) {
                    (0, true) => return jumps(flow, table, true),
                    // A place to come back to; what HL holds may come from a table before it.
                    (0, false) if plausible::begins(flow, table) => found |= jumps(flow, table, false),
                    (0, false) => {}
                    _ => return found | take(flow, table, mask, if found { 2 } else { 1 }),
                }
            }
            _ => {}
        }
    }
    found
}

/// Execution goes to a fixed address, or to one of the jumps that lie there one behind the other.
fn jumps(flow: &mut Flow, table: usize, several: bool) -> bool {
    let new = flow.marks.at(table) == Mark::Unknown;
    flow.enter(table, Uses::JUMPED);
    let is_jump =
        |flow: &Flow, at: usize| flow.readable(at).is_some_and(|decoded| decoded.instruction.mnemonic == Mnemonic::Jmp);
    let mut at = table;
    while several && is_jump(flow, at) {
        flow.enter(at, Uses::LISTED);
        at += 3;
    }
    flow.follow();
    new
}

/// Takes what lies at an address as a table of so many entries, in the shape that fits best.
fn take(flow: &mut Flow, at: usize, most: Option<usize>, least: usize) -> bool {
    let shapes = SHAPES.iter().map(|&(stride, offset)| read(flow, at, stride, offset, most.unwrap_or(MOST)));
    // Of equals the first, which is the simplest.
    let best = shapes.reduce(|best, table| if table.targets.len() > best.targets.len() { table } else { best });
    match best {
        Some(table) if table.targets.len() >= least => enter(flow, &table),
        _ => false,
    }
}

fn enter(flow: &mut Flow, table: &Table) -> bool {
    for (number, target) in table.targets.iter().enumerate() {
        let entry = table.at + number * table.stride;
        flow.marks.set(entry..entry + table.stride, Mark::Plain(Kind::Data));
        let word = entry + table.offset;
        flow.marks.set_words(word..word + 2, Kind::Addresses);
        flow.enter(*target, Uses::LISTED);
    }
    flow.follow();
    true
}

/// The entries of a table, as far as they can be addresses of code.
fn read(flow: &Flow, at: usize, stride: usize, offset: usize, most: usize) -> Table {
    let mut table = Table { at, stride, offset, targets: Vec::new() };
    // What the entries lead to lies behind the table or before it, not in it.
    let mut end = usize::MAX;
    for number in 0..most.min(MOST) {
        let entry = at + number * stride;
        let known = |at: usize| flow.marks.at(at) != Mark::Unknown;
        if entry + stride > end || (entry..entry + stride).any(known) {
            break;
        }
        if number > 0 && flow.marks.uses(entry).any(Uses::EXECUTED) {
            break;
        }
        let target = flow.bytes.word(entry + offset).and_then(|word| flow.places.lies_at(flow.bytes, at, word));
        let Some(target) = target.filter(|target| leads_to_code(flow, *target)) else { break };
        if (at..entry + stride).contains(&target) {
            break;
        }
        if target > at {
            end = end.min(target);
        }
        table.targets.push(target);
    }
    table
}

fn leads_to_code(flow: &Flow, at: usize) -> bool {
    match flow.marks.at(at) {
        Mark::Start => true,
        Mark::Unknown => plausible::begins(flow, at),
        _ => false,
    }
}

/// Marks tables of addresses among bytes that are not known: three words or more, one behind the other, that all lead to
/// instructions. `from` are places where one may begin.
pub fn among_data(flow: &mut Flow, from: &[usize]) -> bool {
    let mut found = false;
    for &at in from {
        if flow.marks.at(at) != Mark::Unknown || !flow.marks.uses(at).is_some() {
            continue;
        }
        let table = read(flow, at, 2, 0, MOST);
        let sure = table.targets.iter().filter(|target| flow.marks.at(**target) == Mark::Start).count();
        if table.targets.len() >= 2 && sure * 2 > table.targets.len() {
            found |= enter(flow, &table);
        }
    }
    found
}

/// Where a hint says that addresses lie, execution may go to each.
pub fn told(flow: &mut Flow, first: usize, last: usize) {
    for at in (first..=last).step_by(2) {
        let word = if at < last { flow.bytes.word(at) } else { None };
        if let Some(target) = word.and_then(|word| flow.places.lies_at(flow.bytes, at, word)) {
            flow.marks.note(target, Uses::LISTED);
        }
    }
}
