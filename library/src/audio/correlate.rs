//! The matched filters: how much of each tone there is in the bit that starts at any sample.
//!
//! A running sum of the signal turned back by each tone makes the correlation over any bit the difference of two sums
//! (quadrature correlation; Proakis, Digital Communications, "Noncoherent detection"). Phases are against one clock that
//! runs through the whole window, so that the phases of two bits can be compared.

use std::f64::consts::TAU;

use super::modulation::{Modulation, Tone};
use super::phasor::Phasor;
use super::warp::samples_per_bit;

/// Complex amplitudes of both tones over the bit that starts at each sample.
pub(super) struct Tones {
    pub mark: Vec<Phasor>,
    pub space: Vec<Phasor>,
    /// Samples in a bit.
    pub per_bit: usize,
    /// Turn of phase in a sample, in radians, of mark less that of space.
    beat: f64,
}

impl Tones {
    pub(super) fn new(signal: &[f32], modulation: &Modulation) -> Tones {
        let per_bit = samples_per_bit(modulation);
        let turn = |tone| TAU * modulation.hertz(tone) / (per_bit as f64 * modulation.baud());
        let turns = [turn(Tone::Mark), turn(Tone::Space)];
        let [mark, space] = sliding(signal, turns, per_bit);
        Tones { mark, space, per_bit, beat: turns[0] - turns[1] }
    }

    /// Places where a whole bit can start.
    pub(super) fn len(&self) -> usize {
        self.mark.len()
    }

    pub(super) fn of(&self, tone: Tone) -> &[Phasor] {
        match tone {
            Tone::Mark => &self.mark,
            Tone::Space => &self.space,
        }
    }

    /// How many rates mark lies above space; negative where it lies below.
    pub(super) fn rates_apart(&self) -> f64 {
        self.beat * self.per_bit as f64 / TAU
    }

    /// Whether the phase runs on from tone to tone in a way that can be followed: an edge known to 1/30 of a bit leaves it
    /// open by little for tones less than a rate apart, by a quarter turn and more for others.
    pub(super) fn are_close(&self) -> bool {
        self.rates_apart().abs() < 0.85
    }

    /// The phase of mark against space at a sample, both having been in step at sample 0.
    pub(super) fn beat_at(&self, sample: usize) -> Phasor {
        Phasor::turned(self.beat * sample as f64)
    }

    /// What the filter of the other tone gives for a bit of `tone` at `start`, over what the right filter gives: nothing
    /// for tones a whole number of rates apart, two fifths in size for the modem pairs.
    pub(super) fn leak(&self, tone: Tone, start: usize) -> Phasor {
        let beat = if tone == Tone::Mark { self.beat } else { -self.beat };
        let bits = self.per_bit as f64;
        let size = (beat * bits / 2.0).sin() / (bits * (beat / 2.0).sin());
        Phasor::turned(beat * (start as f64 + (bits - 1.0) / 2.0)).scaled(size as f32)
    }
}

/// The phase of one tone, turned back, and the sum of the signal by it.
#[derive(Clone, Copy, Default)]
struct Running {
    re: f64,
    im: f64,
    sum_re: f64,
    sum_im: f64,
}

/// Amplitude and phase of two tones over `per_bit` samples from each sample on; a steady tone of amplitude 1 gives 1.
/// Both are followed in one loop, because each waits for its own step before.
fn sliding(signal: &[f32], turns: [f64; 2], per_bit: usize) -> [Vec<Phasor>; 2] {
    /// Samples after which the phase is reckoned anew.
    const STRETCH: usize = 256;
    let Some(places) = (signal.len() + 1).checked_sub(per_bit) else { return Default::default() };
    let steps = turns.map(|turn| (-turn).sin_cos());
    let scale = 2.0 / per_bit as f64;
    let mut running = [Running::default(); 2];
    let mut found = [Vec::with_capacity(places), Vec::with_capacity(places)];
    // The sums up to each of the last samples, as many as a bit has: the oldest is where the bit begins that ends now.
    let mut sums = vec![[(0.0, 0.0); 2]; per_bit];
    let mut oldest = 0;
    for (number, stretch) in signal.chunks(STRETCH).enumerate() {
        for (tone, turn) in running.iter_mut().zip(turns) {
            (tone.im, tone.re) = (-turn * (number * STRETCH) as f64).sin_cos();
        }
        for (at, sample) in (number * STRETCH..).zip(stretch) {
            let (from, sample) = (sums[oldest], f64::from(*sample));
            for (tone, (step_im, step_re)) in running.iter_mut().zip(steps) {
                tone.sum_re += sample * tone.re;
                tone.sum_im += sample * tone.im;
                (tone.re, tone.im) = (tone.re * step_re - tone.im * step_im, tone.re * step_im + tone.im * step_re);
            }
            let to = running.map(|tone| (tone.sum_re, tone.sum_im));
            if at + 1 >= per_bit {
                for ((found, from), to) in found.iter_mut().zip(from).zip(to) {
                    found.push(Phasor { re: (scale * (to.0 - from.0)) as f32, im: (scale * (to.1 - from.1)) as f32 });
                }
            }
            sums[oldest] = to;
            oldest = if oldest + 1 == per_bit { 0 } else { oldest + 1 };
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::PRESETS;

    #[test]
    fn a_tone_gives_its_amplitude_and_the_known_leak_in_the_other_filter() {
        for preset in PRESETS.iter().filter(|preset| preset.name != "byte-1200") {
            let modulation = preset.modulation;
            for tone in [Tone::Mark, Tone::Space] {
                let other = if tone == Tone::Mark { Tone::Space } else { Tone::Mark };
                let per_bit = samples_per_bit(&modulation);
                let turn = TAU * modulation.hertz(tone) / (per_bit as f64 * modulation.baud());
                let signal: Vec<f32> = (0..900).map(|n| 0.25 * (turn * f64::from(n) + 0.3).cos() as f32).collect();
                let tones = Tones::new(&signal, &modulation);
                for start in [0, 7, 500] {
                    let (right, leaked) = (tones.of(tone)[start], tones.of(other)[start]);
                    assert!((right.length() - 0.25).abs() < 0.02, "{}", preset.name);
                    assert!((right.angle() - 0.3).abs() < 0.15, "{}", preset.name);
                    assert!((leaked - right * tones.leak(tone, start)).length() < 0.04, "{}", preset.name);
                }
            }
        }
    }
}
