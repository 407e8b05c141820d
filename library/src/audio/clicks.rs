//! Sparks and dirty contacts: spikes far steeper than the tones can be, taken out before any filter makes them longer.
//!
//! A spike is two steep edges of opposite direction close together, with nothing around them that is half as steep. What
//! lies between them is replaced by the cubic that goes on from both sides (interpolation across a click whose place is
//! known; Godsill and Rayner, Digital Audio Restoration, 1998, part II). The edges of square waves follow one another and
//! are left alone; so is noise, against which an edge must stand out.

use super::band::SLOWEST;
use super::modulation::Modulation;

/// Samples that are looked at together.
const BLOCK: usize = 1024;
/// Seconds that a spike may last.
const LONGEST: f64 = 0.000_3;
/// How much steeper than the mean an edge is: tones reach three times the mean, noise five times in one sample of 15,000.
const STEEP: f32 = 5.0;
/// Beside a spike there is nothing so great a part as steep as its edges: of a square wave the edges that fall between two
/// samples are about half as steep as the others.
const STANDS_OUT: f32 = 0.5;
/// Samples in a cycle of the higher tone below which its own slopes are too steep to tell.
const LEAST_IN_CYCLE: f64 = 15.0;
/// Samples over which the slope beside a spike is measured.
const SLOPE: usize = 3;

/// Takes spikes out of a signal as it comes.
pub(super) struct Clicks {
    /// What has come and was not handed on: some samples looked at already, then those that are not.
    pending: Vec<f32>,
    /// How many of them were looked at.
    seen: usize,
    longest: usize,
    /// Samples around a spike in which there is no other edge: more than half a cycle of the lower tone.
    alone: usize,
}

impl Clicks {
    /// For recordings at a sample rate that tells spikes from tones.
    pub(super) fn new(modulation: &Modulation, sample_rate: f64) -> Option<Clicks> {
        if sample_rate < LEAST_IN_CYCLE * modulation.highest_hz() {
            return None;
        }
        let longest = (LONGEST * sample_rate).ceil() as usize;
        let alone = (0.6 / (SLOWEST * modulation.lowest_hz()) * sample_rate).ceil() as usize;
        Some(Clicks { pending: Vec::new(), seen: 0, longest, alone })
    }

    /// Samples before and behind those looked at that must be at hand.
    fn margin(&self) -> usize {
        self.alone + self.longest + SLOPE + 2
    }

    /// Takes samples, appends what was looked at to `out`.
    pub(super) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        self.pending.extend_from_slice(samples);
        while self.seen + BLOCK + self.margin() <= self.pending.len() {
            self.mend(self.seen + BLOCK);
        }
        let done = self.seen.saturating_sub(self.margin());
        out.extend(self.pending.drain(..done));
        self.seen -= done;
    }

    /// Appends all that is left.
    pub(super) fn finish(&mut self, out: &mut Vec<f32>) {
        self.mend(self.pending.len());
        out.append(&mut self.pending);
        self.seen = 0;
    }

    /// Mends the spikes that begin before `to`.
    fn mend(&mut self, to: usize) {
        let from = self.seen.max(1);
        self.seen = to;
        let Some(block) = self.pending.get(from - 1..to) else { return };
        let steps = || block.iter().zip(block.get(1..).unwrap_or_default()).map(|(one, next)| next - one);
        let steep = STEEP * steps().map(f32::abs).sum::<f32>() / to.saturating_sub(from).max(1) as f32;
        if !steps().fold(false, |any, step| any | (step.abs() > steep)) {
            return;
        }
        let mut at = from;
        while let Some(first) = self.edge(at..to, steep) {
            let last = self.last_edge(first, steep);
            if self.is_spike(first, last, steep) {
                self.bridge(first - 2, last + 1);
            }
            at = last + 1;
        }
    }

    /// The first sample of a range that lies steeply above or below the one before it.
    fn edge(&self, range: std::ops::Range<usize>, steep: f32) -> Option<usize> {
        let mut range = range.start.max(1)..range.end.min(self.pending.len());
        range.find(|at| self.step(*at).abs() > steep)
    }

    fn step(&self, at: usize) -> f32 {
        self.pending[at] - self.pending[at - 1]
    }

    /// The last of the edges that follow one another.
    fn last_edge(&self, first: usize, steep: f32) -> usize {
        let next = |last: &usize| self.edge(last + 1..last + 1 + self.longest, steep);
        std::iter::successors(Some(first), next).last().unwrap_or(first)
    }

    fn is_spike(&self, first: usize, last: usize, steep: f32) -> bool {
        let is_short = last - first <= self.longest && first > SLOPE + 1 && last + SLOPE + 1 < self.pending.len();
        let turns = || self.step(first).signum() != self.step(last).signum();
        let quiet = steep.min(STANDS_OUT * self.step(first).abs().min(self.step(last).abs()));
        let around = first.saturating_sub(self.alone)..first;
        let behind = last + 1..last + 1 + self.alone;
        is_short && turns() && self.edge(around, quiet).is_none() && self.edge(behind, quiet).is_none()
    }

    /// Replaces what lies between two samples by the cubic that has their values and the slopes beyond them.
    fn bridge(&mut self, from: usize, to: usize) {
        let samples = &mut self.pending;
        let length = (to - from) as f32;
        let (start, end) = (samples[from], samples[to]);
        let rise = length / SLOPE as f32;
        let (leaving, coming) = (rise * (start - samples[from - SLOPE]), rise * (samples[to + SLOPE] - end));
        for (sample, index) in samples[from + 1..to].iter_mut().zip(1_usize..) {
            let x = index as f32 / length;
            let y = 1.0 - x;
            *sample = y * y * (start * (1.0 + 2.0 * x) + leaving * x) + x * x * (end * (1.0 + 2.0 * y) - coming * y);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;
    use crate::audio::wavetable::Wavetable;
    use crate::audio::{PRESETS, Shape};

    const RATE: f64 = 44_100.0;

    fn mended(samples: &[f32], modulation: &Modulation) -> Vec<f32> {
        let mut clicks = Clicks::new(modulation, RATE).unwrap();
        let mut out = Vec::new();
        samples.chunks(700).for_each(|piece| clicks.push(piece, &mut out));
        clicks.finish(&mut out);
        assert_eq!(out.len(), samples.len());
        out
    }

    fn tone(hertz: f64) -> Vec<f32> {
        (0..20_000).map(|n| 0.5 * (TAU * hertz * f64::from(n) / RATE).sin() as f32).collect()
    }

    /// Where each begins, how long and how high it is.
    const SPIKES: [(usize, usize, f32); 5] =
        [(400, 1, 1.0), (2050, 9, -1.0), (5000, 4, 0.9), (9000, 12, 1.5), (15_000, 6, -2.0)];

    #[test]
    fn a_spike_of_any_length_goes_and_the_tone_under_it_is_back() {
        for preset in &PRESETS {
            for hertz in [preset.modulation.mark_hz(), preset.modulation.space_hz()] {
                let clean = tone(hertz);
                let mut spiky = clean.clone();
                for (at, width, height) in
                    [(400, 1, 1.0), (2050, 9, -1.0), (5000, 4, 0.9), (9000, 12, 1.5), (15_000, 6, -2.0)]
                {
                    spiky[at..at + width].iter_mut().for_each(|sample| *sample += height);
                }
                let mended = mended(&spiky, &preset.modulation);
                let off = |from: usize, to: usize| -> f32 {
                    mended[from..to].iter().zip(&clean[from..to]).map(|(a, b)| (a - b) * (a - b)).sum()
                };
                for (at, width, height) in SPIKES {
                    let left = off(at - 10, at + width + 10) / (height * height * width as f32);
                    assert!(left < 0.2, "{} {hertz} {width}: {left}", preset.name);
                }
                assert_eq!(off(10_000, 14_000), 0.0);
            }
        }
    }

    /// An edge that falls between two samples is half as steep as one that falls on a sample.
    #[test]
    fn squares_without_harmonics_above_the_rate_stay_as_they_are() {
        for hertz in (600..2900).step_by(7).map(f64::from) {
            let modulation = Modulation::new(hertz, hertz - 300.0, 300.0, 1).unwrap();
            let wave = Wavetable::new(Shape::Square, hertz, RATE);
            let square: Vec<f32> = (0..9000).map(|n| wave.at((f64::from(n) * hertz / RATE).fract())).collect();
            assert!(mended(&square, &modulation) == square, "{hertz}");
        }
    }

    #[test]
    fn tones_square_waves_and_what_ends_within_a_spike_stay_as_they_are() {
        for preset in &PRESETS {
            for hertz in [preset.modulation.mark_hz(), preset.modulation.space_hz()] {
                let sine = tone(hertz);
                let square: Vec<f32> = sine.iter().map(|sample| sample.clamp(-0.05, 0.05)).collect();
                assert!(mended(&sine, &preset.modulation) == sine && mended(&square, &preset.modulation) == square);
            }
            let mut cut = vec![0.1; 50];
            cut[48..].fill(1.0);
            assert_eq!(mended(&cut, &preset.modulation), cut);
            assert!(mended(&[], &preset.modulation).is_empty());
        }
    }
}
