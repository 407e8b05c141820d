//! How strong each tone is and how much noise there is, from stretch to stretch, and what a filter's output then says.
//!
//! The score of a tone is its log-likelihood against noise alone, for a carrier of known amplitude `A` and unknown
//! phase: `ln I0(A r / v) - A^2 / 2v`, with `r` the envelope and `v` the noise in each of its two components (Proakis,
//! Digital Communications, "Noncoherent detection"). It is measured in nats: a difference of 5 is odds of 150 to 1.

use super::correlate::Tones;
use super::framing::Bit;
use super::modulation::Tone;
use super::phasor::Phasor;

/// Bits over which levels are taken as steady.
const BLOCK_BITS: usize = 32;
/// The least a tone can score, in nats: drop-outs and clicks happen, and one lost bit must not outweigh its character.
const ERASED: f32 = -3.0;
/// No tone is called louder than this over the noise, as energy per bit over noise density: no recording is that true.
const CLEANEST: f32 = 30.0;
/// No carrier is looked for below this energy per bit over noise density (8 dB); one byte in six would be wrong there.
const FAINTEST: f32 = 6.5;
/// The energy per bit over noise density that is assumed before anything has been measured.
const ASSUMED: f32 = 10.0;

/// Amplitudes and noise of one stretch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Level {
    pub mark: f32,
    pub space: f32,
    /// Variance of each component of a filter's output.
    pub noise: f32,
}

impl Level {
    fn of(&self, tone: Tone) -> f32 {
        match tone {
            Tone::Mark => self.mark,
            Tone::Space => self.space,
        }
    }

    /// The level that scores are reckoned with, kept within what recordings are.
    fn bounded(self) -> Level {
        let louder = self.mark.max(self.space);
        let noise = self.noise.max(louder * louder / (2.0 * CLEANEST)).max(1e-13);
        let faintest = (2.0 * FAINTEST * noise).sqrt();
        Level { mark: self.mark.max(faintest), space: self.space.max(faintest), noise }
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
    fn score(&self, tone: Tone) -> impl Fn(f32) -> f32 + use<> {
        let (gain, energy) = (self.gain(tone), self.energy(tone));
        move |envelope| (ln_bessel_i0(gain * envelope) - energy).max(ERASED)
    }
}

/// The logarithm of the modified Bessel function of order zero, to 0.02: a series near nought, asymptotic far out.
#[inline]
pub(super) fn ln_bessel_i0(x: f32) -> f32 {
    if x < 1.5 {
        let quarter = x * x / 4.0;
        quarter * (1.0 - quarter / 4.0 + quarter * quarter / 9.0)
    } else {
        x - 0.5 * quick_ln(std::f32::consts::TAU * x) + 0.125 / x + 0.07 / (x * x)
    }
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

/// The levels of a window, a [`Level`] for every stretch.
pub(super) struct Levels {
    block: usize,
    list: Vec<Level>,
}

/// Log-likelihoods of mark and of space in the bit that starts at each sample.
pub(super) struct Scores {
    pub mark: Vec<f32>,
    pub space: Vec<f32>,
}

impl Scores {
    /// The same with so many places behind the end where nothing is known: a window may end within a character, which must
    /// not be moved for that.
    pub(super) fn open_ended(&self, more: usize) -> Scores {
        let longer = |scores: &[f32]| scores.iter().copied().chain(std::iter::repeat_n(0.0, more)).collect();
        Scores { mark: longer(&self.mark), space: longer(&self.space) }
    }
}

impl Levels {
    /// A first guess without knowing one bit: the loudest quarter of envelopes gives the amplitude, for both tones.
    pub(super) fn assumed(tones: &Tones) -> Levels {
        let block = BLOCK_BITS * tones.per_bit;
        let stride = (tones.per_bit / 4).max(1);
        let level = |from: usize| {
            let range = from.saturating_sub(block / 2)..(from + block * 3 / 2).min(tones.len());
            let louder = |at: usize| tones.mark[at].power().max(tones.space[at].power());
            let mut powers: Vec<f32> = range.step_by(stride).map(louder).collect();
            let place = powers.len() * 3 / 4;
            powers.select_nth_unstable_by(place, f32::total_cmp);
            let amplitude = powers[place].sqrt();
            Level { mark: amplitude, space: amplitude, noise: amplitude * amplitude / (2.0 * ASSUMED) }.bounded()
        };
        Levels { block, list: (0..tones.len()).step_by(block).map(level).collect() }
    }

    /// Measured on decided bits: the right filter gives amplitude and noise, the other one, less what is known to leak
    /// into it, noise alone.
    pub(super) fn measured(tones: &Tones, bits: &[Bit]) -> Levels {
        let block = BLOCK_BITS * tones.per_bit;
        let mut sums = vec![Sums::default(); tones.len().div_ceil(block).max(1)];
        for bit in bits {
            sums[bit.at / block].add(tones, bit);
        }
        let whole = sums.iter().fold(Sums::default(), |all, sum| all.plus(sum));
        let level = |index: usize| {
            let near = &sums[index.saturating_sub(1)..(index + 2).min(sums.len())];
            near.iter().fold(Sums::default(), |all, sum| all.plus(sum)).level(&whole)
        };
        Levels { block, list: (0..sums.len()).map(level).collect() }
    }

    pub(super) fn at(&self, sample: usize) -> Level {
        let last = self.list.len() - 1;
        self.list[(sample / self.block).min(last)].bounded()
    }

    /// As measured, without the bounds that decisions need.
    pub(super) fn raw(&self, sample: usize) -> Level {
        self.list[(sample / self.block).min(self.list.len() - 1)]
    }

    /// The scores of bits that start at every `step`-th sample.
    pub(super) fn scores(&self, tones: &Tones, step: usize) -> Scores {
        let count = tones.len().div_ceil(step);
        let mut scores = Scores { mark: Vec::with_capacity(count), space: Vec::with_capacity(count) };
        for (index, level) in self.list.iter().enumerate() {
            let level = level.bounded();
            let from = (index * self.block).next_multiple_of(step);
            let to = ((index + 1) * self.block).min(tones.len());
            let score = |tone: Tone| {
                let envelopes = tones.of(tone)[from.min(to)..to].chunks(step).map(|z| z[0].length());
                envelopes.map(level.score(tone))
            };
            scores.mark.extend(score(Tone::Mark));
            scores.space.extend(score(Tone::Space));
        }
        scores
    }
}

#[derive(Clone, Copy, Default)]
struct Sums {
    power: [f32; 2],
    count: [f32; 2],
    noise: f32,
}

impl Sums {
    fn add(&mut self, tones: &Tones, bit: &Bit) {
        let other = if bit.tone == Tone::Mark { Tone::Space } else { Tone::Mark };
        let right = tones.of(bit.tone)[bit.at];
        let leak = tones.leak(bit.tone, bit.at);
        let rest = tones.of(other)[bit.at] - right * leak;
        self.power[bit.tone as usize] += right.power();
        self.count[bit.tone as usize] += 1.0;
        self.noise += rest.power() / (2.0 * (1.0 - leak.power()).max(0.1));
    }

    fn plus(&self, other: &Sums) -> Sums {
        Sums {
            power: [self.power[0] + other.power[0], self.power[1] + other.power[1]],
            count: [self.count[0] + other.count[0], self.count[1] + other.count[1]],
            noise: self.noise + other.noise,
        }
    }

    /// Amplitudes and noise; a tone that is too rare here takes its balance from the whole window.
    fn level(&self, whole: &Sums) -> Level {
        const ENOUGH: f32 = 6.0;
        let noise = self.noise / (self.count[0] + self.count[1]).max(1.0);
        let amplitude = |tone: usize| (self.power[tone] / self.count[tone].max(1.0) - 2.0 * noise).max(0.0).sqrt();
        let whole_amplitude = |tone: usize| (whole.power[tone] / whole.count[tone].max(1.0)).sqrt().max(1e-9);
        let balance = (whole_amplitude(0) / whole_amplitude(1)).clamp(0.05, 20.0);
        let (mark, space) = (amplitude(Tone::Mark as usize), amplitude(Tone::Space as usize));
        match (self.count[0] >= ENOUGH, self.count[1] >= ENOUGH) {
            (true, false) => Level { mark, space: mark / balance, noise },
            (false, true) => Level { mark: space * balance, space, noise },
            _ => Level { mark, space, noise },
        }
    }
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
