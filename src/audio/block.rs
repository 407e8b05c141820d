//! Bits in doubt, decided by the phase of their neighbours.
//!
//! A matched filter that does not know the phase wastes part of what it hears. A tape was written by one oscillator,
//! whose phase runs through every bit edge; the bits around a doubtful one therefore tell the phase that it must have
//! under either value, and that the bits after it must have. Both values are tried on the whole block of neighbours
//! (multiple-symbol detection of continuous-phase FSK: Osborne and Luntz, IEEE Trans. Communications COM-22, 1974;
//! Proakis, Digital Communications, "Optimum demodulation of CPFSK").
//!
//! Each tone is summed by itself and the sizes are joined: a recorder delays the two tones differently.

use super::correlate::Tones;
use super::framing::Bit;
use super::levels::{Levels, ln_bessel_i0};
use super::phasor::Phasor;
use super::preset::Tone;

/// Neighbours to either side.
const REACH: usize = 4;
/// Bits surer than this, in nats, are left alone.
const SURE: f32 = 14.0;
/// Least coherence, 0 to 1, at which phases are trusted.
const COHERENT: f32 = 0.75;

/// The soft value of every bit, in nats for mark, after deciding the doubtful ones again; `soft` holds the first ones.
pub(super) fn decide(tones: &Tones, levels: &Levels, bits: &mut [Bit], free: &[bool], soft: &mut [f32]) {
    let block = Block { tones, levels, turns: bits.iter().map(|bit| tones.beat_at(bit.at)).collect() };
    if block.coherence(bits) < COHERENT {
        return;
    }
    for index in 0..bits.len() {
        if soft[index].abs() >= SURE {
            continue;
        }
        let near = block.neighbours(bits, index);
        if near.len() > 1 {
            let value = block.score(bits, near.clone(), index, Tone::Mark) - block.score(bits, near, index, Tone::Space);
            soft[index] = value;
            if free[index] {
                bits[index].tone = Tone::of_bit(value >= 0.0);
            }
        }
    }
}

struct Block<'a> {
    tones: &'a Tones,
    levels: &'a Levels,
    /// The phase of mark against space at the start of each bit.
    turns: Vec<Phasor>,
}

impl Block<'_> {
    /// The range of bits around `index` that follow one another without a break.
    fn neighbours(&self, bits: &[Bit], index: usize) -> std::ops::Range<usize> {
        let joined = |a: usize, b: usize| (bits[b].at - bits[a].at).abs_diff(self.tones.per_bit) <= 1;
        let from = (index.saturating_sub(REACH)..index).rev().take_while(|i| joined(*i, i + 1)).last().unwrap_or(index);
        let to = (index + 1..(index + REACH + 1).min(bits.len())).take_while(|i| joined(i - 1, *i)).last();
        from..to.unwrap_or(index) + 1
    }

    /// The amplitudes of a block's bits, each turned back by the changes of tone before it, given to `take`.
    fn walk(&self, bits: &[Bit], range: std::ops::Range<usize>, tone: impl Fn(usize) -> Tone, mut take: impl FnMut(usize, Tone, Phasor)) {
        let mut turned = Phasor { re: 1.0, im: 0.0 };
        let mut before = tone(range.start);
        for index in range {
            let now = tone(index);
            match (before, now) {
                (Tone::Mark, Tone::Space) => turned = turned * self.turns[index].conj(),
                (Tone::Space, Tone::Mark) => turned = turned * self.turns[index],
                _ => {}
            }
            take(index, now, self.tones.of(now)[bits[index].at] * turned);
            before = now;
        }
    }

    /// The log-likelihood of the block with bit `index` sounding `tried`.
    fn score(&self, bits: &[Bit], range: std::ops::Range<usize>, index: usize, tried: Tone) -> f32 {
        let level = self.levels.at(bits[index].at);
        let mut sums = [Phasor::default(); 2];
        let tone = |other: usize| if other == index { tried } else { bits[other].tone };
        self.walk(bits, range, tone, |_, tone, value| {
            sums[tone as usize] = sums[tone as usize] + value.scaled(level.gain(tone));
        });
        ln_bessel_i0(sums[0].length()) + ln_bessel_i0(sums[1].length()) - level.energy(tried)
    }

    /// How well the phase of each bit agrees with its neighbours of the same tone: 1 for one oscillator, about 0 for two
    /// that run free.
    fn coherence(&self, bits: &[Bit]) -> f32 {
        let (mut agreed, mut total) = (0.0, 1e-20);
        let mut start = 0;
        while start < bits.len() {
            let range = self.neighbours(bits, start);
            let range = start..range.end;
            let mut sums = [Phasor::default(); 2];
            self.walk(bits, range.clone(), |i| bits[i].tone, |_, tone, value| {
                let sum = sums[tone as usize];
                agreed += (value * sum.conj()).re;
                total += value.length() * sum.length();
                sums[tone as usize] = sum + value;
            });
            start = range.end;
        }
        agreed / total
    }
}
