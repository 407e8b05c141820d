//! The single slip that would explain a damaged block. Whatever is tried must be proved by the block's own check.

use std::ops::Range;

use super::cleaned::Cleaned;
use super::content::block_of;
use super::declared::Framing;
use super::part::Part;
use super::reading::{Slip, Slips, Verdict};
use crate::notation::Address;
use crate::record::{Digits, Kind, Parsed, Record};

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
        self.try_all(at, at..claimed.min(at + self.framing.longest_part()))
    }

    /// The single slip in its first frames that would make a block of what begins at `at`.
    pub fn start(&mut self, at: usize) -> Option<Explained> {
        let fixed = self.framing.parts().map(|(_, record)| record.ranges(0).last().map_or(0, |last| last.end)).max()?;
        let end = self.cleaned.characters.len().min(at + self.framing.coding.most_characters(fixed).min(32));
        let (slips, explained) = self.try_all(at, at..end);
        explained.map(|explained| Explained { slips, ..explained }).or_else(|| self.lost_mark(at))
    }

    /// The lost frame of a mark that would make a block of what begins at `at`. Any noise could have lost a mark, so that
    /// more must speak for it than a check of 8 bits: a wider one, or digits all the way.
    fn lost_mark(&self, at: usize) -> Option<Explained> {
        let framing = self.framing;
        let rest = &self.cleaned.characters[at..self.cleaned.characters.len().min(at + self.framing.longest_part())];
        for (part, record) in framing.parts() {
            let Some(Kind::Mark(mark)) = record.fields.first().map(|field| &field.kind) else { continue };
            if record.check_width() < 2 && (record.check_width() == 0 || framing.coding.digits == Digits::Binary) {
                continue;
            }
            for lost in 0..mark.len() {
                let left = [&mark[..lost], &mark[lost + 1..]].concat();
                let Some(behind) = rest.strip_prefix(&left[..]) else { continue };
                let whole = [&mark[..], behind].concat();
                let Ok(mut parsed) = record.parse(&framing.coding, &whole, 0) else { continue };
                let end = at + parsed.end - 1;
                if parsed.is_sound() && self.cleaned.flaws_in(at..end).is_empty() {
                    parsed.end = end;
                    let frame = framing.characters.punch(mark[lost]);
                    let slips = Slips::Lost { offset: self.cleaned.offset(at + lost), frame };
                    return Some(Explained { slips, parsed, part });
                }
            }
        }
        None
    }

    fn try_all(&mut self, at: usize, places: Range<usize>) -> (Slips, Option<Explained>) {
        let checked = self.framing.parts().any(|(_, record)| !record.checks.is_empty());
        let window_end = self.cleaned.characters.len().min(at + self.framing.longest_part());
        let mut window = self.cleaned.characters[at..window_end].to_vec();
        let cost = places.len() * window.len() * 8;
        if !checked || cost > EFFORT_A_BLOCK || cost > self.effort {
            return (if checked { Slips::NotTried } else { Slips::None }, None);
        }
        self.effort -= cost;
        let mut found: Vec<(usize, u8, Parsed, Part)> = Vec::new();
        let mut shape = Shape::of(self.framing, &window);
        for place in places {
            let (frame, before) = (self.frame(place), window[place - at]);
            for bit in 0..8 {
                if shape.as_mut().is_some_and(|shape| shape.rules_out(place - at, 1 << bit)) {
                    continue;
                }
                let (character, is_right) = self.framing.characters.read(frame ^ 1 << bit);
                if !is_right {
                    continue;
                }
                window[place - at] = character;
                if let Some((parsed, part)) = sound(self.framing, &window)
                    && self.cleaned.flaws_in(at..at + parsed.end).iter().all(|&flaw| flaw == place)
                {
                    found.push((place, bit, parsed, part));
                }
                window[place - at] = before;
            }
        }
        self.sum_up(at, found)
    }

    /// A character as its frame was read, its eighth track with it.
    fn frame(&self, place: usize) -> u8 {
        let frame = self.framing.characters.punch(self.cleaned.characters[place]);
        if self.cleaned.flaws_in(place..place + 1).is_empty() { frame } else { frame ^ 0o200 }
    }

    /// The field in which a character of a block stands, and the address of its byte if that is one of the data.
    fn place_of(&self, character: usize, parsed: &Parsed, part: Part) -> (String, Option<Address>) {
        let Some(record) = self.framing.part(part) else { return (String::new(), None) };
        let block = block_of(self.framing, part, parsed, 0..0, Verdict::Good);
        let mut pieces = block.pieces.iter();
        let ranges = record.ranges(parsed.count);
        for (index, place) in record.places(&self.framing.coding, parsed).into_iter().enumerate() {
            let field = &record.fields[index];
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
                let (offset, found) = (self.cleaned.offset(place), self.frame(place));
                let (field, address) = self.place_of(place - at, &parsed, part);
                let slip = Slip { offset, bit, found, right: found ^ 1 << bit, field, address };
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
    record: &'a Record,
    body: Vec<u8>,
    ranges: Vec<Range<usize>>,
}

impl<'a> Shape<'a> {
    fn of(framing: &'a Framing, characters: &[u8]) -> Option<Self> {
        if !framing.coding.is_plain() || framing.characters.is_seven_bit() {
            return None;
        }
        let mut read = framing.parts().map(|(_, record)| (record, record.parse(&framing.coding, characters, 0)));
        let (record, parsed) = read.find_map(|(record, parsed)| Some((record, parsed.ok()?)))?;
        Some(Shape { record, ranges: record.ranges(parsed.count), body: parsed.body })
    }

    /// Whether a changed byte lies in the data and does not make the checks agree. Head, block and end differ before
    /// their data, so that a change there makes no other of the three.
    fn rules_out(&mut self, at: usize, change: u8) -> bool {
        if !self.record.data().any(|(index, _)| self.ranges[index].contains(&at)) {
            return false;
        }
        self.body[at] ^= change;
        let fails = self.record.failed_check(&self.body, &self.ranges).is_some();
        self.body[at] ^= change;
        fails
    }
}

/// What begins the characters, if a check proves it.
pub(super) fn sound(framing: &Framing, characters: &[u8]) -> Option<(Parsed, Part)> {
    let checked = framing.parts().filter(|(_, record)| !record.checks.is_empty());
    let mut read =
        checked.filter_map(|(part, record)| Some((record.parse(&framing.coding, characters, 0).ok()?, part)));
    read.find(|(parsed, _)| parsed.is_sound())
}
