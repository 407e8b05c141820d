//! Lost frames that no check of a framing sees, found by losing them.

use super::declared::Framing;
use crate::notation::Address;
use crate::record::{Spot, Values};

/// Blocks that are tried for each value. A check of 8 bits agrees by chance with one in 256 of them.
const TRIALS: u32 = 8;

/// Of the trials, those that must go unnoticed until a value is said to be missed: more than chance brings.
const MISSED: usize = 6;

/// Bytes of data in a block that is tried, if it may have so many.
const SIZE: usize = 12;

/// Values whose loss from the data of a block goes unnoticed, rising. Where the length tells the end of the data, what is
/// behind a lost frame slides, and the frame behind the block is read as the last of its check. Nothing is found of a
/// framing that has no check: there everything goes unnoticed.
pub fn unseen_losses(framing: &Framing) -> Vec<u8> {
    if framing.block.checks.is_empty() {
        return Vec::new();
    }
    let behind = behind(framing);
    let is_missed = |value: &u8| {
        let mut failures = 0;
        for trial in 0..TRIALS {
            failures += usize::from(!is_lost_unseen(framing, &behind, *value, trial));
            if failures > TRIALS as usize - MISSED {
                return false;
            }
        }
        true
    };
    (0..=u8::MAX).filter(is_missed).collect()
}

/// The characters that a reader sees behind the last block that carries data.
fn behind(framing: &Framing) -> Vec<u8> {
    let trailer = framing.end.is_none().then_some(&framing.trailer);
    let fillers = std::iter::once(&framing.gap).chain(trailer);
    let characters = fillers.flat_map(|filler| filler.bytes.iter().take(filler.frames()).copied());
    characters.filter(|&byte| !framing.ignore.contains(byte)).collect()
}

/// Whether a frame of one value can be lost from the data of a drawn block so that the block is still sound.
fn is_lost_unseen(framing: &Framing, behind: &[u8], value: u8, trial: u32) -> bool {
    let (block, coding) = (&framing.block, &framing.coding);
    let count = SIZE.min(block.most()).max(block.fewest());
    let base = Address(0x1200);
    let drawn = |address: Address| {
        let place = u32::from(address.0.wrapping_sub(base.0));
        // Scattered by a multiplication: bytes that are not alike, and the same in every run.
        let byte = ((place + 1).wrapping_mul(trial * 2 + 1).wrapping_mul(2_654_435_761) >> 24) as u8;
        Some(if place as usize == count / 2 { value } else { byte })
    };
    let values = Values {
        base,
        count,
        number: 0,
        label: "",
        entry: Some(base),
        here: Spot::default(),
        next: None,
        byte: &drawn,
    };
    let Ok(characters) = block.write(coding, &values) else { return false };
    let Ok(whole) = block.parse(coding, &characters, 0) else { return false };
    let data = block.data().map(|(index, _)| index);
    let places = block.places(coding, &whole);
    data.flat_map(|index| places[index].clone()).filter(|&at| characters[at] == value).any(|at| {
        let torn = [&characters[..at], &characters[at + 1..], behind].concat();
        block.parse(coding, &torn, 0).is_ok_and(|read| read.is_sound() && read.body != whole.body)
    })
}
