//! The phase that runs through the bits of a tape, and how far it can be trusted.
//!
//! A matched filter that does not know the phase wastes part of what it hears. A tape was written by one oscillator
//! whose phase runs on through every bit edge, so that the bits around one tell the phase that it must have. How that is
//! used depends on the pair. Of close tones, whose phase depends on the data, all bits are decided together
//! ([`trellis`](super::trellis)). Of wide ones the phase does not depend on the data, but an edge that is known to 1/32
//! of a bit leaves it open how the two tones lie to each other; there, doubtful bits are decided by the neighbours of
//! either tone ([`block`](super::block)).

use std::ops::Range;

use super::bits::Bit;
use super::correlate::Tones;
use super::levels::Levels;
use super::modulation::Tone;
use super::phasor::Phasor;

/// The decided bits of a window, with what is needed to follow the phase from one to the next.
pub(super) struct Phases<'a> {
    pub tones: &'a Tones,
    pub levels: &'a Levels,
    /// The phase of mark against space at the start of each bit.
    turns: Vec<Phasor>,
}

impl<'a> Phases<'a> {
    pub(super) fn new(tones: &'a Tones, levels: &'a Levels, bits: &[Bit]) -> Phases<'a> {
        Phases { tones, levels, turns: bits.iter().map(|bit| tones.beat_at(bit.at)).collect() }
    }

    /// Whether bit `index` follows right on the one before it.
    pub(super) fn follows(&self, bits: &[Bit], index: usize) -> bool {
        index > 0 && bits[index].at.abs_diff(bits[index - 1].at + self.tones.per_bit) <= 1
    }

    /// Whether nothing was heard of a bit: its phase tells nothing, and no phase may tell its value.
    pub(super) fn is_erased(&self, bits: &[Bit], index: usize) -> bool {
        let at = bits[index].at;
        self.levels.at(at).is_erased(self.tones.mark[at], self.tones.space[at])
    }

    /// Whether the level of a bit is plainly another one than that of the bit before or behind it.
    pub(super) fn is_unsteady(&self, bits: &[Bit], index: usize) -> bool {
        const PLAINLY: f32 = 1.5;
        let (at, per_bit) = (bits[index].at, self.tones.per_bit);
        let level = |at: usize| self.levels.at(at).of(Tone::Mark);
        let near = [level(at.saturating_sub(per_bit)), level(at), level(at + per_bit)];
        near.iter().copied().fold(0.0, f32::max) > PLAINLY * near.iter().copied().fold(f32::INFINITY, f32::min)
    }

    /// The bits around `index`, at most `reach` to either side, that follow one another without a break.
    pub(super) fn neighbours(&self, bits: &[Bit], index: usize, reach: usize) -> Range<usize> {
        let before = (index.saturating_sub(reach)..index).rev().take_while(|i| self.follows(bits, i + 1)).count();
        let after = (index + 1..(index + reach + 1).min(bits.len())).take_while(|i| self.follows(bits, *i)).count();
        index - before..index + after + 1
    }

    /// Hands the amplitude of each bit, turned back by the changes of tone before it, to `take`.
    pub(super) fn walk(
        &self,
        bits: &[Bit],
        range: Range<usize>,
        tone: impl Fn(usize) -> Tone,
        mut take: impl FnMut(Tone, Phasor),
    ) {
        let mut turned = Phasor { re: 1.0, im: 0.0 };
        let mut before = tone(range.start);
        for index in range {
            let now = tone(index);
            match (before, now) {
                (Tone::Mark, Tone::Space) => turned = turned * self.turns[index].conj(),
                (Tone::Space, Tone::Mark) => turned = turned * self.turns[index],
                _ => {}
            }
            take(now, self.tones.of(now)[bits[index].at] * turned);
            before = now;
        }
    }

    /// The amplitude of `tone` in a bit, in the frame of the space tone: its phase is the same for every space bit in a
    /// row, and the two agree at the start of each bit.
    pub(super) fn at_start(&self, bits: &[Bit], index: usize, tone: Tone) -> Phasor {
        let value = self.tones.of(tone)[bits[index].at];
        if tone == Tone::Mark { value * self.turns[index] } else { value }
    }

    /// How well the phase of each bit agrees with its neighbours of the same tone, 1 for one oscillator and about 0 for
    /// two that run free; and the phase by which a recorder's delays put space ahead of mark.
    pub(super) fn survey(&self, bits: &[Bit]) -> (f32, Phasor) {
        const REACH: usize = 5;
        let (mut agreed, mut total) = (0.0, 1e-20);
        let mut between = Phasor::default();
        let mut start = 0;
        while start < bits.len() {
            let range = start..self.neighbours(bits, start, REACH).end;
            let mut sums = [Phasor::default(); 2];
            self.walk(
                bits,
                range.clone(),
                |i| bits[i].tone,
                |tone, value| {
                    let sum = sums[tone as usize];
                    agreed += (value * sum.conj()).re;
                    total += value.length() * sum.length();
                    sums[tone as usize] = sum + value;
                },
            );
            let [mark, space] = sums;
            between = between + space * mark.conj();
            start = range.end;
        }
        (agreed / total, between.scaled(1.0 / between.length().max(1e-20)))
    }
}
