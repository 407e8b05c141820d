//! What was read: bytes, each with its time and its doubt, and the carriers that they came on.

use std::ops::Range;

use super::band::{FASTEST, SLOWEST};
use super::modulation::DATA_BITS;
use super::wav::WavFacts;

/// Odds, in nats, below which a bit is in doubt: 150 to 1.
pub(super) const DOUBT: f32 = 5.0;

/// By how much a measured speed may lie outside of those that are looked for.
const SPEED_ERROR: f64 = 0.02;

/// A byte as it was heard.
#[derive(Clone, Debug, PartialEq)]
pub struct HeardByte {
    /// Its likeliest value.
    pub value: u8,
    /// Where its start bit begins, in seconds of the recording.
    pub from: f64,
    /// Where its first stop bit ends, in seconds of the recording.
    pub to: f64,
    /// How fast the tape ran there, as a factor of nominal.
    pub speed: f32,
    /// The log-odds of each bit, least significant first, in nats: positive for 1. Beyond 5 either way is sure.
    pub soft: [f32; 8],
    /// The log-odds that this is a character and begins here: the weakest of start bit, stop bit and what it hangs on, in
    /// nats.
    pub framing: f32,
}

impl HeardByte {
    /// The log-odds of the weakest of its bits, start and stop included.
    pub fn margin(&self) -> f32 {
        self.soft.iter().fold(self.framing, |least, soft| least.min(soft.abs()))
    }

    /// Whether any bit of it is less sure than 150 to 1, or the speed is none that the reader looks for.
    pub fn is_doubtful(&self) -> bool {
        let speeds = SLOWEST - SPEED_ERROR..=FASTEST + SPEED_ERROR;
        self.margin() < DOUBT || !speeds.contains(&f64::from(self.speed))
    }

    /// Its bits, the likeliest slip first, each with the price in nats of taking it the other way.
    pub fn slips(&self) -> [(u8, f32); DATA_BITS] {
        let mut slips: [(u8, f32); DATA_BITS] = std::array::from_fn(|bit| (bit as u8, self.soft[bit].abs()));
        slips.sort_by(|a, b| a.1.total_cmp(&b.1));
        slips
    }

    /// The times at which its ten bits, start, data and first stop, begin, and the time at which the last one ends.
    pub fn edges(&self) -> [f64; DATA_BITS + 3] {
        let bit = (self.to - self.from) / (DATA_BITS + 2) as f64;
        std::array::from_fn(|edge| self.from + bit * edge as f64)
    }
}

/// A measurement of a carrier at one instant.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heard {
    pub speed: f64,
    pub mark: f64,
    pub space: f64,
    pub energy_over_density: f64,
}

/// What a carrier is like over its length.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Quality {
    count: f64,
    speed_sum: f64,
    slowest: f64,
    fastest: f64,
    mark_power: f64,
    space_power: f64,
    energy_sum: f64,
}

impl Quality {
    pub(super) fn add(&mut self, heard: Heard) {
        let one = Quality {
            count: 1.0,
            speed_sum: heard.speed,
            slowest: heard.speed,
            fastest: heard.speed,
            mark_power: heard.mark * heard.mark,
            space_power: heard.space * heard.space,
            energy_sum: heard.energy_over_density,
        };
        self.join(&one);
    }

    pub(super) fn join(&mut self, other: &Quality) {
        if other.count == 0.0 {
            return;
        }
        let first = self.count == 0.0;
        self.slowest = if first { other.slowest } else { self.slowest.min(other.slowest) };
        self.fastest = if first { other.fastest } else { self.fastest.max(other.fastest) };
        self.count += other.count;
        self.speed_sum += other.speed_sum;
        self.mark_power += other.mark_power;
        self.space_power += other.space_power;
        self.energy_sum += other.energy_sum;
    }

    fn mean(&self, sum: f64) -> f64 {
        sum / self.count.max(1.0)
    }

    /// Mean speed as a factor of nominal.
    pub fn speed(&self) -> f64 {
        self.mean(self.speed_sum)
    }

    /// The slowest speed, over a tenth of a second, as a factor of nominal.
    pub fn slowest(&self) -> f64 {
        self.slowest
    }

    /// The fastest speed, over a tenth of a second, as a factor of nominal.
    pub fn fastest(&self) -> f64 {
        self.fastest
    }

    /// Level of the mark tone in dB against full scale.
    pub fn level_dbfs(&self) -> f64 {
        10.0 * (self.mean(self.mark_power) + 1e-12).log10()
    }

    /// How much louder mark is than space, in dB.
    pub fn balance_db(&self) -> f64 {
        10.0 * ((self.mark_power + 1e-12) / (self.space_power + 1e-12)).log10()
    }

    /// Energy per bit over noise density in dB: with hiss alone nothing is lost above 16, and much below 10. Distortion
    /// counts as noise.
    pub fn clearness_db(&self) -> f64 {
        10.0 * (self.mean(self.energy_sum) + 1e-12).log10()
    }
}

/// A stretch of the recording with tones on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Carrier {
    /// Its start in seconds.
    pub from: f64,
    /// Its end in seconds.
    pub to: f64,
    /// Which of [`Reading::bytes`] came on it.
    pub bytes: Range<usize>,
    /// Speed, levels, noise.
    pub quality: Quality,
}

/// Everything that a recording told.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// The file.
    pub facts: WavFacts,
    /// The bytes in order of time.
    pub bytes: Vec<HeardByte>,
    /// The carriers in order of time. Every byte came on one.
    pub carriers: Vec<Carrier>,
    /// For how many seconds each channel was the better one; behind the channels, the sum of the first two.
    pub channel_seconds: Vec<f64>,
}

impl Reading {
    /// The bytes alone.
    pub fn values(&self) -> Vec<u8> {
        self.bytes.iter().map(|byte| byte.value).collect()
    }

    /// What was heard within a span of seconds: bytes that begin in it, and the carriers as far as they lie in it.
    pub fn within(&self, span: Range<f64>) -> Reading {
        let first = self.bytes.partition_point(|byte| byte.from < span.start);
        let end = self.bytes.partition_point(|byte| byte.from < span.end).max(first);
        let carriers = self.carriers.iter().filter(|it| it.to > span.start && it.from < span.end);
        let carriers = carriers.map(|carrier| Carrier {
            from: carrier.from.max(span.start),
            to: carrier.to.min(span.end),
            bytes: carrier.bytes.start.clamp(first, end) - first..carrier.bytes.end.clamp(first, end) - first,
            quality: carrier.quality.clone(),
        });
        Reading {
            facts: self.facts.clone(),
            bytes: self.bytes[first..end].to_vec(),
            carriers: carriers.collect(),
            channel_seconds: self.channel_seconds.clone(),
        }
    }

    /// Runs of bytes that follow one another with pauses of at most `pause` seconds: what was written as one block is
    /// one run.
    ///
    /// Returns ranges of [`Reading::bytes`].
    pub fn runs(&self, pause: f64) -> Vec<Range<usize>> {
        let mut runs: Vec<Range<usize>> = Vec::new();
        for (index, byte) in self.bytes.iter().enumerate() {
            let joins = index.checked_sub(1).is_some_and(|before| byte.from - self.bytes[before].to <= pause);
            match runs.last_mut() {
                Some(run) if joins => run.end = index + 1,
                _ => runs.push(index..index + 1),
            }
        }
        runs
    }
}

#[cfg(test)]
mod tests {
    use crate::audio::{Pauses, Preset, Sound, read, write};

    #[test]
    fn a_span_has_the_bytes_that_begin_in_it_on_carriers_of_its_own() {
        let preset = Preset::named("byte-1200").unwrap();
        let pauses = Pauses { leader: 0.5, gap: 0.5, trailer: 0.5 };
        let mut wav = std::io::Cursor::new(Vec::new());
        write(&mut wav, &[b"ring", b"the bells"], &preset.modulation, &pauses, &Sound::default(), |_| ()).unwrap();
        let whole = read(&wav.get_ref()[..], &preset.modulation, |_| ()).unwrap();
        // The second part begins behind half a second, four characters of 11 bits, and half a second.
        let second = 1.0 + 44.0 / 1200.0;
        assert_eq!(whole.within(0.0..second - 0.01).values(), b"ring");
        let part = whole.within(second - 0.01..f64::INFINITY);
        assert_eq!((part.values().as_slice(), part.carriers[0].bytes.clone()), (&b"the bells"[..], 0..9));
        assert_eq!(part.carriers[0].from, second - 0.01);
        assert_eq!(whole.within(3.0..2.0).values(), b"");
        assert_eq!(whole.within(0.0..f64::INFINITY), whole);
    }

    /// The same samples, said to be so many a second: the tape runs faster or slower.
    #[test]
    fn what_is_heard_at_a_speed_that_is_not_looked_for_is_doubtful() {
        let preset = Preset::named("byte-1200").unwrap();
        let pauses = Pauses { leader: 1.0, gap: 0.5, trailer: 0.5 };
        let text = b"rings in the tower, and over the fields";
        let heard_at = |speed: f64| {
            let mut wav = std::io::Cursor::new(Vec::new());
            write(&mut wav, &[text], &preset.modulation, &pauses, &Sound::default(), |_| ()).unwrap();
            let mut wav = wav.into_inner();
            let rate = u32::from_le_bytes(wav[24..28].try_into().unwrap());
            wav[24..28].copy_from_slice(&((f64::from(rate) * speed) as u32).to_le_bytes());
            read(&wav[..], &preset.modulation, |_| ()).unwrap()
        };
        for speed in [0.82, 1.0, 1.2] {
            let heard = heard_at(speed);
            assert_eq!(heard.values(), text, "{speed}");
            assert!(!heard.bytes.iter().any(|byte| byte.is_doubtful()), "{speed}");
        }
        for speed in [0.66, 0.70, 0.74, 1.3, 1.36] {
            assert!(heard_at(speed).bytes.iter().all(|byte| byte.is_doubtful()), "{speed}");
        }
    }
}
