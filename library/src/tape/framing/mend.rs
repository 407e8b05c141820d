//! What a damaged block may have been, given the doubts that a recording leaves. Whatever is tried must be proved by the
//! block's own check.

use super::cleaned::Cleaned;
use super::content::block_of;
use super::declared::Framing;
use super::explain::sound;
use super::reading::{Block, Verdict};
use crate::record::Record;

/// What a frame may have been instead.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The frame's offset on the tape.
    pub offset: usize,
    /// What it may have been.
    pub frame: u8,
}

/// A damaged block that its own check proves once some frames are taken as candidates say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mended {
    /// The block.
    pub block: Block,
    /// The candidates that were needed.
    pub changed: Vec<Candidate>,
}

/// Tries what a damaged block may have been, given the frames that are in doubt with what they may have been instead.
///
/// Fewer changes are tried before more. As a check of `n` bits lets a wrong block pass once in 2^n tries, no more than
/// 2^n / 256 are made, and more than one answer among the fewest changes is no answer. A framing without a check mends
/// nothing.
pub fn mend(framing: &Framing, tape: &[u8], block: &Block, candidates: &[Candidate]) -> Option<Mended> {
    let mut tries = allowed_tries(framing.part(block.part)?);
    let longest = block.range.start + 2 * framing.longest_part();
    let end = tape.len().min(block.range.end.max(longest));
    let mut window = tape.get(block.range.start..end)?.to_vec();
    let start = block.range.start;
    let candidates: Vec<_> =
        candidates.iter().filter(|candidate| (start..end).contains(&candidate.offset)).copied().collect();
    for changes in 1..=candidates.len() {
        let mut found = None;
        for chosen in combinations(candidates.len(), changes) {
            tries = tries.checked_sub(1)?;
            let chosen: Vec<_> = chosen.into_iter().map(|index| candidates[index]).collect();
            if let Some(block) = with_changes(framing, &mut window, start, &chosen) {
                if found.is_some() {
                    return None;
                }
                found = Some(Mended { block, changed: chosen });
            }
        }
        if found.is_some() {
            return found;
        }
    }
    None
}

fn allowed_tries(record: &Record) -> usize {
    match record.check_width() {
        0 => 0,
        1 => 1,
        _ => 256,
    }
}

fn with_changes(framing: &Framing, window: &mut [u8], start: usize, changes: &[Candidate]) -> Option<Block> {
    let before: Vec<_> = changes.iter().map(|change| window[change.offset - start]).collect();
    for change in changes {
        window[change.offset - start] = change.frame;
    }
    let cleaned = Cleaned::new(framing, window);
    let proved = sound(framing, &cleaned.characters).filter(|(parsed, _)| cleaned.flaws_in(0..parsed.end).is_empty());
    let found = proved.map(|(parsed, part)| {
        let frames = cleaned.frames(0..parsed.end);
        let verdict = framing.part(part).map_or(Verdict::Unchecked, Verdict::of_sound);
        block_of(framing, part, &parsed, start + frames.start..start + frames.end, verdict)
    });
    for (change, before) in changes.iter().zip(before) {
        window[change.offset - start] = before;
    }
    found
}

/// All ways to choose `count` of `of` things, by rising indexes.
fn combinations(of: usize, count: usize) -> impl Iterator<Item = Vec<usize>> {
    let mut next = (count <= of).then(|| (0..count).collect::<Vec<_>>());
    std::iter::from_fn(move || {
        let current = next.clone()?;
        let movable = (0..count).rev().find(|&place| current[place] < of - count + place);
        next = movable.map(|place| {
            let mut following = current.clone();
            let start = current[place] + 1;
            following[place..].iter_mut().enumerate().for_each(|(step, index)| *index = start + step);
            following
        });
        Some(current)
    })
}
