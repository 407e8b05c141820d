//! Decoded windows joined to one reading.

use super::reading::{Carrier, HeardByte, Reading};
use super::wav::WavFacts;
use super::window::{Piece, Window};

/// Carriers closer than this, in seconds, are one.
const JOIN: f64 = 0.05;

/// A decoded window and where it lies in the recording, in seconds.
pub(super) struct Placed {
    pub start: f64,
    /// The span that no other window has.
    pub core: (f64, f64),
    pub candidate: usize,
    pub window: Window,
}

impl Placed {
    /// Whether it does not know by itself where the characters at the start of its core begin.
    pub(super) fn is_loose(&self) -> bool {
        self.start + self.window.loose_to > self.core.0
    }
}

/// Windows joined in order.
#[derive(Default)]
pub(super) struct Stitch {
    bytes: Vec<HeardByte>,
    carriers: Vec<Piece>,
    channel_seconds: Vec<f64>,
    /// How far it has come, in seconds.
    pub done: f64,
}

impl Stitch {
    /// Nothing yet, of a recording with so many signals to choose from.
    pub(super) fn new(candidates: usize) -> Stitch {
        Stitch { channel_seconds: vec![0.0; candidates], ..Stitch::default() }
    }

    /// When the last character began, in seconds from `start`, if that lies behind it and is sure.
    pub(super) fn footing(&self, start: f64) -> Option<f64> {
        let last = self.bytes.last().filter(|byte| byte.from >= start && !byte.is_doubtful())?;
        Some(last.from - start)
    }

    /// Takes over what lies in the window's core. A character on the border is heard by both windows, to the sample or
    /// nearly; the later one's is dropped if it lies on the earlier one's.
    pub(super) fn add(&mut self, placed: Placed) {
        let Placed { start, core: (core_from, core_to), candidate, window } = placed;
        let mut after = self.bytes.last().map_or(f64::NEG_INFINITY, |byte| 0.5 * (byte.from + byte.to));
        let first = self.bytes.is_empty();
        for mut byte in window.bytes {
            byte.from += start;
            byte.to += start;
            let tolerance = 0.5 * (byte.to - byte.from);
            let in_core = byte.from < core_to && (first || byte.from >= core_from - tolerance);
            if in_core && byte.from > after {
                after = 0.5 * (byte.from + byte.to);
                self.bytes.push(byte);
            }
        }
        for mut piece in window.carriers {
            piece.from = (piece.from + start).max(core_from);
            piece.to = (piece.to + start).min(core_to);
            match self.carriers.last_mut() {
                _ if piece.to <= piece.from => {}
                Some(last) if piece.from - last.to < JOIN => {
                    last.to = piece.to;
                    last.quality.join(&piece.quality);
                }
                _ => self.carriers.push(piece),
            }
        }
        self.channel_seconds[candidate] += core_to - core_from;
        self.done = core_to;
    }

    pub(super) fn finish(self, facts: WavFacts) -> Reading {
        let Stitch { bytes, carriers, channel_seconds, .. } = self;
        let mut from = 0;
        let count = carriers.len();
        let carriers = carriers.into_iter().enumerate().map(|(index, piece)| {
            let to = if index + 1 == count { bytes.len() } else { bytes.partition_point(|byte| byte.from < piece.to) };
            let range = from..to.max(from);
            from = range.end;
            Carrier { from: piece.from, to: piece.to, bytes: range, quality: piece.quality }
        });
        let carriers = carriers.collect();
        Reading { facts, bytes, carriers, channel_seconds }
    }
}
