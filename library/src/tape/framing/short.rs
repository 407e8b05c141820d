//! Leaders and gaps that have fewer frames than the framing describes.

use std::ops::Range;

use super::declared::Framing;
use super::part::Part;
use super::reading::{Block, Reading, StretchKind};

/// Filler that is shorter than described.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Short {
    /// Where it stands on the tape; empty where there is none of it.
    pub range: Range<usize>,
    /// What it should be.
    pub kind: ShortKind,
    /// The frames that the framing describes.
    pub described: usize,
}

/// What is shorter than described.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortKind {
    /// The leader with which the tape begins.
    Leader,
    /// The gap between two of head, blocks and end that follow one another.
    Gap,
}

/// The leader at the beginning of a tape, and the gaps between good parts of a program, that are shorter than described.
/// A frame that was lost within a block leaves such a gap where the first frame of the gap is read as the block's last.
pub fn short(framing: &Framing, reading: &Reading) -> Vec<Short> {
    let mut found = Vec::new();
    let (mut before, mut filler): (Option<(usize, &Block)>, bool) = (None, true);
    let mut end = 0;
    for stretch in &reading.stretches {
        let StretchKind::Block { program, block } = stretch.kind else {
            filler &= matches!(stretch.kind, StretchKind::Filler);
            continue;
        };
        let read = &reading.programs[program];
        let here = &read.blocks[block];
        let range = end..stretch.range.start;
        let kind = match before {
            // That a tape begins without a leader is told already.
            None => (!read.is_unled).then_some((ShortKind::Leader, framing.leader.frames())),
            Some((same, last)) => {
                let follows = same == program && last.is_good() && last.part != Part::End;
                follows.then_some((ShortKind::Gap, framing.gap.frames()))
            }
        };
        if let Some((kind, described)) = kind.filter(|(_, described)| filler && range.len() < *described) {
            found.push(Short { range, kind, described });
        }
        (before, filler, end) = (Some((program, here)), true, stretch.range.end);
    }
    found
}
