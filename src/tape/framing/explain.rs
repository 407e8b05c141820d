//! What would explain a damaged block: one wrong bit, or the doubts that a recording leaves. Whatever is tried must be
//! proved by the block's own check.

use std::ops::Range;

use super::Framing;
use super::coding::Digits;
use super::content::{block_of, field_places};
use super::decode::verdict;
use super::field::{Kind, Part};
use super::layout::Layout;
use super::parse::{Cleaned, Parsed, failed_check, parse};
use super::reading::{Block, Slip, Slips, Verdict};
use crate::notation::Address;

/// Characters that may be read to explain one block.
const EFFORT_A_BLOCK: usize = 40_000_000;

/// Characters that may be read to explain all blocks of a tape.
const EFFORT: usize = 400_000_000;

/// Blocks and slips that fit together.
pub(super) struct Explained {
    pub slips: Slips,
    pub parsed: Parsed,
    pub part: Part,
}

pub(super) struct Explainer<'a> {
    framing: &'a Framing,
    cleaned: &'a Cleaned<'a>,
    effort: usize,
}

impl<'a> Explainer<'a> {
    pub fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>) -> Self {
        Explainer { framing, cleaned, effort: EFFORT }
    }

    /// The single slips that would make the block at `at` sound, and the block as the only one would make it.
    pub fn slips(&mut self, at: usize, claimed: usize) -> (Slips, Option<Explained>) {
        // A slip behind what was read could not have changed the reading.
        self.try_all(at, at..claimed.min(at + self.longest()))
    }

    /// The single slip in its first frames that would make a block of what begins at `at`.
    pub fn start(&mut self, at: usize) -> Option<Explained> {
        let fixed = self.framing.layouts().map(|layout| layout.ranges(0).last().map_or(0, |last| last.end)).max()?;
        let end = self.cleaned.characters.len().min(at + self.framing.coding.most_frames(fixed).min(32));
        let (slips, explained) = self.try_all(at, at..end);
        explained.map(|explained| Explained { slips, ..explained }).or_else(|| self.lost_mark(at))
    }

    /// The lost frame of a mark that would make a block of what begins at `at`. Any noise could have lost a mark, so that
    /// more must speak for it than a check of 8 bits: a wider one, or digits all the way.
    fn lost_mark(&self, at: usize) -> Option<Explained> {
        let framing = self.framing;
        let rest = &self.cleaned.characters[at..self.cleaned.characters.len().min(at + self.longest())];
        for layout in framing.layouts() {
            let Some(Kind::Mark(mark)) = layout.fields.first().map(|field| &field.kind) else { continue };
            if check_bytes(layout) < 2 && (check_bytes(layout) == 0 || framing.coding.digits == Digits::Binary) {
                continue;
            }
            for lost in 0..mark.len() {
                let left = [&mark[..lost], &mark[lost + 1..]].concat();
                let Some(behind) = rest.strip_prefix(&left[..]) else { continue };
                let Ok(mut parsed) = parse(framing, layout, &[&mark[..], behind].concat(), 0) else { continue };
                if parsed.is_sound() {
                    parsed.end = at + parsed.end - 1;
                    let frame = framing.coding.characters.punch(mark[lost]);
                    let slips = Slips::Lost { offset: self.cleaned.offset(at + lost), frame };
                    return Some(Explained { slips, parsed, part: layout.part });
                }
            }
        }
        None
    }

    fn longest(&self) -> usize {
        self.framing.layouts().map(|layout| longest(self.framing, layout)).max().unwrap_or(0)
    }

    fn try_all(&mut self, at: usize, places: Range<usize>) -> (Slips, Option<Explained>) {
        let checked = self.framing.layouts().any(|layout| !layout.checks.is_empty());
        let window_end = self.cleaned.characters.len().min(at + self.longest());
        let mut window = self.cleaned.characters[at..window_end].to_vec();
        let cost = places.len() * window.len() * 8;
        if !checked || cost > EFFORT_A_BLOCK || cost > self.effort {
            return (if checked { Slips::NotTried } else { Slips::None }, None);
        }
        self.effort -= cost;
        let seven_bits = self.framing.coding.characters.is_seven_bit();
        let mut found: Vec<(usize, u8, Parsed, Part)> = Vec::new();
        let mut shape = Shape::of(self.framing, &window);
        for place in self.suspects(places) {
            for bit in 0..8 {
                if shape.as_mut().is_some_and(|shape| shape.rules_out(place - at, 1 << bit)) {
                    continue;
                }
                // In seven bits the eighth track is no part of the character: a slip there leaves it as it is.
                let change = if bit == 7 && seven_bits { 0 } else { 1 << bit };
                window[place - at] ^= change;
                if let Some((parsed, part)) = sound(self.framing, &window) {
                    found.push((place, bit, parsed, part));
                }
                window[place - at] ^= change;
            }
        }
        self.sum_up(at, found)
    }

    /// The characters in which a slip may lie: where parity tells, only those that it accuses.
    fn suspects(&self, places: Range<usize>) -> Vec<usize> {
        if !self.framing.coding.characters.is_seven_bit() {
            return places.collect();
        }
        let flaws = &self.cleaned.flaws;
        let first = flaws.partition_point(|&flaw| flaw < places.start);
        flaws[first..].iter().copied().take_while(|&flaw| flaw < places.end).collect()
    }

    /// The field in which a character of a block stands, and the address of its byte if that is one of the data.
    fn place_of(&self, character: usize, parsed: &Parsed, part: Part) -> (String, Option<Address>) {
        let Some(layout) = self.framing.layout(part) else { return (String::new(), None) };
        let block = block_of(self.framing, part, parsed, 0..0, Verdict::Good);
        let mut pieces = block.pieces.iter();
        let ranges = layout.ranges(parsed.count);
        for (index, place) in field_places(self.framing, layout, parsed).into_iter().enumerate() {
            let field = &layout.fields[index];
            let piece =
                if let Kind::Data(data) = &field.kind { pieces.next().map(|piece| (piece, data)) } else { None };
            if !place.contains(&character) {
                continue;
            }
            let address = piece.and_then(|((base, bytes), data)| {
                let index = self.byte_of(&parsed.body[ranges[index].clone()], character - place.start);
                let distance = if data.falling { bytes.len().checked_sub(index + 1)? } else { index };
                (distance < bytes.len()).then(|| base.wrapping_add(distance as u16))
            });
            return (field.name.clone(), address);
        }
        (String::new(), None)
    }

    /// Which byte of a field a character of it stands for.
    fn byte_of(&self, bytes: &[u8], character: usize) -> usize {
        let (mut index, mut characters) = (0, Vec::new());
        for &byte in bytes {
            self.framing.coding.write(&[byte], &mut characters);
            if character < characters.len() {
                break;
            }
            index += 1;
        }
        index
    }

    fn sum_up(&self, at: usize, mut found: Vec<(usize, u8, Parsed, Part)>) -> (Slips, Option<Explained>) {
        match found.len() {
            0 => (Slips::None, None),
            1 => {
                let (place, bit, mut parsed, part) = found.remove(0);
                let (offset, character) = (self.cleaned.offset(place), self.cleaned.characters[place]);
                let characters = self.framing.coding.characters;
                let is_parity = bit == 7 && characters.is_seven_bit();
                let right = characters.punch(if is_parity { character } else { character ^ 1 << bit });
                let (field, address) = self.place_of(place - at, &parsed, part);
                let slip = Slip { offset, bit, found: right ^ 1 << bit, right, field, address };
                parsed.end += at;
                (Slips::One(slip.clone()), Some(Explained { slips: Slips::One(slip), parsed, part }))
            }
            count => {
                let bit = found[0].1;
                let track = found.iter().all(|other| other.1 == bit).then_some(bit + 1);
                (Slips::Several { count, track }, None)
            }
        }
    }
}

/// A damaged block whose bytes stand on the tape as they are: a slip in its data leaves its fields where they are, so
/// that only its checks must be computed anew to rule the slip out.
struct Shape<'a> {
    layout: &'a Layout,
    body: Vec<u8>,
    ranges: Vec<Range<usize>>,
}

impl<'a> Shape<'a> {
    fn of(framing: &'a Framing, characters: &[u8]) -> Option<Self> {
        if !framing.coding.is_plain() || framing.coding.characters.is_seven_bit() {
            return None;
        }
        let (layout, parsed) =
            framing.layouts().find_map(|layout| Some((layout, parse(framing, layout, characters, 0).ok()?)))?;
        Some(Shape { layout, ranges: layout.ranges(parsed.count), body: parsed.body })
    }

    /// Whether a changed byte lies in the data and does not make the checks agree. Head, block and end differ before
    /// their data, so that a change there makes no other of the three.
    fn rules_out(&mut self, at: usize, change: u8) -> bool {
        if !self.layout.data().any(|(index, _)| self.ranges[index].contains(&at)) {
            return false;
        }
        self.body[at] ^= change;
        let fails = failed_check(self.layout, &self.body, &self.ranges).is_some();
        self.body[at] ^= change;
        fails
    }
}

/// What begins the characters, if a check proves it.
fn sound(framing: &Framing, characters: &[u8]) -> Option<(Parsed, Part)> {
    let layouts = framing.layouts().filter(|layout| !layout.checks.is_empty());
    layouts
        .filter_map(|layout| Some((parse(framing, layout, characters, 0).ok()?, layout.part)))
        .find(|(parsed, _)| parsed.is_sound())
}

/// The most characters that a layout takes.
fn longest(framing: &Framing, layout: &Layout) -> usize {
    let body = layout.ranges(layout.most()).last().map_or(0, |last| last.end);
    framing.coding.most_frames(body)
}

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
    let layout = framing.layout(block.part)?;
    let mut tries = allowed_tries(layout);
    let longest = framing.layouts().map(|layout| longest(framing, layout)).max()?;
    let end = tape.len().min(block.range.end.max(block.range.start + 2 * longest));
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

fn allowed_tries(layout: &Layout) -> usize {
    match check_bytes(layout) {
        0 => 0,
        1 => 1,
        _ => 256,
    }
}

/// Bytes of the widest check of a layout; 0 without one.
fn check_bytes(layout: &Layout) -> usize {
    let widths = layout.checks.iter().map(|&index| match &layout.fields[index].kind {
        Kind::Check { kind, .. } => kind.width(),
        _ => 0,
    });
    widths.max().unwrap_or(0)
}

fn with_changes(framing: &Framing, window: &mut [u8], start: usize, changes: &[Candidate]) -> Option<Block> {
    let before: Vec<_> = changes.iter().map(|change| window[change.offset - start]).collect();
    for change in changes {
        window[change.offset - start] = change.frame;
    }
    let cleaned = Cleaned::new(&framing.coding, window);
    let found = sound(framing, &cleaned.characters).map(|(parsed, part)| {
        let frames = cleaned.frames(0..parsed.end);
        let verdict = framing.layout(part).map_or(Verdict::Unchecked, verdict);
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
