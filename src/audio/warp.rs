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

/// A signal at constant samples per bit.
pub(super) struct Warped {
    pub samples: Vec<f32>,
    /// Where each sample lies in the signal it was taken from.
    pub positions: Vec<f64>,
}

impl Warped {
    /// The position, in the signal before, of a place between two samples.
    pub(super) fn position(&self, place: f64) -> f64 {
        let last = self.positions.len().saturating_sub(1);
        let index = (place.max(0.0) as usize).min(last);
        let next = (index + 1).min(last);
        let here = self.positions.get(index).copied().unwrap_or(0.0);
        here + (place - index as f64).clamp(0.0, 1.0) * (self.positions.get(next).copied().unwrap_or(here) - here)
    }

    /// The place, between two samples, that was taken from a position in the signal before.
    pub(super) fn place(&self, position: f64) -> f64 {
        let next = self.positions.partition_point(|at| *at <= position);
        let Some(index) = next.checked_sub(1) else { return 0.0 };
        let step = self.positions.get(next).map_or(1.0, |at| at - self.positions[index]);
        index as f64 + ((position - self.positions[index]) / step).min(1.0)
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
        const BLOCK: usize = 16;
        let step = self.working_rate / self.rate;
        let expected = (signal.len() as f64 / step * 1.3) as usize + BLOCK;
        let mut warped = Warped { samples: Vec::with_capacity(expected), positions: Vec::with_capacity(expected) };
        let mut position = 0.0;
        // Silence behind the signal, so that a recording may end with its last stop bit.
        let end = signal.len() as f64 + AFTER_BITS * self.working_rate / self.baud;
        while position < end {
            let step = step / track.at(position);
            for _ in 0..BLOCK {
                warped.samples.push(self.at(signal, position));
                warped.positions.push(position);
                position += step;
            }
        }
        warped
    }

    fn at(&self, signal: &[f32], position: f64) -> f32 {
        let index = position as usize;
        let phase = ((position - index as f64) * PHASES as f64 + 0.5) as usize;
        let row = &self.kernel[phase * TAPS..(phase + 1) * TAPS];
        let reach = TAPS / 2 - 1;
        match index.checked_sub(reach).and_then(|first| signal.get(first..first + TAPS)) {
            Some(samples) => dot(row, samples),
            None => {
                let at = |tap: usize| (index + tap).checked_sub(reach).and_then(|i| signal.get(i)).copied();
                row.iter().enumerate().map(|(tap, weight)| weight * at(tap).unwrap_or(0.0)).sum()
            }
        }
    }
}
