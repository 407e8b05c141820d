//! How strong each tone is and how much noise there is at one place, and what a filter's output then says.
//!
//! The score of a tone is its log-likelihood against noise alone, for a carrier of known amplitude `A` and unknown
//! phase: `ln I0(A r / v) - A^2 / 2v`, with `r` the envelope and `v` the noise in each of its two components (Proakis,
//! Digital Communications, "Noncoherent detection"). It is measured in nats: a difference of 5 is odds of 150 to 1. Where
//! less is heard than the level promises, the likeliest lower amplitude is taken, at a price (generalised likelihood ratio;
//! Van Trees, Detection, Estimation, and Modulation Theory, "Composite hypotheses").

use super::modulation::Tone;
use super::phasor::Phasor;

/// The least a tone can score, in nats: drop-outs and clicks happen, and one lost bit must not outweigh its character.
const ERASED: f32 = -3.0;
/// No tone is called louder than this over the noise, as energy per bit over noise density: no recording is that true.
const CLEANEST: f32 = 30.0;
/// No carrier is looked for below this energy per bit over noise density (8 dB); one byte in six would be wrong there.
const FAINTEST: f32 = 6.5;
/// The price of a bit that is next to nothing of what its level promises; less for one that is less weak.
const FADED: f32 = 2.0;

/// Amplitudes and noise of one stretch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level {
    pub mark: f32,
    pub space: f32,
    /// Variance of each component of a filter's output.
    pub noise: f32,
}

impl Level {
    pub(super) fn of(&self, tone: Tone) -> f32 {
        match tone {
            Tone::Mark => self.mark,
            Tone::Space => self.space,
        }
    }

    /// The level that scores are reckoned with, kept within what recordings are.
    pub(super) fn bounded(self) -> Level {
        let louder = self.mark.max(self.space);
        let noise = self.noise.max(louder * louder / (2.0 * CLEANEST)).max(1e-13);
        let faintest = faintest(noise);
        Level { mark: self.mark.max(faintest), space: self.space.max(faintest), noise }
    }

    /// Both tones as a part of what they are.
    pub(super) fn scaled(self, part: f32) -> Level {
        Level { mark: self.mark * part, space: self.space * part, noise: self.noise }
    }

    /// Energy per bit over noise density, both tones taken together.
    pub(super) fn energy_over_density(&self) -> f32 {
        (self.mark * self.mark + self.space * self.space) / (4.0 * self.noise.max(1e-13))
    }

    /// Whether neither tone is heard at all, as in a drop-out.
    pub(super) fn is_erased(&self, mark: Phasor, space: Phasor) -> bool {
        const FAINT: f32 = 0.35;
        let heard = |tone, value: Phasor| value.length() > FAINT * self.of(tone);
        !heard(Tone::Mark, mark) && !heard(Tone::Space, space)
    }

    /// The argument of the Bessel function in the score: amplitude over noise, to be multiplied by an envelope.
    pub(super) fn gain(&self, tone: Tone) -> f32 {
        self.of(tone) / self.noise
    }

    /// The term of the score that does not depend on the envelope.
    pub(super) fn energy(&self, tone: Tone) -> f32 {
        let amplitude = self.of(tone);
        amplitude * amplitude / (2.0 * self.noise)
    }

    /// The score of `tone` against the envelope of its filter.
    pub(super) fn score(&self, tone: Tone) -> impl Fn(f32) -> f32 + use<> {
        let full = self.of(tone);
        let faintest = faintest(self.noise).min(full);
        let (half, price) = (0.5 / self.noise, FADED / full);
        move |envelope| {
            let amplitude = envelope.clamp(faintest, full);
            let likelihood = ln_bessel_i0(2.0 * half * amplitude * envelope) - half * amplitude * amplitude;
            (likelihood - price * (full - amplitude)).max(ERASED)
        }
    }
}

fn faintest(noise: f32) -> f32 {
    (2.0 * FAINTEST * noise).sqrt()
}

/// The logarithm of the modified Bessel function of order zero, to 0.02: a series near nought, asymptotic far out.
#[inline]
pub(super) fn ln_bessel_i0(x: f32) -> f32 {
    let quarter = x * x / 4.0;
    let near = quarter * (1.0 - quarter / 4.0 + quarter * quarter / 9.0);
    // Both are worked out, because a choice between values is quicker than one between ways.
    let far = x - 0.5 * quick_ln(std::f32::consts::TAU * x) + 0.125 / x + 0.07 / (x * x);
    if x < 1.5 { near } else { far }
}

/// The natural logarithm of a positive number to 0.0002: the exponent, and a polynomial for the fraction.
#[inline]
fn quick_ln(x: f32) -> f32 {
    let bits = x.to_bits();
    let exponent = (bits >> 23) as f32 - 127.0;
    let m = f32::from_bits(bits & 0x007F_FFFF | 0x3F80_0000);
    let fraction = -1.741_793_9 + (2.821_202_6 + (-1.469_956_8 + (0.447_179_55 - 0.056_570_85 * m) * m) * m) * m;
    exponent * std::f32::consts::LN_2 + fraction
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::fir::bessel_i0;

    #[test]
    fn the_logarithm_of_bessel_is_near_enough() {
        for step in 0..400 {
            let x = step as f32 / 20.0;
            let exact = bessel_i0(f64::from(x)).ln() as f32;
            assert!((ln_bessel_i0(x) - exact).abs() < 0.02, "{x}: {} {exact}", ln_bessel_i0(x));
        }
    }
}
