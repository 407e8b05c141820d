//! What the fields of a block say: the bytes that it carries, and where they belong.

use std::ops::Range;

use super::field::{Kind, Part, Pointer};
use super::layout::Layout;
use super::parse::{Cleaned, Parsed, parse};
use super::reading::{Block, Cause, Slips, Verdict};
use super::{Framing, Placing};
use crate::image::MEMORY;
use crate::notation::Address;

/// What the fields of a block say.
pub(super) fn block_of(framing: &Framing, part: Part, parsed: &Parsed, range: Range<usize>, verdict: Verdict) -> Block {
    let mut block = Block::torn(part, range, verdict);
    let Some(layout) = framing.layout(part) else { return block };
    let ranges = layout.ranges(parsed.count);
    // A part without data and address has no place: an end of blocks that are placed by their numbers needs no number.
    let is_placed = layout.data().next().is_some() || layout.address().is_some();
    let base = if is_placed { base(framing, layout, parsed, &ranges) } else { Some(framing.origin) };
    let Some(base) = base else {
        // Its bytes would lie outside memory: its form is right and its content cannot be.
        block.verdict = Verdict::Bad { cause: Cause::Character, slips: Slips::None };
        return block;
    };
    block.address = is_placed.then_some(base);
    for (field, range) in layout.fields.iter().zip(&ranges) {
        let bytes = &parsed.body[range.clone()];
        match &field.kind {
            Kind::Data(data) => {
                let carried = if data.pad.is_some() { parsed.count.min(data.most) } else { bytes.len() };
                let mut bytes = bytes[..carried].to_vec();
                if data.falling {
                    bytes.reverse();
                }
                block.pieces.push((base.wrapping_add(data.at), bytes));
            }
            Kind::Entry(Pointer::Whole(word)) => block.entry = Some(Address(word.read(bytes))),
            Kind::Entry(_) => block.entry = Some(Address((base.0 & 0xFF00) | u16::from(bytes[0]))),
            Kind::Label(_) => block.label = Some(String::from_utf8_lossy(bytes).into_owned()),
            _ => {}
        }
    }
    block
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
        let (_, pointer) = framing.layout(block.part)?.address()?;
        let told = if pointer == Pointer::Page { 0xFF00 } else { 0xFFFF };
        block.address.filter(|said| (said.0 ^ first.0) & told != 0).map(|said| (block.part, said))
    })
}

/// The characters of each field, from the first of the block on.
pub(super) fn field_places(framing: &Framing, layout: &Layout, parsed: &Parsed) -> Vec<Range<usize>> {
    let (mut end, mut characters) = (0, Vec::new());
    let fields = layout.fields.iter().zip(layout.ranges(parsed.count));
    let places = fields.map(|(field, range)| {
        let start = end;
        characters.clear();
        match field.kind {
            Kind::Mark(_) => end += range.len(),
            _ => {
                framing.coding.write(&parsed.body[range], &mut characters);
                end += characters.len();
            }
        }
        start..end
    });
    places.collect()
}

/// The frames of a good block whose change no check would notice: those of the fields that are outside of all checks.
pub fn unproved_frames(framing: &Framing, tape: &[u8], block: &Block) -> Vec<usize> {
    let Some(layout) = framing.layout(block.part) else { return Vec::new() };
    let frames = tape.get(block.range.clone()).unwrap_or_default();
    let cleaned = Cleaned::new(&framing.coding, frames);
    let Ok(parsed) = parse(framing, layout, &cleaned.characters, 0) else { return Vec::new() };
    let places = field_places(framing, layout, &parsed);
    let characters = layout.unproved().flat_map(|index| places[index].clone());
    characters.map(|character| block.range.start + cleaned.offset(character)).collect()
}

/// What the sequence field of a block says.
pub(super) fn sequence(framing: &Framing, part: Part, parsed: &Parsed) -> Option<u16> {
    let layout = framing.layout(part)?;
    let (index, word, _) = layout.sequence()?;
    Some(word.read(&parsed.body[layout.ranges(parsed.count)[index].clone()]))
}

/// The block's address; nothing if its bytes would not all lie in memory.
fn base(framing: &Framing, layout: &Layout, parsed: &Parsed, ranges: &[Range<usize>]) -> Option<Address> {
    let reach = layout.data().map(|(_, data)| usize::from(data.at) + parsed.count.min(data.most)).max().unwrap_or(0);
    let base = match (layout.address(), framing.placing()) {
        (Some((index, pointer)), _) => {
            let bytes = &parsed.body[ranges[index].clone()];
            let first = match pointer {
                Pointer::Whole(word) => word.read(bytes),
                _ => u16::from(bytes[0]) << 8,
            };
            let is_high_end = layout.from_the_top() && matches!(pointer, Pointer::Whole(_));
            usize::from(if is_high_end { first.checked_sub((parsed.count - 1) as u16)? } else { first })
        }
        (None, Placing::ByNumber) => {
            let (_, word, first) = framing.block.sequence()?;
            let sequence = usize::from(sequence(framing, layout.part, parsed)?);
            let index = (sequence + word.modulus() - usize::from(first)) % word.modulus();
            framing.origin.index() + index * framing.block.most()
        }
        (None, _) => framing.origin.index(),
    };
    let fits = reach == 0 || base + reach <= MEMORY;
    u16::try_from(base).ok().filter(|_| fits).map(Address)
}
