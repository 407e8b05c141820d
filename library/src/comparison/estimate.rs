//! Reasons that leave each byte a choice: bits that went only one way, and addresses in a program that moved.

use std::collections::HashMap;

use super::set::Set;
use super::sides::Side;
use crate::isa::decode;

/// How many bits it takes to say what a reason leaves open, and which bytes it explains.
#[derive(Clone, Debug)]
pub struct Estimate {
    /// Bits, all bytes of the second side considered.
    pub bits: f64,
    /// The addresses of bytes that were not as predicted, and are explained.
    pub explained: Vec<usize>,
}

/// A byte that is not what was predicted.
#[derive(Clone, Copy, Debug)]
pub struct Miss {
    /// Where it lies on the second side.
    pub at: usize,
    /// What was predicted, if anything.
    pub wanted: Option<u8>,
    /// What is there.
    pub found: u8,
}

/// Where a byte is, and what it is: the price of one that nothing explains, in bits.
pub fn price(count: usize) -> f64 {
    place(count) + 8.0
}

/// Which byte of so many.
pub fn place(count: usize) -> f64 {
    (count.max(16) as f64).log2()
}

/// Bits that went only from 1 to 0, or only from 0 to 1.
pub fn one_way(misses: &[Miss], count: usize, up: bool) -> Estimate {
    let mut estimate = Estimate { bits: 4.0, explained: Vec::new() };
    let place = which(misses.len(), count);
    for miss in misses {
        let went = miss.wanted.map(|wanted| (wanted ^ miss.found, if up { !wanted } else { wanted }));
        match went {
            // Every bit that changed is one that could.
            Some((changed, able)) if changed & !able == 0 => {
                estimate.bits += place + ways(able.count_ones(), changed.count_ones()) + 1.0;
                estimate.explained.push(miss.at);
            }
            _ => estimate.bits += price(count),
        }
    }
    estimate
}

/// Which bytes of so many, for each of them: where most bytes are meant, little has to be said.
fn which(some: usize, of: usize) -> f64 {
    let share = some as f64 / of.max(1) as f64;
    if share <= 0.0 || share >= 1.0 {
        return 0.0;
    }
    (-share * share.log2() - (1.0 - share) * (1.0 - share).log2()) / share
}

/// The logarithm of how many ways there are to choose so many of so many.
fn ways(of: u32, chosen: u32) -> f64 {
    (0..chosen).map(|at| f64::from(of - at).log2() - f64::from(at + 1).log2()).sum()
}

/// The constant by which most addresses of a program differ, and what it explains; none if there is no such constant.
pub fn moved(first: &Side, misses: &[Miss], second: &Side, count: usize) -> Option<(u16, Estimate)> {
    let mut votes: HashMap<u16, usize> = HashMap::new();
    let differing: Set = misses.iter().map(|miss| miss.at).collect();
    for start in starts(&differing) {
        if let Some(by) = by(first, second, start).filter(|_| follows_opcode(first, second, start)) {
            *votes.entry(by).or_default() += 1;
        }
    }
    // By chance some words differ by one constant; a program that moved has it in most of its addresses.
    let least = (differing.len() / 12).max(3);
    let (&by_most, _) =
        votes.iter().filter(|(_, votes)| **votes >= least).max_by_key(|(by, votes)| (**votes, u16::MAX - **by))?;
    let mut estimate = Estimate { bits: 24.0, explained: Vec::new() };
    let mut taken = Set::default();
    for opcode in [true, false] {
        for start in starts(&differing) {
            let free = !taken.contains(start) && !taken.contains(start + 1);
            let fits = by(first, second, start) == Some(by_most);
            if free && fits && follows_opcode(first, second, start) == opcode {
                estimate.bits += if opcode { 3.0 } else { place(count) };
                taken.extend([start, start + 1]);
            }
        }
    }
    for at in differing.iter() {
        if taken.contains(at) {
            estimate.explained.push(at);
        } else {
            estimate.bits += price(count);
        }
    }
    Some((by_most, estimate))
}

/// Where a word may begin that has one of these bytes.
fn starts(differing: &Set) -> Vec<usize> {
    let mut starts: Vec<usize> = differing.iter().flat_map(|at| [at.saturating_sub(1), at]).collect();
    starts.dedup();
    starts
}

fn by(first: &Side, second: &Side, start: usize) -> Option<u16> {
    Some(second.word(start)?.wrapping_sub(first.word(start)?)).filter(|by| *by != 0)
}

/// Whether both sides have an instruction with an address before a word.
fn follows_opcode(first: &Side, second: &Side, start: usize) -> bool {
    let Some(before) = start.checked_sub(1) else { return false };
    let opcode = second.get(before).filter(|byte| decode(*byte).length == 3);
    opcode.is_some() && first.get(before) == opcode
}
