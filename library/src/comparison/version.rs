//! Another version of the same source: what was put in and taken out, and addresses that moved with it.

use std::collections::HashMap;

use super::estimate::{Estimate, place, price};
use super::sides::Side;
use crate::isa::decode;
use crate::notation::Address;

/// Bytes that were put in or taken out at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edit {
    /// Where it is on the first side.
    pub first: Address,
    /// Where it is on the second side.
    pub second: Address,
    /// Bytes of the first side that are no longer there.
    pub removed: usize,
    /// Bytes of the second side that are new.
    pub inserted: usize,
}

/// Bytes that are compared at once to find what belongs together.
const PIECE: usize = 6;

/// The most edits of a version; with more there is little that the two have in common.
const MOST: usize = 200;

/// What stands for an address in an instruction, which may differ.
const OPEN: u16 = 256;

/// One side in the order of addresses, and the same with the addresses in instructions left open.
struct Line {
    at: Vec<usize>,
    bytes: Vec<u8>,
    open: Vec<u16>,
}

impl Line {
    fn of(side: &Side) -> Line {
        let at = side.addresses();
        let bytes: Vec<u8> = at.iter().filter_map(|at| side.get(*at)).collect();
        let mut open: Vec<u16> = bytes.iter().map(|byte| (*byte).into()).collect();
        let mut here = 0;
        while here < bytes.len() {
            let length = usize::from(decode(bytes[here]).length);
            if length == 3 && here + 2 < bytes.len() {
                open[here + 1..here + 3].fill(OPEN);
            }
            here += length;
        }
        Line { at, bytes, open }
    }

    fn len(&self) -> usize {
        self.bytes.len()
    }
}

/// A stretch that both have: where it begins in each, and how long it is.
#[derive(Clone, Copy, Debug)]
struct Block {
    first: usize,
    second: usize,
    length: usize,
}

/// What makes the second side of the first, as a list of edits, and the bytes that it explains.
pub fn version(first: &Side, second: &Side) -> Option<(Vec<Edit>, Estimate)> {
    let (one, other) = (Line::of(first), Line::of(second));
    let blocks = blocks(&one, &other);
    let count = other.len();
    if blocks.is_empty() || blocks.len() > MOST {
        return None;
    }
    let mut estimate = Estimate { bits: 8.0, explained: Vec::new() };
    let mut edits = Vec::new();
    let (mut here, mut there) = (0, 0);
    for block in blocks.iter().copied().chain([Block { first: one.len(), second: other.len(), length: 0 }]) {
        let (removed, inserted) = (block.first - here, block.second - there);
        if removed + inserted > 0 {
            gap(&one, &other, (here, removed), (there, inserted), &mut edits, &mut estimate, count);
        }
        aligned(&one, &other, block, &blocks, &mut estimate);
        (here, there) = (block.first + block.length, block.second + block.length);
    }
    edits.iter().any(|edit| edit.removed != edit.inserted).then_some((edits, estimate))
}

/// What lies between two stretches that both have.
fn gap(
    one: &Line,
    other: &Line,
    (here, removed): (usize, usize),
    (there, inserted): (usize, usize),
    edits: &mut Vec<Edit>,
    estimate: &mut Estimate,
    count: usize,
) {
    let new = &other.bytes[there..there + inserted];
    let uniform = |bytes: &[u8]| bytes.windows(2).all(|pair| pair[0] == pair[1]);
    estimate.explained.extend(&other.at[there..there + inserted]);
    // Behind the end of a program an empty part goes on.
    let filler = there + inserted == other.len() && uniform(new) && uniform(&one.bytes[here..here + removed]);
    estimate.bits += 2.0 * place(count) + if filler { 8.0 } else { 8.0 * inserted as f64 };
    if !filler {
        let at = |line: &Line, at: usize| match line.at.get(at) {
            Some(at) => Address(*at as u16),
            None => Address(line.at.last().map_or(0, |last| *last as u16).wrapping_add(1)),
        };
        edits.push(Edit { first: at(one, here), second: at(other, there), removed, inserted });
    }
}

/// Bytes of a stretch that both have: the same, or an address that moved with what it means.
fn aligned(one: &Line, other: &Line, block: Block, blocks: &[Block], estimate: &mut Estimate) {
    let mut at = 0;
    while at < block.length {
        let (here, there) = (block.first + at, block.second + at);
        if one.bytes[here] == other.bytes[there] {
            estimate.explained.push(other.at[there]);
            at += 1;
            continue;
        }
        // Its low byte may be the same by chance.
        let start = [at, at.wrapping_sub(1)]
            .into_iter()
            .find(|start| *start < block.length && moved_with(one, other, block, *start, blocks));
        match start {
            Some(start) => {
                estimate.bits += 1.0;
                estimate.explained.extend([other.at[there]]);
                if start == at {
                    estimate.explained.push(other.at[there + 1]);
                }
                at = start + 2;
            }
            None => {
                estimate.bits += price(other.len());
                at += 1;
            }
        }
    }
}

/// Whether a word of a stretch is an address that moved as what it means moved.
fn moved_with(one: &Line, other: &Line, block: Block, start: usize, blocks: &[Block]) -> bool {
    if start + 1 >= block.length {
        return false;
    }
    let word = |line: &Line, at: usize| u16::from_le_bytes([line.bytes[at], line.bytes[at + 1]]);
    let (was, is) = (word(one, block.first + start), word(other, block.second + start));
    blocks.iter().any(|target| {
        let Some(last) = target.length.checked_sub(1) else { return false };
        let (from, to) = (one.at[target.first], one.at[target.first + last]);
        let inside = (from..=to + 1).contains(&usize::from(was));
        inside && usize::from(is) == other.at[target.second] + usize::from(was) - from
    })
}

/// The stretches that both have, in the order of both.
fn blocks(one: &Line, other: &Line) -> Vec<Block> {
    let chain = chain(&anchors(one, other));
    let mut blocks: Vec<Block> = Vec::new();
    for (first, second) in chain {
        match blocks.last_mut() {
            // The same distance: the same stretch, whatever is between.
            Some(block) if first - block.first == second - block.second => block.length = first + PIECE - block.first,
            _ => blocks.push(Block { first, second, length: PIECE }),
        }
    }
    // A stretch that one piece alone speaks for is believed only if it is long.
    blocks.retain(|block| block.length > PIECE + 2);
    // What both begin with, however short, is no edit.
    if let Some(before) = blocks.first().map(|first| first.first.min(first.second)) {
        let length = (0..before).take_while(|at| same(one, other, *at, *at)).count();
        if length > 0 {
            blocks.insert(0, Block { first: 0, second: 0, length });
        }
    }
    meet(one, other, &mut blocks);
    blocks
}

/// Lets each stretch grow up to where the bytes differ, first forwards and then backwards.
fn meet(one: &Line, other: &Line, blocks: &mut Vec<Block>) {
    for at in 0..blocks.len() {
        let next = blocks.get(at + 1).map_or((one.len(), other.len()), |next| (next.first, next.second));
        let block = &mut blocks[at];
        // Where the next one begins before this one ends, both claim the same bytes.
        let room = (next.0.saturating_sub(block.first)).min(next.1.saturating_sub(block.second));
        block.length = block.length.min(room);
        while block.length < room && same(one, other, block.first + block.length, block.second + block.length) {
            block.length += 1;
        }
    }
    for at in 0..blocks.len() {
        let before = match at {
            0 => (0, 0),
            _ => (blocks[at - 1].first + blocks[at - 1].length, blocks[at - 1].second + blocks[at - 1].length),
        };
        let block = &mut blocks[at];
        while block.first > before.0 && block.second > before.1 && same(one, other, block.first - 1, block.second - 1) {
            *block = Block { first: block.first - 1, second: block.second - 1, length: block.length + 1 };
        }
    }
    blocks.retain(|block| block.length > 0);
}

fn same(one: &Line, other: &Line, first: usize, second: usize) -> bool {
    one.open[first] == other.open[second]
}

/// Pieces that stand once on each side.
fn anchors(one: &Line, other: &Line) -> Vec<(usize, usize)> {
    let once = |line: &Line| {
        let mut found: HashMap<[u16; PIECE], Option<usize>> = HashMap::new();
        for at in 0..line.len().saturating_sub(PIECE - 1) {
            if let Ok(piece) = line.open[at..at + PIECE].try_into() {
                found.entry(piece).and_modify(|known| *known = None).or_insert(Some(at));
            }
        }
        found
    };
    let (ours, theirs) = (once(one), once(other));
    let both = theirs.iter().filter_map(|(piece, second)| Some((ours.get(piece).copied()??, (*second)?)));
    let mut anchors: Vec<_> = both.collect();
    anchors.sort_by_key(|(_, second)| *second);
    anchors
}

/// The longest list of anchors that rise on both sides.
fn chain(anchors: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let mut ends: Vec<usize> = Vec::new();
    let mut before = vec![usize::MAX; anchors.len()];
    for (at, (first, _)) in anchors.iter().enumerate() {
        let length = ends.partition_point(|end| anchors[*end].0 < *first);
        if length > 0 {
            before[at] = ends[length - 1];
        }
        match ends.get_mut(length) {
            Some(end) => *end = at,
            None => ends.push(at),
        }
    }
    let mut chain = Vec::new();
    let mut at = ends.last().copied();
    while let Some(here) = at {
        chain.push(anchors[here]);
        at = Some(before[here]).filter(|before| *before != usize::MAX);
    }
    chain.reverse();
    chain
}
