//! The bytes of a tape to blocks with a verdict each, however torn and damaged the tape is.
//!
//! The scanner walks the tape once. Where a block begins it reads it; where a check fails it looks whether a sound
//! block begins inside, so that one wrong length does not swallow its neighbours; where nothing begins it notes noise.

use std::ops::Range;

use super::cleaned::Cleaned;
use super::declared::Framing;
use super::explain::{Explained, Explainer};
use super::find::{Find, What};
use super::gather::Gatherer;
use super::part::Part;
use super::reading::{Cause, Reading, Slips, Verdict};
use crate::record::{ByteSet, Miss, Parsed, Record};

/// Reads a tape. Every frame of it ends up in exactly one stretch; only what a check proves is called good.
pub fn decode(framing: &Framing, tape: &[u8]) -> Reading {
    let cleaned = Cleaned::new(framing, tape);
    let finds = Scanner::new(framing, &cleaned).scan();
    let mut gatherer = Gatherer::new(framing, &cleaned, tape);
    for find in finds {
        gatherer.take(find);
    }
    gatherer.finish()
}

struct Scanner<'a> {
    framing: &'a Framing,
    cleaned: &'a Cleaned<'a>,
    fillers: ByteSet,
    /// The characters with which a head, block or end can begin.
    starts: ByteSet,
    explainer: Explainer<'a>,
    /// Characters that may still be read in search of blocks inside damaged ones.
    patience: usize,
}

impl<'a> Scanner<'a> {
    fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>) -> Self {
        let firsts = framing.parts().map(|(_, record)| record.first(&framing.coding));
        let starts = firsts.fold(ByteSet::default(), ByteSet::union);
        let patience = 1_000_000 + 64 * cleaned.characters.len();
        let explainer = Explainer::new(framing, cleaned);
        Scanner { framing, cleaned, fillers: framing.fillers(), starts, explainer, patience }
    }

    fn scan(mut self) -> Vec<Find> {
        let mut finds: Vec<Find> = Vec::new();
        let mut at = 0;
        while let Some(&character) = self.cleaned.characters.get(at) {
            if self.fillers.contains(character) {
                let run = self.cleaned.characters[at..].iter().take_while(|&&next| self.fillers.contains(next)).count();
                finds.push(Find { range: at..at + run, what: What::Filler });
                at += run;
                continue;
            }
            let begins_here = !matches!(finds.last(), Some(Find { what: What::Noise, .. }));
            match self.block(at, begins_here) {
                Some(find) => {
                    at = find.range.end;
                    finds.push(find);
                }
                None => {
                    match finds.last_mut() {
                        Some(Find { range, what: What::Noise }) => range.end = at + 1,
                        _ => finds.push(Find { range: at..at + 1, what: What::Noise }),
                    }
                    at += 1;
                }
            }
        }
        finds
    }

    /// The block that begins at a place, sound or not.
    fn block(&mut self, at: usize, begins_here: bool) -> Option<Find> {
        let character = self.cleaned.characters[at];
        let attempt = if self.starts.contains(character) { attempt(self.framing, self.cleaned, at) } else { None };
        match attempt {
            Some(Attempt { part, record, parsed: Ok(parsed), cause: None }) => {
                let verdict = Verdict::of_sound(record);
                let range = at..parsed.end;
                Some(Find { range, what: What::Block { part, parsed: Some(parsed), verdict } })
            }
            Some(Attempt { part, parsed, cause, .. }) => {
                Some(self.damaged(at, part, parsed.ok(), cause.unwrap_or(Cause::Torn)))
            }
            None if begins_here => {
                let Explained { slips, parsed, part } = self.explainer.start(at)?;
                let verdict = Verdict::Bad { cause: Cause::Start, slips };
                let range = at..parsed.end;
                Some(Find { range, what: What::Block { part, parsed: Some(parsed), verdict } })
            }
            None => None,
        }
    }

    /// A block that begins here and is damaged: it ends where a slip would let it end, or where the next sound block
    /// begins, or where it says.
    fn damaged(&mut self, at: usize, part: Part, parsed: Option<Parsed>, cause: Cause) -> Find {
        let claimed = parsed.as_ref().map_or(self.cleaned.characters.len(), |parsed| parsed.end);
        let (slips, explained) = match self.explainer.slips(at, claimed) {
            (slips @ Slips::One(_), Some(Explained { parsed, part, .. })) => (slips, Some((parsed, part))),
            (slips, _) => (slips, None),
        };
        let end = match &explained {
            Some((parsed, _)) => parsed.end,
            None => self.sound_block_within(at + 1..claimed).unwrap_or(claimed),
        };
        let (parsed, part) = explained.map_or((parsed, part), |(parsed, part)| (Some(parsed), part));
        let verdict = Verdict::Bad { cause, slips };
        Find { range: at..end, what: What::Block { part, parsed, verdict } }
    }

    /// Where within a range a block begins that a check proves.
    fn sound_block_within(&mut self, mut range: Range<usize>) -> Option<usize> {
        range.find(|&at| {
            if !self.starts.contains(self.cleaned.characters[at]) || self.patience == 0 {
                return false;
            }
            let found = attempt(self.framing, self.cleaned, at);
            let read = match &found {
                Some(Attempt { parsed: Ok(parsed), .. }) => parsed.end - at,
                _ => 8,
            };
            self.patience = self.patience.saturating_sub(read);
            matches!(found, Some(Attempt { record, cause: None | Some(Cause::Parity { .. }), .. }) if !record.checks.is_empty())
        })
    }
}

/// What was read where a block begins.
struct Attempt<'a> {
    part: Part,
    record: &'a Record,
    parsed: Result<Parsed, Miss>,
    /// What speaks against it.
    cause: Option<Cause>,
}

/// Reads whatever begins at a place: a sound block before a damaged one, a damaged one before a torn one.
fn attempt<'a>(framing: &'a Framing, cleaned: &Cleaned, at: usize) -> Option<Attempt<'a>> {
    let mut best: Option<Attempt> = None;
    for (part, record) in framing.parts() {
        let parsed = match record.parse(&framing.coding, &cleaned.characters, at) {
            Err(Miss::Other) => continue,
            parsed => parsed,
        };
        let cause = match &parsed {
            Ok(parsed) => cause(record, parsed).or_else(|| flawed(cleaned, record, at..parsed.end)),
            Err(_) => Some(Cause::Torn),
        };
        if cause.is_none() {
            return Some(Attempt { part, record, parsed, cause });
        }
        if best.as_ref().is_none_or(|best| best.parsed.is_err()) {
            best = Some(Attempt { part, record, parsed, cause });
        }
    }
    best
}

/// What the block itself speaks against it.
fn cause(record: &Record, parsed: &Parsed) -> Option<Cause> {
    if parsed.garbled {
        return Some(Cause::Character);
    }
    let (field, found, right) = parsed.failed?;
    Some(Cause::Check { name: record.fields[field].name.clone(), found, right })
}

/// A frame whose eighth track is wrong speaks against a block, whatever its checks say of the characters: it is not what
/// was punched.
fn flawed(cleaned: &Cleaned, record: &Record, characters: Range<usize>) -> Option<Cause> {
    let frames = cleaned.flaws_in(characters).len();
    (frames > 0).then_some(Cause::Parity { frames, checked: !record.checks.is_empty() })
}
