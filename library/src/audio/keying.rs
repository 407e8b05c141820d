//! Bytes to samples: the bits of a tape in order, and an oscillator that keys from tone to tone without a break.
//!
//! All time is integer. With `F` a tone in 1/1000 Hz, `B` the rate in 1/1000 baud and `R` the sample rate, time is
//! counted in ticks of `1/(R*B)` s: a sample is `B` ticks, a bit is `1000*R` ticks, and a tone turns by `F` parts of
//! `1000*R*B` in a tick. Bit edges therefore fall exactly where they belong between samples, on the first character and
//! on the last, and the phase runs on through every edge.

use super::modulation::{Modulation, Tone};
use super::preset::Pauses;
use super::wavetable::{Shape, Wavetable};

/// The bits of a tape: leader, blocks with gaps between, trailer. Pauses are whole bits, to the nearest.
pub fn bits<'a>(blocks: &'a [&'a [u8]], modulation: &Modulation, pauses: &Pauses) -> impl Iterator<Item = Tone> + 'a {
    let baud = modulation.baud();
    let pause = move |seconds: f64| std::iter::repeat_n(Tone::Mark, (seconds * baud).round() as usize);
    let (gap, stop_bits) = (pauses.gap, modulation.stop_bits());
    let blocks = blocks.iter().enumerate().flat_map(move |(index, block)| {
        let before = pause(if index == 0 { 0.0 } else { gap });
        before.chain(block.iter().flat_map(move |byte| character(*byte, stop_bits)))
    });
    pause(pauses.leader).chain(blocks).chain(pause(pauses.trailer))
}

/// Start bit, data bits with the least significant first, stop bits.
fn character(byte: u8, stop_bits: u8) -> impl Iterator<Item = Tone> {
    let data = (0..8).map(move |bit| Tone::of_bit(byte >> bit & 1 == 1));
    std::iter::once(Tone::Space).chain(data).chain(std::iter::repeat_n(Tone::Mark, usize::from(stop_bits)))
}

/// How many bits [`bits`] will give.
pub fn bit_count(blocks: &[&[u8]], modulation: &Modulation, pauses: &Pauses) -> u64 {
    let pause = |seconds: f64| (seconds * modulation.baud()).round() as u64;
    let bytes: u64 = blocks.iter().map(|block| block.len() as u64).sum();
    let gaps = blocks.len().saturating_sub(1) as u64;
    pause(pauses.leader)
        + pause(pauses.trailer)
        + gaps * pause(pauses.gap)
        + bytes * u64::from(modulation.bits_per_character())
}

/// Samples that so many bits last: the samples at or before whose time the last bit has not ended.
pub fn sample_count(bit_count: u64, modulation: &Modulation, sample_rate: u32) -> u64 {
    let ticks = u128::from(bit_count) * 1000 * u128::from(sample_rate);
    ticks.div_ceil(u128::from(modulation.baud_thousandths().0)) as u64
}

/// A phase-continuous oscillator that is given one bit after another.
pub struct Oscillator {
    mark: Keyed,
    space: Keyed,
    /// Ticks in a sample.
    sample: u64,
    /// Ticks in a bit.
    bit: u64,
    /// Parts in a full turn of phase.
    turn: u64,
    /// Phase at the start of the next bit, in parts.
    phase: u64,
    /// Ticks from the start of the next bit to the first sample in it.
    first: u64,
}

struct Keyed {
    /// Parts of a turn in a tick.
    tone: u64,
    /// Parts of a turn in a sample, less whole turns.
    step: u64,
    wave: Wavetable,
}

impl Oscillator {
    /// An oscillator at phase zero. The highest tone must be below half the sample rate.
    pub fn new(modulation: &Modulation, sample_rate: u32, shape: Shape) -> Oscillator {
        let rate = u64::from(sample_rate);
        let sample = modulation.baud_thousandths().0;
        let turn = 1000 * rate * sample;
        let keyed = |tone: Tone| {
            let parts = modulation.thousandths(tone).0;
            let wave = Wavetable::new(shape, modulation.hertz(tone), f64::from(sample_rate));
            Keyed { tone: parts, step: parts * sample % turn, wave }
        };
        let (mark, space) = (keyed(Tone::Mark), keyed(Tone::Space));
        Oscillator { mark, space, sample, bit: 1000 * rate, turn, phase: 0, first: 0 }
    }

    /// Sounds one bit: hands every sample that falls in it, in -1..=1, to `emit`.
    pub fn key(&mut self, tone: Tone, mut emit: impl FnMut(f32)) {
        let keyed = match tone {
            Tone::Mark => &self.mark,
            Tone::Space => &self.space,
        };
        let cycle = 1.0 / self.turn as f64;
        let mut phase = (self.phase + keyed.tone * self.first) % self.turn;
        let mut at = self.first;
        while at < self.bit {
            emit(keyed.wave.at(phase as f64 * cycle));
            at += self.sample;
            phase += keyed.step;
            if phase >= self.turn {
                phase -= self.turn;
            }
        }
        self.first = at - self.bit;
        self.phase = (self.phase + keyed.tone * self.bit) % self.turn;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::{PRESETS, Preset};

    fn sound(blocks: &[&[u8]], modulation: &Modulation, pauses: &Pauses, rate: u32) -> Vec<f32> {
        let mut oscillator = Oscillator::new(modulation, rate, Shape::Sine);
        let mut samples = Vec::new();
        bits(blocks, modulation, pauses).for_each(|tone| oscillator.key(tone, |sample| samples.push(sample)));
        samples
    }

    #[test]
    fn lengths_are_exact_for_every_preset_and_rate() {
        let pauses = Pauses { leader: 0.1, gap: 0.05, trailer: 0.02 };
        let blocks: [&[u8]; 2] = [&[1, 2, 3], &[0xFF]];
        for preset in &PRESETS {
            for rate in [8000, 11_025, 44_100, 48_000, 96_000] {
                let samples = sound(&blocks, &preset.modulation, &pauses, rate);
                let bits = bit_count(&blocks, &preset.modulation, &pauses);
                assert_eq!(samples.len() as u64, sample_count(bits, &preset.modulation, rate), "{}", preset.name);
            }
        }
    }

    #[test]
    fn the_phase_never_jumps() {
        for preset in &PRESETS {
            let pauses = Pauses { leader: 0.01, gap: 0.0, trailer: 0.0 };
            let block: Vec<u8> = (0..=255).collect();
            let samples = sound(&[&block], &preset.modulation, &pauses, 44_100);
            let steepest = (std::f64::consts::TAU * preset.modulation.highest_hz() / 44_100.0) as f32;
            assert!(samples.windows(2).all(|pair| (pair[1] - pair[0]).abs() <= steepest + 1e-5), "{}", preset.name);
        }
    }

    #[test]
    fn the_last_bit_of_a_long_tape_starts_at_phase_zero_like_the_first() {
        let modulation = Preset::named("byte-300").unwrap().modulation;
        let mut oscillator = Oscillator::new(&modulation, 44_101, Shape::Sine);
        for bit in 0..200_000_u32 {
            assert_eq!(oscillator.phase, 0);
            oscillator.key(Tone::of_bit(bit % 3 == 0), |_| ());
        }
    }
}
