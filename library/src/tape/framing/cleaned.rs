//! The characters of a tape, each with the frame on which it stands.

use std::borrow::Cow;
use std::ops::Range;

use super::declared::Framing;

/// The characters of a tape: without ignored frames and without parity.
pub(super) struct Cleaned<'a> {
    pub characters: Cow<'a, [u8]>,
    /// The offset on the tape of each character, where it is not the character's own index.
    offsets: Option<Vec<usize>>,
    /// The characters whose eighth track is wrong, rising.
    pub flaws: Vec<usize>,
}

impl<'a> Cleaned<'a> {
    pub fn new(framing: &Framing, raw: &'a [u8]) -> Self {
        if framing.ignore.is_empty() && !framing.characters.is_seven_bit() {
            return Cleaned { characters: Cow::Borrowed(raw), offsets: None, flaws: Vec::new() };
        }
        let (mut characters, mut offsets, mut flaws) = (Vec::with_capacity(raw.len()), Vec::new(), Vec::new());
        for (offset, &frame) in raw.iter().enumerate() {
            let (character, sound) = framing.characters.read(frame);
            if framing.ignore.contains(character) {
                continue;
            }
            if !sound {
                flaws.push(characters.len());
            }
            characters.push(character);
            offsets.push(offset);
        }
        let offsets = (offsets.len() < raw.len()).then_some(offsets);
        Cleaned { characters: Cow::Owned(characters), offsets, flaws }
    }

    /// The offset on the tape of a character; of the end, one behind the last character's.
    pub fn offset(&self, index: usize) -> usize {
        match &self.offsets {
            None => index,
            Some(offsets) => match offsets.get(index) {
                Some(&offset) => offset,
                None => offsets.last().map_or(0, |last| last + 1),
            },
        }
    }

    /// The frames of a run of characters.
    pub fn frames(&self, characters: Range<usize>) -> Range<usize> {
        let end =
            if characters.is_empty() { self.offset(characters.start) } else { self.offset(characters.end - 1) + 1 };
        self.offset(characters.start)..end
    }

    /// The characters within whose eighth track is wrong.
    pub fn flaws_in(&self, characters: Range<usize>) -> &[usize] {
        let first = self.flaws.partition_point(|&flaw| flaw < characters.start);
        let behind = self.flaws.partition_point(|&flaw| flaw < characters.end);
        &self.flaws[first..behind.max(first)]
    }
}
