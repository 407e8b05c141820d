//! What the fields of a block say: the bytes that it carries, and where they belong.

use std::ops::Range;

use super::cleaned::Cleaned;
use super::declared::{Framing, Placing};
use super::part::Part;
use super::reading::{Block, Cause, Slips, Verdict};
use crate::image::MEMORY;
use crate::notation::Address;
use crate::record::{Parsed, Pointer, Record, Said};

/// What the fields of a block say.
pub(super) fn block_of(framing: &Framing, part: Part, parsed: &Parsed, range: Range<usize>, verdict: Verdict) -> Block {
    let block = Block::torn(part, range, verdict);
    let Some(record) = framing.part(part) else { return block };
    // A part without data and address has no place: an end of blocks that are placed by their numbers needs no number.
    let is_placed = record.data().next().is_some() || record.address().is_some();
    let base = if is_placed { base(framing, record, parsed) } else { Some(framing.origin) };
    let Some(base) = base else {
        // Its bytes would lie outside memory: its form is right and its content cannot be.
        return Block { verdict: Verdict::Bad { cause: Cause::Character, slips: Slips::None }, ..block };
    };
    let Said { pieces, entry, label } = record.said(parsed, base);
    Block { address: is_placed.then_some(base), pieces, entry, label, ..block }
}

/// The head or end that says another address of a program's first block than that block itself, with what it says. The
/// first is the one with the first number, or else the lowest address; where a block is damaged, nobody knows it.
pub(super) fn misplaced(framing: &Framing, blocks: &[Block]) -> Option<(Part, Address)> {
    let of_data = blocks.iter().filter(|block| block.part == Part::Block);
    let first = of_data.min_by_key(|block| (block.number, block.address))?.address?;
    if !blocks.iter().all(Block::is_good) {
        return None;
    }
    blocks.iter().filter(|block| block.part != Part::Block).find_map(|block| {
        let (_, pointer) = framing.part(block.part)?.address()?;
        let told = if pointer == Pointer::Page { 0xFF00 } else { 0xFFFF };
        block.address.filter(|said| (said.0 ^ first.0) & told != 0).map(|said| (block.part, said))
    })
}

/// The frames of a good block whose change no check would notice: those of the fields that are outside of all checks.
pub fn unproved_frames(framing: &Framing, tape: &[u8], block: &Block) -> Vec<usize> {
    let Some(record) = framing.part(block.part) else { return Vec::new() };
    let frames = tape.get(block.range.clone()).unwrap_or_default();
    let cleaned = Cleaned::new(framing, frames);
    let Ok(parsed) = record.parse(&framing.coding, &cleaned.characters, 0) else { return Vec::new() };
    let places = record.places(&framing.coding, &parsed);
    let characters = record.unproved().flat_map(|index| places[index].clone());
    characters.map(|character| block.range.start + cleaned.offset(character)).collect()
}

/// The block's address; nothing if its bytes would not all lie in memory.
fn base(framing: &Framing, record: &Record, parsed: &Parsed) -> Option<Address> {
    let base = match (record.address(), framing.placing()) {
        (Some(_), _) => record.said_address(parsed)?.index(),
        (None, Placing::ByNumber) => {
            let (_, word, first) = framing.block.sequence()?;
            let sequence = usize::from(record.said_number(parsed)?);
            let index = (sequence + word.modulus() - usize::from(first)) % word.modulus();
            framing.origin.index() + index * framing.block.most()
        }
        (None, _) => framing.origin.index(),
    };
    let reach = record.reach(parsed.count);
    let fits = reach == 0 || base + reach <= MEMORY;
    u16::try_from(base).ok().filter(|_| fits).map(Address)
}
