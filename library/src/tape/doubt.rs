//! Bits that were heard with doubt, and how far the check of their block can settle them.

use std::ops::Range;

use super::framing::{Block, Candidate, Framing};
use crate::audio::HeardByte;
use crate::record::Record;

/// Odds, in nats, below which a bit may have been the other one: those below which a byte is doubtful.
const DOUBT: f32 = 5.0;

/// Doubtful bits of a block that are tried the other way. All of them are, in all ways: 63 tries, of which a check of 16
/// bits lets a wrong one pass once in a thousand blocks whose damage lies elsewhere. A block with more is left as it is.
const MOST_DOUBTS: usize = 6;

/// Why a damaged block with bits in doubt was not mended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unproved {
    /// More bits are in doubt than are tried.
    TooMany {
        /// How many.
        doubts: usize,
    },
    /// Its check would agree with a wrong way too easily.
    WeakCheck {
        /// How many bits are in doubt.
        doubts: usize,
        /// Bits of its widest check; 0 for none.
        check_bits: usize,
    },
    /// No way, or more than one, to take the bits in doubt satisfies the check.
    NoAnswer {
        /// How many bits are in doubt.
        doubts: usize,
    },
}

/// What the doubtful frames of a block may have been, each in all ways; nothing if there are too many doubts.
pub(super) fn candidates(tape: &[u8], block: &Block, heard: &[HeardByte]) -> Option<Vec<Candidate>> {
    if doubts(&block.range, heard) > MOST_DOUBTS {
        return None;
    }
    let mut candidates = Vec::new();
    for offset in block.range.clone() {
        let bits = doubtful_bits(&heard[offset]);
        let masks = (1_u32..1 << bits.len()).map(|chosen| {
            let chosen = bits.iter().enumerate().filter(|(at, _)| chosen >> at & 1 == 1);
            chosen.fold(0_u8, |mask, (_, bit)| mask | 1 << bit)
        });
        candidates.extend(masks.map(|mask| Candidate { offset, frame: tape[offset] ^ mask }));
    }
    Some(candidates)
}

/// Why what was in doubt did not mend a damaged block; nothing if nothing was in doubt.
pub(super) fn unproved(framing: &Framing, block: &Block, heard: &[HeardByte]) -> Option<Unproved> {
    let check_bits = 8 * strength(framing, block);
    Some(match doubts(&block.range, heard) {
        0 => return None,
        doubts if check_bits == 0 || (check_bits == 8 && doubts > 1) => Unproved::WeakCheck { doubts, check_bits },
        doubts if doubts > MOST_DOUBTS => Unproved::TooMany { doubts },
        doubts => Unproved::NoAnswer { doubts },
    })
}

/// Bytes of the widest check of a block.
pub(super) fn strength(framing: &Framing, block: &Block) -> usize {
    framing.part(block.part).map_or(0, Record::check_width)
}

/// Doubtful bytes that a block may have and still be called good: a check of 8 bits sees any change of one byte, but lets
/// changes of two cancel; without a check nothing speaks for any. A check of 16 bits is not asked.
pub(super) fn allowed(framing: &Framing, block: &Block) -> Option<usize> {
    match strength(framing, block) {
        0 => Some(0),
        1 => Some(1),
        _ => None,
    }
}

fn doubts(range: &Range<usize>, heard: &[HeardByte]) -> usize {
    heard[range.clone()].iter().map(|byte| doubtful_bits(byte).len()).sum()
}

/// Data bits that may have been the other one, the likeliest first.
fn doubtful_bits(byte: &HeardByte) -> Vec<u8> {
    byte.slips().iter().filter(|(_, price)| *price < DOUBT).map(|&(bit, _)| bit).collect()
}
