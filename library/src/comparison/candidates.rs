//! The faults that are tried: all of each kind, and of shifts and exchanged blocks those that the bytes suggest.

use std::collections::{BTreeMap, HashSet};

use super::change::Change;
use super::sides::Side;

/// Bytes by which shifts are judged.
const SAMPLE: usize = 400;

/// The best shifts and exchanges that are tried.
const BEST: usize = 4;

/// The most blocks that are compared, each with each.
const BLOCKS: usize = 64;

/// All faults that are tried on the two sides.
pub fn candidates(first: &Side, second: &Side) -> Vec<Change> {
    let mut all = vec![Change::AllInverted, Change::Nibbles];
    for bit in 0..8 {
        all.extend([Change::DataStuck(bit, false), Change::DataStuck(bit, true), Change::DataInverted(bit)]);
        all.extend((0..bit).map(|other| Change::DataCrossed(other, bit)));
    }
    all.extend(order(first, second));
    let lines = address_lines(second);
    for (number, &bit) in lines.iter().enumerate() {
        all.extend([Change::AddressStuck(bit, false), Change::AddressStuck(bit, true), Change::BlocksChanged(bit)]);
        all.extend(lines[..number].iter().map(|other| Change::AddressCrossed(*other, bit)));
    }
    // Nothing agrees bit for bit where the two halves of each byte are changed over.
    for first in [first.clone(), first.each(|byte| byte.rotate_left(4))] {
        all.extend(shifts(&first, second));
        all.extend(exchanges(&first, second));
    }
    // Where halves are changed over, only the undone side agrees at the right distance.
    if let Some(top) = lines.last() {
        all.extend(shifts(first, &undone(second, Change::BlocksChanged(*top))));
    }
    let mut seen = HashSet::new();
    all.retain(|change| seen.insert(*change));
    all
}

/// The order of data lines in which the two sides agree most, if it is none of the simpler changes.
fn order(first: &Side, second: &Side) -> Option<Change> {
    let mut agree = [[0usize; 8]; 8];
    for at in second.addresses() {
        let (Some(was), Some(is)) = (first.get(at), second.get(at)) else { continue };
        for (line, own) in agree.iter_mut().enumerate() {
            for (other, count) in own.iter_mut().enumerate() {
                *count += usize::from(is >> line & 1 == was >> other & 1);
            }
        }
    }
    // The lines that agree most are paired first; of those that agree as much, each with itself.
    let all = (0..8).flat_map(|line| (0..8).map(move |other| (line, other)));
    let mut all: Vec<(usize, usize)> = all.collect();
    all.sort_by_key(|&(line, other)| (std::cmp::Reverse(agree[line][other]), line != other));
    let mut order = [None; 8];
    for (line, other) in all {
        if order[line].is_none() && !order.contains(&Some(other as u8)) {
            order[line] = Some(other as u8);
        }
    }
    let order: [u8; 8] = std::array::from_fn(|line| order[line].unwrap_or(line as u8));
    let moved = (0..8).filter(|&line| order[line] != line as u8).count();
    let halves = (0..8).all(|line| order[line] == (line as u8 + 4) % 8);
    (moved > 2 && !halves).then_some(Change::DataOrder(order))
}

/// A side before a change of places.
fn undone(side: &Side, change: Change) -> Side {
    let mut before = Side::empty(side.window());
    for at in side.addresses() {
        if let (Some(lay), Some(byte)) = (change.address(at), side.get(at)) {
            before.put(lay, byte);
        }
    }
    before
}

/// The address lines that are both 0 and 1 within the bytes.
fn address_lines(side: &Side) -> Vec<u8> {
    let addresses = side.addresses();
    let (ones, zeros) = addresses.iter().fold((0, 0), |(ones, zeros), at| (ones | at, zeros | !at));
    (0..16)
        .filter(|bit| ones & zeros >> bit & 1 == 1)
        .collect::<Vec<u8>>()
        .into_iter()
        .filter(|bit| ones >> bit & 1 == 1)
        .collect()
}

/// The distances at which the two sides agree most, or most of all disagree, bit for bit.
fn shifts(first: &Side, second: &Side) -> Vec<Change> {
    let (ours, theirs) = (first.addresses(), second.addresses());
    let (Some(low), Some(high)) = (ours.first(), ours.last()) else { return Vec::new() };
    let Some(usual) = most_common(second) else { return Vec::new() };
    let telling: Vec<usize> = theirs.into_iter().filter(|at| second.get(*at) != Some(usual)).collect();
    let step = (telling.len() / SAMPLE).max(1);
    let sample: Vec<(usize, u8)> =
        telling.iter().step_by(step).filter_map(|at| Some((*at, second.get(*at)?))).collect();
    let (Some((lowest, _)), Some((highest, _))) = (sample.first(), sample.last()) else { return Vec::new() };
    let range = *lowest as i32 - *high as i32..=*highest as i32 - *low as i32;
    let mut judged: Vec<(i32, i32)> = range
        .filter(|by| *by != 0)
        .map(|by| {
            let agree: i32 = sample
                .iter()
                .filter_map(|(at, byte)| Some((first.get(usize::try_from(*at as i32 - by).ok()?)?, byte)))
                .map(|(ours, theirs)| 4 - (ours ^ theirs).count_ones() as i32)
                .sum();
            (agree.abs(), by)
        })
        .collect();
    judged.sort_by_key(|(agree, by)| (-agree, by.abs()));
    let best = judged.into_iter().take(BEST).filter(|(agree, _)| *agree > 0);
    // Even and odd addresses changed over agree one byte beside the right distance.
    let near = best.flat_map(|(_, by)| [by, by - 1, by + 1]).filter(|by| *by != 0);
    near.map(Change::Shifted).collect()
}

fn most_common(side: &Side) -> Option<u8> {
    let mut counts = [0usize; 256];
    side.addresses().into_iter().filter_map(|at| side.get(at)).for_each(|byte| counts[usize::from(byte)] += 1);
    (0..=255u8).max_by_key(|byte| counts[usize::from(*byte)]).filter(|byte| counts[usize::from(*byte)] > 0)
}

/// Pairs of blocks that are more like each other than like themselves.
fn exchanges(first: &Side, second: &Side) -> Vec<Change> {
    let addresses = second.addresses();
    let (Some(low), Some(high)) = (addresses.first(), addresses.last()) else { return Vec::new() };
    let mut judged: Vec<(i64, Change)> = Vec::new();
    for size in 4..15u8 {
        let blocks: Vec<usize> = (low >> size..=high >> size).map(|block| block << size).collect();
        if blocks.len() > BLOCKS || blocks.len() < 2 {
            continue;
        }
        let mut known = BTreeMap::new();
        let mut agree = |one: usize, other: usize| {
            *known.entry((one, other)).or_insert_with(|| {
                let both = (0..1usize << size).filter_map(|at| Some((first.get(other + at)?, second.get(one + at)?)));
                both.map(|(ours, theirs)| 4 - i64::from((ours ^ theirs).count_ones())).sum::<i64>().abs()
            })
        };
        for (number, &one) in blocks.iter().enumerate() {
            for &other in &blocks[number + 1..] {
                let gain = agree(one, other) + agree(other, one) - agree(one, one) - agree(other, other);
                if gain > 0 {
                    judged.push((gain, Change::Exchanged(size, one as u16, other as u16)));
                }
            }
        }
    }
    judged.sort_by_key(|(gain, _)| -gain);
    judged.into_iter().take(2 * BEST).map(|(_, change)| change).collect()
}
