//! Linear-phase filters by windowed sinc with Kaiser's window (Oppenheim and Schafer, Discrete-Time Signal Processing,
//! section "Design of FIR filters by windowing"): the one formula gives length and window from the attenuation and the
//! width of the transition.

use std::f64::consts::{PI, TAU};

/// Attenuation of every filter here, in dB.
const ATTENUATION: f64 = 60.0;

/// A symmetric filter of odd length that keeps one sample in `keep_every`; its output is in step with its input.
pub(super) struct Fir {
    taps: Vec<f32>,
    keep_every: usize,
    /// Input not consumed yet, the next output's first tap at its start.
    pending: Vec<f32>,
    /// Inputs still to drop before that start, where the step is longer than what was pending.
    skip: usize,
}

/// Edges in parts of the sample rate.
#[derive(Clone, Copy)]
pub(super) struct Edges {
    /// Passes from here; nothing below `low - transition`. Zero for a low-pass filter.
    pub low: f64,
    /// Passes up to here; nothing above `high + transition`.
    pub high: f64,
    /// Width of both transitions.
    pub transition: f64,
}

impl Fir {
    /// A filter that passes `edges` and keeps one sample in `keep_every`.
    pub(super) fn new(edges: Edges, keep_every: usize) -> Fir {
        let taps = design(edges);
        let pending = vec![0.0; taps.len() / 2];
        Fir { taps, keep_every, pending, skip: 0 }
    }

    /// Takes samples, appends what they complete to `out`.
    pub(super) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        let dropped = self.skip.min(samples.len());
        self.skip -= dropped;
        self.pending.extend_from_slice(&samples[dropped..]);
        let mut start = if self.keep_every == 1 { self.push_together(out) } else { 0 };
        while start + self.taps.len() <= self.pending.len() {
            out.push(dot(&self.taps, &self.pending[start..start + self.taps.len()]));
            start += self.keep_every;
        }
        let consumed = start.min(self.pending.len());
        self.skip += start - consumed;
        self.pending.drain(..consumed);
    }

    /// Appends outputs many at a time, where none is left out; gives how many there were.
    fn push_together(&self, out: &mut Vec<f32>) -> usize {
        const TOGETHER: usize = 16;
        let whole = (self.pending.len() + 1).saturating_sub(self.taps.len()) / TOGETHER * TOGETHER;
        for start in (0..whole).step_by(TOGETHER) {
            let mut sums = [0.0_f32; TOGETHER];
            for (tap, inputs) in self.taps.iter().zip(self.pending[start..].windows(TOGETHER)) {
                sums.iter_mut().zip(inputs).for_each(|(sum, input)| *sum += tap * input);
            }
            out.extend_from_slice(&sums);
        }
        whole
    }

    /// Appends the outputs whose centre has been taken but whose last inputs never came.
    pub(super) fn finish(&mut self, out: &mut Vec<f32>) {
        self.push(&vec![0.0; self.taps.len() / 2], out);
    }
}

/// The sum of products, in eight lanes so that it can be done eight at a time.
pub(super) fn dot(a: &[f32], b: &[f32]) -> f32 {
    let mut lanes = [0.0_f32; 8];
    let (a8, b8) = (a.chunks_exact(8), b.chunks_exact(8));
    let tail: f32 = a8.remainder().iter().zip(b8.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a8.zip(b8) {
        for lane in 0..8 {
            lanes[lane] += x[lane] * y[lane];
        }
    }
    lanes.iter().sum::<f32>() + tail
}

fn design(edges: Edges) -> Vec<f32> {
    let order = (ATTENUATION - 8.0) / (2.285 * TAU * edges.transition);
    let half = (order / 2.0).ceil() as i64;
    let (low, high) = (edges.low - edges.transition / 2.0, (edges.high + edges.transition / 2.0).min(0.5));
    let low = if edges.low > 0.0 { low.max(0.0) } else { 0.0 };
    let tap = |place: i64| {
        let at = place as f64;
        let ideal = low_pass(high, at) - low_pass(low, at);
        (ideal * kaiser(at / (half as f64 + 1.0), ATTENUATION)) as f32
    };
    (-half..=half).map(tap).collect()
}

/// The impulse response of an ideal low-pass filter.
fn low_pass(cutoff: f64, at: f64) -> f64 {
    if at == 0.0 { 2.0 * cutoff } else { (TAU * cutoff * at).sin() / (PI * at) }
}

/// Kaiser's window at `x`, -1..=1, for an attenuation above 50 dB.
pub(super) fn kaiser(x: f64, attenuation: f64) -> f64 {
    let beta = 0.1102 * (attenuation - 8.7);
    bessel_i0(beta * (1.0 - x * x).max(0.0).sqrt()) / bessel_i0(beta)
}

/// The modified Bessel function of the first kind and order zero, by its power series.
pub(super) fn bessel_i0(x: f64) -> f64 {
    let quarter = x * x / 4.0;
    let terms = (1..60).scan(1.0, |term, k| {
        *term *= quarter / f64::from(k * k);
        Some(*term)
    });
    1.0 + terms.sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn gain(edges: Edges, frequency: f64) -> f64 {
        let taps = design(edges);
        let half = (taps.len() / 2) as f64;
        let at = |(place, tap): (usize, &f32)| f64::from(*tap) * (TAU * frequency * (place as f64 - half)).cos();
        taps.iter().enumerate().map(at).sum::<f64>().abs()
    }

    #[test]
    fn a_band_is_passed_and_the_rest_is_60_db_down() {
        let edges = Edges { low: 0.1, high: 0.3, transition: 0.04 };
        for step in 0..=50 {
            let frequency = f64::from(step) / 100.0;
            let gain = gain(edges, frequency);
            if (0.1..=0.3).contains(&frequency) {
                assert!((gain - 1.0).abs() < 0.002, "{frequency} {gain}");
            } else if !(0.06..=0.34).contains(&frequency) {
                assert!(gain < 0.0012, "{frequency} {gain}");
            }
        }
    }

    #[test]
    fn output_is_in_step_whatever_the_size_of_the_pieces() {
        let edges = Edges { low: 0.0, high: 0.1, transition: 0.02 };
        let wave: Vec<f32> = (0..5000).map(|n| (TAU * 0.01 * f64::from(n)).sin() as f32).collect();
        for (piece, keep_every) in [(1, 3), (7, 4), (5000, 4), (2, 17)] {
            let mut fir = Fir::new(edges, keep_every);
            let mut out = Vec::new();
            wave.chunks(piece).for_each(|chunk| fir.push(chunk, &mut out));
            fir.finish(&mut out);
            assert_eq!(out.len(), wave.len().div_ceil(keep_every));
            for (index, value) in out.iter().enumerate().take(out.len() - 100 / keep_every).skip(100 / keep_every) {
                assert!((value - wave[index * keep_every]).abs() < 0.003, "{piece} {keep_every} {index}");
            }
        }
    }
}
