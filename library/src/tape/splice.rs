//! The tape that several recordings of it make together: each block from a recording that has it good.

use super::framing::{Block, Framing, Merged, StretchKind};
use super::recording::Recording;

/// The frames of the tape: every good block of `merged` as it stands in one of the recordings, mended frames included,
/// with the filler and the lettering that precede it there, and the filler behind the last. What no recording has good is
/// left out.
pub fn splice(framing: &Framing, merged: &Merged, recordings: &[Recording]) -> Vec<u8> {
    let mut tape = Vec::new();
    let mut last = None;
    for block in merged.programs.iter().flat_map(|program| &program.blocks).filter(|block| block.is_good()) {
        let Some(place) = recordings.iter().filter_map(|recording| Place::of(recording, block)).max_by_key(Place::lead)
        else {
            continue;
        };
        if place.lead() > 0 {
            tape.extend(place.before());
        } else if last.is_some() {
            // What stood between was lost with the block before it.
            tape.extend(framing.gap.bytes.repeat(framing.gap.count));
        }
        tape.extend(place.frames());
        last = Some(block);
    }
    let behind = last.and_then(|block| {
        let places = recordings.iter().filter_map(|recording| Place::of(recording, block));
        places.map(|place| place.behind()).max_by_key(|frames| frames.len())
    });
    tape.extend(behind.unwrap_or_default());
    tape
}

/// A block in one of the recordings.
struct Place<'a> {
    recording: &'a Recording,
    /// Which stretch of its reading.
    at: usize,
}

impl<'a> Place<'a> {
    /// Where a recording has the block, good and with the same content.
    fn of(recording: &'a Recording, block: &Block) -> Option<Place<'a>> {
        let is_it = |other: &Block| {
            other.is_good()
                && (other.part, other.number, other.entry) == (block.part, block.number, block.entry)
                && (&other.pieces, &other.label) == (&block.pieces, &block.label)
        };
        let reading = &recording.reading;
        let at = reading.stretches.iter().position(|stretch| match stretch.kind {
            StretchKind::Block { program, block } => is_it(&reading.programs[program].blocks[block]),
            _ => false,
        })?;
        Some(Place { recording, at })
    }

    fn frames(&self) -> &'a [u8] {
        &self.recording.tape[self.recording.reading.stretches[self.at].range.clone()]
    }

    /// The filler and the lettering right before it.
    fn before(&self) -> &'a [u8] {
        let stretches = &self.recording.reading.stretches;
        let is_blank = |at: &usize| matches!(stretches[*at].kind, StretchKind::Filler | StretchKind::Lettering(_));
        let first = (0..self.at).rev().take_while(is_blank).last().unwrap_or(self.at);
        &self.recording.tape[stretches[first].range.start..stretches[self.at].range.start]
    }

    fn lead(&self) -> usize {
        self.before().len()
    }

    /// The filler right behind it.
    fn behind(&self) -> &'a [u8] {
        match self.recording.reading.stretches.get(self.at + 1) {
            Some(next) if next.kind == StretchKind::Filler => &self.recording.tape[next.range.clone()],
            _ => &[],
        }
    }
}
