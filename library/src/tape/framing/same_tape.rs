//! Whether readings are of one tape: what they have in common, and where what is left of a block on one is unlike the
//! block on another.

use super::part::Part;
use super::reading::{Block, ProgramRead, Slips, Verdict};
use crate::notation::Address;

/// The fewest bytes of a block of which it is said that they are like others: few may be so by chance.
const LIKENESS: usize = 8;

/// A head, block or end that was taken although a damaged copy of it is unlike it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unlike {
    /// Which program.
    pub program: usize,
    /// What was taken.
    pub part: Part,
    /// The place of the block by its number, if it has one.
    pub number: Option<u32>,
    /// The place of the block by its address, if it has one.
    pub base: Option<Address>,
    /// How they differ.
    pub how: Difference,
}

/// How a damaged copy differs from the good one, by more than damage explains.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Difference {
    /// What would explain its damage, one wrong bit or a lost frame, does not make the good one of it.
    Explained,
    /// More than half of its bytes are others, and not by one wrong bit or one frame that was lost or added.
    Bytes {
        /// How many.
        differing: usize,
        /// Of how many.
        of: usize,
    },
}

/// How many good blocks two readings of a program have in common.
#[derive(Default)]
pub(super) struct Counts {
    /// Heads, blocks and ends in common.
    pub same: usize,
    /// Of these, blocks.
    pub data: usize,
    /// Parts for one place that differ.
    pub different: usize,
}

pub(super) fn counts(one: &ProgramRead, other: &ProgramRead) -> Counts {
    let mut counts = Counts::default();
    for block in one.blocks.iter().filter(|block| block.is_good()) {
        let twins = other.blocks.iter().filter(|twin| twin.is_good() && key(twin) == key(block));
        for twin in twins {
            match agree(block, twin) {
                true => {
                    (counts.same, counts.data) = (counts.same + 1, counts.data + usize::from(block.part == Part::Block))
                }
                false => counts.different += 1,
            }
        }
    }
    counts
}

/// The place of a part in its program: of a block its number, or if it has none its address; a head or an end has one.
pub(super) fn key(block: &Block) -> (Part, Option<u32>, Option<Address>) {
    match block.part {
        Part::Block => (block.part, block.number, if block.number.is_none() { block.base() } else { None }),
        part => (part, None, None),
    }
}

pub(super) fn agree(one: &Block, other: &Block) -> bool {
    let said = |block: &Block| (block.number, block.address, block.entry);
    said(one) == said(other) && (&one.pieces, &one.label) == (&other.pieces, &other.label)
}

/// Whether one of two readings needs nothing of the other, and they have no good block in common, nor two that differ:
/// then nothing tells that they are of one tape.
pub(super) fn are_strangers(one: &ProgramRead, other: &ProgramRead) -> bool {
    let has_good = |read: &ProgramRead| read.blocks.iter().any(|block| block.part == Part::Block && block.is_good());
    let counts = counts(one, other);
    let whole = one.is_whole() || other.is_whole();
    whole && has_good(one) && has_good(other) && counts.data == 0 && counts.different == 0
}

/// The parts of a merged program of which another reading has a damaged copy that is unlike them.
pub(super) fn unlike(program: usize, merged: &ProgramRead, group: &[&ProgramRead]) -> Vec<Unlike> {
    // A reading that has the block as well has no other copy of it: what claims to be one has another place.
    let has =
        |read: &ProgramRead, taken: &Block| read.blocks.iter().any(|block| block.is_good() && key(block) == key(taken));
    let taken = merged.blocks.iter().filter(|block| block.is_good());
    let found = taken.filter_map(|taken| {
        let copies = group.iter().filter(|read| !has(read, taken)).flat_map(|read| &read.blocks);
        let copies = copies.filter(|copy| key(copy) == key(taken));
        let how = copies.filter_map(|copy| difference(taken, copy)).max()?;
        Some(Unlike { program, part: taken.part, number: taken.number, base: taken.base(), how })
    });
    found.collect()
}

/// Whether readings that all have something good of a program fall apart into such as have nothing in common; one that is
/// whole needs no other.
pub(super) fn is_apart(group: &[&ProgramRead]) -> bool {
    let tells = |read: &&&ProgramRead| read.blocks.iter().any(Block::is_good);
    let mut left: Vec<_> = group.iter().filter(tells).collect();
    let Some(first) = left.pop().filter(|_| !group.iter().any(|read| read.is_whole())) else { return false };
    let mut joined = vec![first];
    while let Some(next) = left.iter().position(|read| joined.iter().any(|other| are_akin(read, other))) {
        joined.push(left.swap_remove(next));
    }
    !left.is_empty()
}

/// Whether two readings of a program have a good part in common that says something, or one has a good block that is
/// like what is left of it on the other.
fn are_akin(one: &ProgramRead, other: &ProgramRead) -> bool {
    let says = |block: &Block| {
        !block.pieces.is_empty() || block.entry.is_some() || block.label.is_some() || block.address.is_some()
    };
    let pairs = one.blocks.iter().flat_map(|block| other.blocks.iter().map(move |twin| (block, twin)));
    let mut twins = pairs.filter(|(block, twin)| key(block) == key(twin));
    twins.any(|(block, twin)| match (block.is_good(), twin.is_good()) {
        (true, true) => says(block) && agree(block, twin),
        (true, false) => is_like(block, twin),
        (false, true) => is_like(twin, block),
        (false, false) => false,
    })
}

/// Whether a damaged copy has enough of the good one that it is one.
fn is_like(taken: &Block, copy: &Block) -> bool {
    let enough = |(_, of): (usize, usize)| of >= LIKENESS;
    difference(taken, copy).is_none() && differing(&said(taken), &said(copy)).is_some_and(enough)
}

/// How a damaged copy differs from the good one, if by more than damage explains: more than half of the bytes of both are
/// others. However short they are, that is no likeness, unless one slip alone makes the one of the other.
fn difference(taken: &Block, copy: &Block) -> Option<Difference> {
    let (ours, theirs) = (said(taken), said(copy));
    let unlike = differing(&ours, &theirs).filter(|(differing, of)| 2 * differing > *of);
    if let Some((differing, of)) = unlike.filter(|_| !is_one_slip(&ours, &theirs)) {
        return Some(Difference::Bytes { differing, of });
    }
    let is_explained = matches!(copy.verdict, Verdict::Bad { slips: Slips::One(_) | Slips::Lost { .. }, .. });
    (is_explained && !agree(taken, copy)).then_some(Difference::Explained)
}

/// How many bytes of two copies differ, and of how many; nothing if there are none to judge by. What both have of the
/// commonest byte is left out if it stands there twice or more: it may be padding, and all blocks are alike in that.
fn differing(ours: &[u8], theirs: &[u8]) -> Option<(usize, usize)> {
    let mut counts = [0_usize; 256];
    ours.iter().for_each(|&byte| counts[usize::from(byte)] += 1);
    let common = (0..=255).max_by_key(|&byte: &u8| counts[usize::from(byte)])?;
    let is_padding = |pair: &(&u8, &u8)| *pair == (&common, &common) && counts[usize::from(common)] > 1;
    let judge = |pairs: &mut dyn Iterator<Item = (&u8, &u8)>| {
        let mut judged = (0, 0);
        for (one, other) in pairs.filter(|pair| !is_padding(pair)) {
            judged = (judged.0 + usize::from(one != other), judged.1 + 1);
        }
        judged
    };
    // A lost frame leaves what is before it in place as seen from the front, and what is behind it from the back.
    let front = judge(&mut ours.iter().zip(theirs));
    let back = judge(&mut ours.iter().rev().zip(theirs.iter().rev()));
    let fewer = if front.0 * back.1 <= back.0 * front.1 { front } else { back };
    Some(fewer).filter(|(_, of)| *of > 0)
}

/// Whether one wrong bit, or one frame that was lost or added, makes one run of bytes of the other. What then comes in at
/// the end of a run as long as before is not judged; of a single byte nothing would be left to judge.
fn is_one_slip(ours: &[u8], theirs: &[u8]) -> bool {
    let wrong = ours.iter().zip(theirs).map(|(one, other)| (one ^ other).count_ones()).sum::<u32>();
    let same = ours.iter().zip(theirs).take_while(|(one, other)| one == other).count();
    let goes_on = |one: &[u8], other: &[u8]| !one.is_empty() && one.iter().zip(other).all(|(one, other)| one == other);
    let behind = |run: &[u8]| run.get(same + 1..).unwrap_or_default().to_vec();
    let is_shifted = goes_on(&behind(ours), &theirs[same..]) || goes_on(&behind(theirs), &ours[same..]);
    (wrong <= 1 && ours.len() == theirs.len()) || is_shifted
}

/// The bytes that a part carries, one run after the other; of a part without data its label and entry.
fn said(block: &Block) -> Vec<u8> {
    if !block.pieces.is_empty() {
        return block.pieces.iter().flat_map(|(_, bytes)| bytes).copied().collect();
    }
    let entry = block.entry.into_iter().flat_map(|entry| entry.0.to_be_bytes());
    block.label.iter().flat_map(|label| label.bytes()).chain(entry).collect()
}
