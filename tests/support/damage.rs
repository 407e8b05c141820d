//! What old cassettes and their players do to sound, from a seed: the same seed gives the same damage.

#![allow(dead_code, reason = "not every test does every damage")]

use std::f64::consts::TAU;
use std::io::Cursor;

use coldwright::audio::{Depth, Modulation, Pauses, Reading, Sound, read, write};

pub const RATE: u32 = 44_100;

/// Seconds of leader on a tape.
pub const LEADER: f64 = 0.7;

/// Numbers that look random (Steele, Lea and Flood, Fast Splittable Pseudorandom Number Generators, 2014).
pub struct Random(pub u64);

impl Random {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ self.0 >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    pub fn unit(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn bytes(&mut self, count: usize) -> Vec<u8> {
        (0..count).map(|_| self.next() as u8).collect()
    }

    /// Two independent values of a normal distribution (Box and Muller, 1958).
    fn normals(&mut self) -> [f64; 2] {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        let (sin, cos) = (TAU * self.unit()).sin_cos();
        [radius * cos, radius * sin]
    }
}

/// A tape of one block as samples at [`RATE`], peak 0.5.
pub fn tape(bytes: &[u8], modulation: &Modulation) -> Vec<f32> {
    tape_of(&[bytes], modulation, &Pauses { leader: LEADER, gap: 1.0, trailer: 0.3 })
}

pub fn tape_of(blocks: &[&[u8]], modulation: &Modulation, pauses: &Pauses) -> Vec<f32> {
    let sound = Sound { depth: Depth::Float32, level_dbfs: -6.02, sample_rate: RATE, ..Sound::default() };
    let mut out = Cursor::new(Vec::new());
    write(&mut out, blocks, modulation, pauses, &sound, |_| ()).expect("a tape in memory");
    out.set_position(0);
    hound::WavReader::new(out).expect("a WAV file").into_samples().map(|s| s.expect("a sample")).collect()
}

/// Samples as a 16-bit WAV file; what is beyond full scale is clipped.
pub fn wav(channels: &[&[f32]], rate: u32) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: channels.len() as u16,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut out = Cursor::new(Vec::new());
    let mut wav = hound::WavWriter::new(&mut out, spec).expect("a WAV file in memory");
    for index in 0..channels[0].len() {
        for channel in channels {
            wav.write_sample((channel[index] * 32_767.0).round() as i16).expect("memory");
        }
    }
    wav.finalize().expect("memory");
    out.into_inner()
}

/// Reads samples at [`RATE`], scaled so that nothing is clipped.
pub fn read_back(samples: &[f32], modulation: &Modulation) -> Reading {
    read(&wav(&[&scaled(samples)], RATE)[..], modulation, |_| ()).expect("a recording in memory")
}

/// Samples made fainter as far as needed that none is clipped.
pub fn scaled(samples: &[f32]) -> Vec<f32> {
    let peak = samples.iter().fold(0.5_f32, |peak, s| peak.max(s.abs()));
    samples.iter().map(|s| s * 0.9 / peak).collect()
}

/// White noise over the full band, at a ratio of signal to noise power in dB.
pub fn noise(samples: &mut [f32], ratio_db: f64, seed: u64) {
    let power = samples.iter().map(|s| f64::from(s * s)).sum::<f64>() / samples.len() as f64;
    hiss(samples, (power / 10.0_f64.powf(ratio_db / 10.0)).sqrt(), seed);
}

/// White noise of a given root mean square.
pub fn hiss(samples: &mut [f32], rms: f64, seed: u64) {
    let mut random = Random(seed);
    for pair in samples.chunks_mut(2) {
        pair.iter_mut().zip(random.normals()).for_each(|(s, n)| *s += (rms * n) as f32);
    }
}

/// Plays at a speed, a factor of nominal, that varies with the seconds played.
pub fn play(samples: &[f32], speed: impl Fn(f64) -> f64) -> Vec<f32> {
    let at = |index: i64| usize::try_from(index).ok().and_then(|i| samples.get(i)).map_or(0.0, |s| f64::from(*s));
    let mut out = Vec::new();
    let mut position = 0.0;
    while position < samples.len() as f64 {
        let index = position as i64;
        let x = position - index as f64;
        let [a, b, c, d] = [at(index - 1), at(index), at(index + 1), at(index + 2)];
        // Cubic through four samples (Catmull and Rom, 1974).
        let value = b + 0.5 * x * (c - a + x * (2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a)));
        out.push(value as f32);
        position += speed(out.len() as f64 / f64::from(RATE));
    }
    out
}

/// Speed that swings by a part of itself, so many times a second.
pub fn swing(part: f64, hertz: f64) -> impl Fn(f64) -> f64 {
    move |seconds| 1.0 + part * (TAU * hertz * seconds).sin()
}

/// Adds a hum with its third harmonic, so many dB above a tape of peak 0.5.
pub fn hum(samples: &mut [f32], hertz: f64, over_db: f64) {
    let peak = 0.5 * 10.0_f64.powf(over_db / 20.0);
    for (index, sample) in samples.iter_mut().enumerate() {
        let turn = TAU * hertz * index as f64 / f64::from(RATE);
        *sample += (peak * (turn.sin() + 0.1 * (3.0 * turn).sin())) as f32;
    }
}

/// Lets the level fall evenly, in dB, over the whole.
pub fn fade(samples: &mut [f32], by_db: f64) {
    let length = samples.len() as f64;
    for (index, sample) in samples.iter_mut().enumerate() {
        *sample *= 10.0_f64.powf(-by_db / 20.0 * index as f64 / length) as f32;
    }
}

/// Silences `length` seconds at each of the given times.
pub fn drop_out(samples: &mut [f32], times: &[f64], length: f64) {
    for time in times {
        let from = (time * f64::from(RATE)) as usize;
        let to = ((time + length) * f64::from(RATE)) as usize;
        let end = samples.len();
        samples[from.min(end)..to.min(end)].fill(0.0);
    }
}

/// A first-order high-pass or low-pass: what worn heads and cheap inputs do to the balance of the tones.
pub fn tilt(samples: &mut [f32], corner_hz: f64, high_pass: bool) {
    let pole = (-TAU * corner_hz / f64::from(RATE)).exp() as f32;
    let mut low = 0.0;
    for sample in samples {
        low = pole * low + (1.0 - pole) * *sample;
        *sample = if high_pass { *sample - low } else { low };
    }
}

/// How many insertions, losses and changes of a byte lie between two texts (Levenshtein, 1965).
pub fn byte_errors(sent: &[u8], heard: &[u8]) -> usize {
    let mut row: Vec<usize> = (0..=heard.len()).collect();
    for (i, byte) in sent.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, other) in heard.iter().enumerate() {
            let changed = diagonal + usize::from(byte != other);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(row[j] + 1).min(row[j + 1] + 1);
        }
    }
    row[heard.len()]
}

/// The chance of a wrong byte at a ratio of signal to noise over the full band of [`RATE`], for non-coherent orthogonal
/// binary FSK: a bit is wrong with `Pb = 1/2 exp(-Eb / 2 N0)` (Proakis, Digital Communications, "Probability of error
/// for envelope detection of orthogonal signals"), and a byte is right when its eight bits are.
pub fn textbook_byte_error(ratio_db: f64, baud: f64) -> f64 {
    let energy_over_density = 10.0_f64.powf(ratio_db / 10.0) * f64::from(RATE) / 2.0 / baud;
    1.0 - (1.0 - 0.5 * (-energy_over_density / 2.0).exp()).powi(8)
}

/// Multiplies each sample by a gain in dB that hangs on its time in seconds.
pub fn gain(samples: &mut [f32], decibels: impl Fn(f64) -> f64) {
    for (index, sample) in samples.iter_mut().enumerate() {
        *sample *= 10.0_f64.powf(decibels(index as f64 / f64::from(RATE)) / 20.0) as f32;
    }
}

/// Times in seconds behind the leader, about `every` seconds apart.
pub fn times(samples: &[f32], every: f64, seed: u64) -> Vec<f64> {
    let mut random = Random(seed);
    let end = samples.len() as f64 / f64::from(RATE) - 0.5;
    let next = |time: &f64| Some(time + every * (0.5 + random.unit()));
    std::iter::successors(Some(LEADER + every / 3.0), next).take_while(|time| *time < end).collect()
}

/// Lets the level dip about once every `every` seconds, by a number of dB and for a number of seconds drawn from ranges.
/// It falls and rises within a millisecond.
pub fn dips(samples: &mut [f32], every: f64, decibels: (f64, f64), seconds: (f64, f64), seed: u64) {
    const EDGE: f64 = 0.001;
    let mut random = Random(seed + 1);
    let mut drawn = |(low, high): (f64, f64)| low + (high - low) * random.unit();
    let dips: Vec<(f64, f64, f64)> =
        times(samples, every, seed).into_iter().map(|time| (time, drawn(decibels), drawn(seconds))).collect();
    gain(samples, |time| {
        let Some((from, depth, length)) = dips.iter().rev().find(|dip| dip.0 <= time) else { return 0.0 };
        let inside = ((time - from) / EDGE).min((from + length - time) / EDGE).clamp(0.0, 1.0);
        -depth * inside
    });
}

/// An automatic gain that falls at once by so many dB, about twice a second, and comes back within half a second.
pub fn pumping(samples: &mut [f32], decibels: f64, seed: u64) {
    let falls = times(samples, 0.5, seed);
    gain(samples, |time| {
        let last = falls.iter().rev().find(|fall| **fall <= time);
        last.map_or(0.0, |fall| -decibels * (-(time - fall) / 0.15).exp())
    });
}

/// Spikes of so many seconds and of twice the peak of a tape, so many a second, up and down in turn by chance.
pub fn spikes(samples: &mut [f32], a_second: f64, seconds: f64, seed: u64) {
    let mut random = Random(seed);
    let width = (seconds * f64::from(RATE)).round().max(1.0) as usize;
    let mut at = 0.0;
    while (at as usize) < samples.len() {
        let height = if random.unit() < 0.5 { 1.0 } else { -1.0 };
        samples[at as usize..].iter_mut().take(width).for_each(|sample| *sample += height);
        at += f64::from(RATE) / a_second;
    }
}

/// How a reading differs from what was sent.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// Bytes lost, made up or changed.
    pub wrong: usize,
    /// Those of them that nothing tells of: neither a doubtful byte nor, for a lost one, a doubtful neighbour or a gap
    /// between two carriers.
    pub silent: usize,
}

/// Compares by the fewest losses, additions and changes (Levenshtein, 1965).
pub fn difference(sent: &[u8], reading: &Reading) -> Difference {
    let heard = reading.values();
    let width = heard.len() + 1;
    let mut costs: Vec<u32> = (0..width as u32).collect();
    for (i, byte) in sent.iter().enumerate() {
        costs.push(i as u32 + 1);
        for (j, other) in heard.iter().enumerate() {
            let before = i * width + j;
            let changed = costs[before] + u32::from(byte != other);
            costs.push(changed.min(costs[before + 1] + 1).min(costs[(i + 1) * width + j] + 1));
        }
    }
    let doubtful = |j: usize| reading.bytes.get(j).is_some_and(|byte| byte.is_doubtful());
    let on = |j: usize| reading.carriers.iter().position(|carrier| carrier.bytes.contains(&j));
    let mut found = Difference::default();
    let (mut i, mut j) = (sent.len(), heard.len());
    while i > 0 || j > 0 {
        let here = costs[i * width + j];
        let told;
        if i > 0 && j > 0 && here == costs[(i - 1) * width + j - 1] + u32::from(sent[i - 1] != heard[j - 1]) {
            (i, j) = (i - 1, j - 1);
            if sent[i] == heard[j] {
                continue;
            }
            told = doubtful(j);
        } else if j > 0 && here == costs[i * width + j - 1] + 1 {
            j -= 1;
            told = doubtful(j);
        } else {
            i -= 1;
            told = doubtful(j) || j.checked_sub(1).is_none_or(|before| doubtful(before) || on(before) != on(j));
        }
        found.wrong += 1;
        found.silent += usize::from(!told);
    }
    found
}
