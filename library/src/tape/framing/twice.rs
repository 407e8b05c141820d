//! A program that one reading has twice, once broken off, as where a tape was stopped, wound back and begun again: readings
//! that are whole without it tell that it is one program.

use super::part::Part;
use super::reading::{Block, ProgramRead, Reading};
use super::same_tape::{agree, key};

/// Takes such a program for one with its neighbour; returns which of the programs are then put together of two of one
/// reading.
pub(super) fn joined(groups: &mut Vec<Vec<&ProgramRead>>, readings: &[Reading]) -> Vec<usize> {
    let Some(whole) = readings.iter().find(|reading| reading.is_whole()) else { return Vec::new() };
    let mut twice = Vec::new();
    let mut at = 0;
    while at < groups.len() {
        let neighbours = [at.checked_sub(1), Some(at + 1)];
        let home = neighbours
            .into_iter()
            .flatten()
            .find(|&home| groups.get(home).is_some_and(|home| is_begun_twice(&groups[at], home, whole, readings)));
        let Some(home) = home else {
            at += 1;
            continue;
        };
        for extra in groups.remove(at) {
            let home = if home > at { at } else { home };
            let other = groups[home].iter_mut().find(|other| is_same_reading(readings, extra, other));
            // Of both, the one that has more stands for the reading.
            if let Some(other) = other.filter(|other| rank(extra) > rank(other)) {
                *other = extra;
            }
            twice.push(home);
        }
    }
    twice.dedup();
    twice
}

/// Whether a program that the whole reading has not is one that it has, begun once more: what is good of it is in that one,
/// and of the two that its reading has, one is broken off.
fn is_begun_twice(extra: &[&ProgramRead], home: &[&ProgramRead], whole: &Reading, readings: &[Reading]) -> bool {
    let of_whole = |read: &&&ProgramRead| whole.programs.iter().any(|program| std::ptr::eq(program, **read));
    let Some(right) = home.iter().find(of_whole) else { return false };
    !extra.iter().any(|read| of_whole(&read))
        && extra.iter().all(|read| {
            let other = home.iter().find(|other| is_same_reading(readings, read, other));
            other.is_some_and(|other| !read.is_whole() || !other.is_whole()) && is_part_of(read, right)
        })
}

/// Whether there is a good block, and every good part is in the other as well.
fn is_part_of(read: &ProgramRead, right: &ProgramRead) -> bool {
    let good = || read.blocks.iter().filter(|block| block.is_good());
    let is_there = |block: &Block| right.blocks.iter().any(|other| key(other) == key(block) && agree(other, block));
    good().any(|block| block.part == Part::Block) && good().all(is_there)
}

fn is_same_reading(readings: &[Reading], one: &ProgramRead, other: &ProgramRead) -> bool {
    let has =
        |reading: &Reading, read| reading.programs.iter().any(|program| std::ptr::eq::<ProgramRead>(program, read));
    readings.iter().any(|reading| has(reading, one) && has(reading, other))
}

/// How much there is of a reading of a program.
fn rank(read: &ProgramRead) -> (bool, usize) {
    (read.is_whole(), read.blocks.iter().filter(|block| block.is_good()).count())
}
