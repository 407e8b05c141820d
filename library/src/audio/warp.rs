//! Tape time instead of clock time: the signal resampled so that, on the tape as it was recorded, every bit has the same
//! number of samples. What follows may then forget that the tape ever ran at another speed.

use std::f64::consts::PI;

use super::fir::{dot, kaiser};
use super::modulation::Modulation;
use super::speed::SpeedTrack;

const TAPS: usize = 16;
const PHASES: usize = 512;
/// Bits of silence put behind a signal.
const AFTER_BITS: f64 = 2.0;

/// Samples over which the speed is taken as steady.
const BLOCK: usize = 16;

/// A signal at constant samples per bit.
pub(super) struct Warped {
    pub samples: Vec<f32>,
    /// Where the first sample of each block lies in the signal it was taken from, and where the last block ends.
    blocks: Vec<f64>,
}

impl Warped {
    /// The position, in the signal before, of a place between two samples.
    pub(super) fn position(&self, place: f64) -> f64 {
        let place = place.clamp(0.0, self.samples.len().saturating_sub(1) as f64);
        let index = place as usize / BLOCK;
        let here = self.blocks.get(index).copied().unwrap_or(0.0);
        let next = self.blocks.get(index + 1).copied().unwrap_or(here);
        here + (place / BLOCK as f64 - index as f64) * (next - here)
    }

    /// The place, between two samples, that was taken from a position in the signal before.
    pub(super) fn place(&self, position: f64) -> f64 {
        let next = self.blocks.partition_point(|at| *at <= position);
        let Some(index) = next.checked_sub(1) else { return 0.0 };
        let length = self.blocks.get(next).map_or(f64::INFINITY, |at| at - self.blocks[index]);
        (BLOCK as f64 * (index as f64 + (position - self.blocks[index]) / length)).min(self.samples.len() as f64)
    }

    /// Where the last sample lies in the signal before.
    pub(super) fn end(&self) -> f64 {
        self.position(self.samples.len() as f64)
    }
}

/// Resamples by windowed-sinc interpolation.
pub(super) struct Warp {
    /// `PHASES + 1` rows of `TAPS` taps.
    kernel: Vec<f32>,
    /// Tape-time samples a second.
    rate: f64,
    baud: f64,
    /// Samples a second of the signal to be resampled.
    working_rate: f64,
}

/// Samples in a bit: enough for four samples in a cycle of the higher tone, and to place a bit edge to 1/32.
pub(super) fn samples_per_bit(modulation: &Modulation) -> usize {
    let for_tone = (4.0 * modulation.highest_hz() / modulation.baud()).ceil() as usize;
    for_tone.max(12).next_multiple_of(2)
}

impl Warp {
    pub(super) fn new(modulation: &Modulation, working_rate: f64) -> Warp {
        let row = |phase: usize| {
            let between = phase as f64 / PHASES as f64;
            (0..TAPS).map(move |tap| {
                let at = tap as f64 - (TAPS / 2 - 1) as f64 - between;
                let sinc = if at == 0.0 { 1.0 } else { (PI * at).sin() / (PI * at) };
                (sinc * kaiser(at / (TAPS as f64 / 2.0), 55.0)) as f32
            })
        };
        let kernel = (0..=PHASES).flat_map(row).collect();
        let baud = modulation.baud();
        Warp { kernel, rate: samples_per_bit(modulation) as f64 * baud, baud, working_rate }
    }

    pub(super) fn apply(&self, signal: &[f32], track: &SpeedTrack) -> Warped {
        let step = self.working_rate / self.rate;
        let expected = (signal.len() as f64 / step * 1.3) as usize + BLOCK;
        let mut warped =
            Warped { samples: Vec::with_capacity(expected), blocks: Vec::with_capacity(expected / BLOCK + 1) };
        let mut position = 0.0;
        // Silence behind the signal, so that a recording may end with its last stop bit.
        let end = signal.len() as f64 + AFTER_BITS * self.working_rate / self.baud;
        while position < end {
            let step = step / track.at(position);
            warped.blocks.push(position);
            let next = position + BLOCK as f64 * step;
            let places = (0..BLOCK).map(|index| position + index as f64 * step);
            if position >= TAPS as f64 && next + (TAPS as f64) < signal.len() as f64 {
                warped.samples.extend(places.map(|place| self.within(signal, place)));
            } else {
                warped.samples.extend(places.map(|place| self.at_edge(signal, place)));
            }
            position = next;
        }
        warped.blocks.push(position);
        warped
    }

    /// The signal between two samples that have all others that are needed around them.
    fn within(&self, signal: &[f32], position: f64) -> f32 {
        let (row, index) = self.row(position);
        dot(row, &signal[index + 1 - TAPS / 2..][..TAPS])
    }

    /// The signal between any two samples, silence before and behind it.
    fn at_edge(&self, signal: &[f32], position: f64) -> f32 {
        let (row, index) = self.row(position);
        let at = |tap: usize| (index + tap).checked_sub(TAPS / 2 - 1).and_then(|index| signal.get(index)).copied();
        row.iter().enumerate().map(|(tap, weight)| weight * at(tap).unwrap_or(0.0)).sum()
    }

    /// The taps for a position, and the sample before it.
    fn row(&self, position: f64) -> (&[f32], usize) {
        let index = position as usize;
        let phase = ((position - index as f64) * PHASES as f64 + 0.5) as usize;
        (&self.kernel[phase * TAPS..][..TAPS], index)
    }
}
