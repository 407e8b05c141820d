//! The stretches of a tape, a line each, within bounds.

use std::fmt::Write;

use serde_json::{Value, json};

use super::verdicts::{line, listed, reasons};
use coldwright::notation::{Notation, counted};
use coldwright::tape::framing::{Block, Noise, Reading, Short, ShortKind, Stretch, StretchKind};

/// How much is printed of a tape; what is left out is counted.
#[derive(Clone, Copy, Debug)]
pub struct Bounds {
    /// Stretches. Behind them only damaged blocks are printed, as many again.
    pub stretches: usize,
    /// Stretches of noise, with the filler around them.
    pub noise: usize,
}

impl Bounds {
    /// What a person reads, or all of it. A tape of 64 KiB in blocks of 128 bytes has a thousand stretches.
    pub fn of(all: bool) -> Bounds {
        if all { Bounds { stretches: usize::MAX, noise: usize::MAX } } else { Bounds { stretches: 1200, noise: 40 } }
    }
}

/// The stretches of a tape, a line each, the reasons of a damaged block below it.
pub fn stretches(reading: &Reading, most: Bounds, notation: Notation) -> String {
    let mut out = String::new();
    let (shown, left) = shown(reading, most, |_| true);
    for stretch in shown {
        let (start, frames) = (stretch.range.start, stretch.range.len());
        let block = block_of(reading, stretch);
        let what = match &stretch.kind {
            StretchKind::Filler => {
                format!("{:<9} {}{}", "filler", counted(frames, "frame"), flaws(reading.flaws_in(&stretch.range)))
            }
            StretchKind::Noise(noise) => {
                format!("{:<9} {} of no block{}", "noise", counted(frames, "frame"), explained(*noise))
            }
            StretchKind::Lettering(text) => format!("{:<9} \"{text}\"", "lettering"),
            StretchKind::Block { .. } => block.map_or(String::new(), |block| line(block, notation)),
        };
        let _ = writeln!(out, "{start:>7}  {what}");
        if let Some(block) = block {
            reasons(block, notation, 18, &mut out);
        }
    }
    out + &left
}

/// The block that a stretch is, if it is one.
fn block_of<'a>(reading: &'a Reading, stretch: &Stretch) -> Option<&'a Block> {
    match stretch.kind {
        StretchKind::Block { program, block } => Some(&reading.programs[program].blocks[block]),
        _ => None,
    }
}

/// Of the stretches of a tape that are to be told, those that are printed, and a line on the others.
pub fn shown(reading: &Reading, most: Bounds, is_told: impl Fn(&Stretch) -> bool) -> (Vec<&Stretch>, String) {
    let (mut shown, mut left) = (Vec::new(), LeftOut::default());
    let (mut damaged, mut noise) = (0, 0);
    for (index, stretch) in reading.stretches.iter().filter(|stretch| is_told(stretch)).enumerate() {
        let block = block_of(reading, stretch);
        let is_damaged = block.is_some_and(|block| !block.is_good());
        noise += usize::from(matches!(stretch.kind, StretchKind::Noise(_)));
        let is_left = match (block, index >= most.stretches) {
            (None, _) => noise > most.noise || index >= most.stretches,
            (Some(_), true) => !is_damaged || damaged >= most.stretches,
            (Some(_), false) => false,
        };
        if is_left {
            left.count(stretch, is_damaged);
        } else {
            damaged += usize::from(is_damaged);
            shown.push(stretch);
        }
    }
    (shown, left.words())
}

/// Stretches that are not printed.
#[derive(Default)]
struct LeftOut {
    filler: usize,
    noise: usize,
    lettering: usize,
    blocks: usize,
    damaged: usize,
}

impl LeftOut {
    fn count(&mut self, stretch: &Stretch, is_damaged: bool) {
        match stretch.kind {
            StretchKind::Filler => self.filler += 1,
            StretchKind::Noise(_) => self.noise += 1,
            StretchKind::Lettering(_) => self.lettering += 1,
            StretchKind::Block { .. } if is_damaged => self.damaged += 1,
            StretchKind::Block { .. } => self.blocks += 1,
        }
    }

    fn words(&self) -> String {
        let kinds = [
            (self.filler, "of filler"),
            (self.noise, "of noise"),
            (self.lettering, "of lettering"),
            (self.blocks, "good blocks and ends"),
            (self.damaged, "damaged ones"),
        ];
        let told: Vec<_> =
            kinds.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
        if told.is_empty() {
            return String::new();
        }
        format!("    ...  not printed: {}; `--all` prints them\n", listed(&told))
    }
}

/// How much of filler has a wrong eighth track, to be put behind how much there is.
pub fn flaws(frames: usize) -> String {
    if frames == 0 { String::new() } else { format!(", track 8 of {frames} is wrong") }
}

/// What explains noise, to be put behind what it is.
pub fn explained(noise: Noise) -> &'static str {
    match noise {
        Noise::BeforeLeader => ", before the leader",
        Noise::BehindEnd => ", behind the end",
        Noise::Slip => ": one wrong bit of the filler explains it",
        Noise::NumbersGoOn => ": by the numbers no block is missing",
        Noise::Unexplained => ", UNEXPLAINED: it may be what is left of one",
    }
}

/// Places of gaps that are named; more of them are counted.
const MOST_GAPS: usize = 4;

/// A remark on a leader and on gaps that are shorter than the framing describes, a line for each kind.
pub fn shorter(shorts: &[Short]) -> String {
    let mut out = String::new();
    for leader in shorts.iter().filter(|short| short.kind == ShortKind::Leader) {
        let _ = writeln!(
            out,
            "the leader is shorter than described: {} of {} frames",
            leader.range.len(),
            leader.described
        );
    }
    let gaps: Vec<_> = shorts.iter().filter(|short| short.kind == ShortKind::Gap).collect();
    let Some(first) = gaps.first() else { return out };
    let place = |gap: &&&Short| format!("{} before frame {}", gap.range.len(), gap.range.end);
    let mut places: Vec<_> = gaps.iter().take(MOST_GAPS).map(|gap| place(&gap)).collect();
    if gaps.len() > MOST_GAPS {
        places.push(format!("{} more", gaps.len() - MOST_GAPS));
    }
    let (number, described) = (counted(gaps.len(), "gap"), counted(first.described, "frame"));
    let verb = if gaps.len() == 1 { "is" } else { "are" };
    let _ = writeln!(
        out,
        "{number} {verb} shorter than the {described} described: {}; a frame lost from a block can leave that",
        listed(&places)
    );
    out
}

/// A shorter leader or gap as JSON.
pub fn short_json(short: &Short) -> Value {
    let kind = match short.kind {
        ShortKind::Leader => "leader",
        ShortKind::Gap => "gap",
    };
    json!({ "start": short.range.start, "end": short.range.end, "kind": kind, "described": short.described })
}
