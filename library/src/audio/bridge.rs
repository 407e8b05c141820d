//! Silence in the midst of characters, bridged.
//!
//! A drop-out that is longer than a character takes whole ones with it. Where those on its two sides are on one grid, the
//! number that it took is known, and each of them is handed on as a byte of which nothing was heard: a block keeps its
//! length, and its reader is told. Where they are not, nothing is known but that something may be missing, and the
//! characters next to it are in doubt.

use super::grid::Settled;
use super::lattice::Stretch;

/// Characters that are counted through silence: speed is known to a tenth of a per cent.
const MOST: usize = 25;
/// How far, in characters, the far side may lie off the grid.
const OFF: f64 = 0.25;
/// The shortest that a character may come out, so that no two lie on each other.
const LEAST: f64 = 0.95;

/// Puts characters of which nothing was heard into silences; `bits` is those of a character, all stop bits included.
pub(super) fn bridge(settled: Settled, per_bit: usize, bits: usize) -> Settled {
    let mut bridged = Settled { stretches: Vec::with_capacity(settled.stretches.len()), ..settled };
    // Characters so far.
    let mut count = 0;
    let mut rest = &settled.stretches[..];
    while let Some((first, behind)) = rest.split_first() {
        rest = behind;
        match *first {
            Stretch::Character(_) => count += 1,
            Stretch::Silence(from, to) => {
                let before = last_within(&bridged.stretches, from, 2 * bits * per_bit);
                let after = first_within(rest, to, bits * per_bit);
                let sides = before.zip(after);
                if let Some(missing) = sides.and_then(|(before, after)| missing(before, after, bits * per_bit)) {
                    let is_pause = |stretch: &Stretch| matches!(stretch, Stretch::Pause(..));
                    while bridged.stretches.last().is_some_and(is_pause) {
                        bridged.stretches.pop();
                    }
                    bridged.stretches.extend(missing.iter().map(|at| Stretch::Character(*at)));
                    bridged.sure.splice(count..count, missing.iter().map(|_| 0.0));
                    count += missing.len();
                    rest = &rest[rest.iter().take_while(|stretch| is_pause(stretch)).count()..];
                    continue;
                }
                before.inspect(|_| bridged.sure[count - 1] = 0.0);
                after.inspect(|_| bridged.sure[count] = 0.0);
            }
            Stretch::Pause(..) => {}
        }
        bridged.stretches.push(*first);
    }
    bridged
}

/// The last character, if it began less than `near` samples before `place`.
fn last_within(stretches: &[Stretch], place: usize, near: usize) -> Option<usize> {
    match stretches.iter().rev().find(|stretch| !matches!(stretch, Stretch::Pause(..))) {
        Some(Stretch::Character(at)) if place.saturating_sub(*at) < near => Some(*at),
        _ => None,
    }
}

/// The next character, if it begins less than `near` samples behind `place`.
fn first_within(rest: &[Stretch], place: usize, near: usize) -> Option<usize> {
    match rest.iter().find(|stretch| !matches!(stretch, Stretch::Pause(..))) {
        Some(Stretch::Character(at)) if at.saturating_sub(place) < near => Some(*at),
        _ => None,
    }
}

/// Where the characters between two began, if these are on one grid and there were any; `length` is that of a character.
fn missing(before: usize, after: usize, length: usize) -> Option<Vec<usize>> {
    let apart = after.checked_sub(before)?;
    let characters = apart as f64 / length as f64;
    let whole = characters.round();
    let count = (whole as usize).checked_sub(1)?;
    let is_known = (1..=MOST).contains(&count) && (characters - whole).abs() < OFF && characters > LEAST * whole;
    is_known.then(|| (1..=count).map(|index| before + apart * index / (count + 1)).collect())
}
