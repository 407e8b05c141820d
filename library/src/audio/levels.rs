//! How strong each tone is and how much noise there is, from bit to bit.
//!
//! Amplitudes and noise are measured over stretches of some hundred bits, where noise has averaged out. A tape's level
//! moves faster than that: how loud each bit is against its stretch is followed over a bit or two, and what noise there
//! is over a dozen, since distortion fades with the signal and hiss does not.

use super::bits::Bit;
use super::correlate::Tones;
use super::level::Level;
use super::modulation::Tone;

/// Bits over which levels are taken as steady.
const BLOCK_BITS: usize = 32;
/// The energy per bit over noise density that is assumed before anything has been measured.
const ASSUMED: f32 = 10.0;
/// Places in a bit at which its power is looked for before it is known where it begins.
const PLACES: usize = 4;
/// Bits to either side over which the noise of one is averaged.
const NOISE_REACH: usize = 6;
/// Bits to one side, its own included, over which the power of one is averaged.
const POWER_REACH: usize = 3;
/// The least power of a bit against that of its stretch: what is fainter by 40 dB is not followed.
const LEAST_SHARE: f32 = 1e-4;

/// The level of one bit.
#[derive(Clone, Copy)]
struct Local {
    /// Of the stretch, with the noise around the bit.
    level: Level,
    /// The power of the bit against that of the stretch.
    share: f32,
}

impl Local {
    /// What the bit is heard with: its own level where that is plainly another one than that of its stretch.
    fn heard(&self) -> Level {
        self.level.scaled(self.part()).bounded()
    }

    fn part(&self) -> f32 {
        const PLAINLY: f32 = 0.6;
        let share = self.share;
        (share / PLAINLY).min((share * PLAINLY).max(1.0)).sqrt()
    }

    /// What it is scored with: noise by its own level, amplitudes by the louder of its own and that of the stretch.
    fn scored(&self) -> Level {
        let part = self.part();
        let noise = self.level.scaled(part).bounded().noise;
        let louder = self.level.scaled(part.max(1.0));
        let floor = Level { noise, ..self.level.scaled(0.0) }.bounded();
        Level { mark: louder.mark.max(floor.mark), space: louder.space.max(floor.space), noise }
    }
}

/// The levels of a window.
pub(super) struct Levels {
    per_bit: usize,
    /// One a stretch.
    blocks: Vec<Level>,
    /// One for every bit time, counted from the start of the window.
    list: Vec<Local>,
}

/// Log-likelihoods of mark and of space in the bit that starts at each sample.
pub(super) struct Scores {
    pub mark: Vec<f32>,
    pub space: Vec<f32>,
}

impl Scores {
    /// Makes them so long, with places behind the end where nothing is known, or cuts such places off again.
    pub(super) fn resize(&mut self, places: usize) {
        self.mark.resize(places, 0.0);
        self.space.resize(places, 0.0);
    }
}

impl Levels {
    /// A first guess without knowing one bit: the loudest quarter of envelopes gives the amplitude, for both tones.
    pub(super) fn assumed(tones: &Tones) -> Levels {
        let stride = (tones.per_bit / PLACES).max(1);
        let louder = |at: usize| tones.mark[at].power().max(tones.space[at].power());
        let starts = (0..tones.len()).step_by(tones.per_bit);
        let slots = starts.map(|at| (at..(at + tones.per_bit).min(tones.len())).step_by(stride).map(louder).collect());
        let slots: Vec<Vec<f32>> = slots.collect();
        let block = |from: usize| {
            let range = from.saturating_sub(BLOCK_BITS / 2)..(from + BLOCK_BITS * 3 / 2).min(slots.len());
            let mut near = slots[range].concat();
            let place = near.len() * 3 / 4;
            *near.select_nth_unstable_by(place, f32::total_cmp).1
        };
        let blocks: Vec<f32> = (0..slots.len()).step_by(BLOCK_BITS).map(block).collect();
        let level = |power: f32| Level { mark: power.sqrt(), space: power.sqrt(), noise: power / (2.0 * ASSUMED) };
        let bit = |(index, powers): (usize, &Vec<f32>)| {
            powers.iter().fold(0.0_f32, |most, power| most.max(*power)) / blocks[index / BLOCK_BITS].max(1e-20)
        };
        let shares: Vec<f32> = slots.iter().enumerate().map(bit).collect();
        let local = |(index, share): (usize, f32)| {
            let power = blocks[index / BLOCK_BITS];
            let noise = share.clamp(LEAST_SHARE, 1.0) * power / (2.0 * ASSUMED);
            Local { level: Level { noise, ..level(power) }, share }
        };
        let list = followed(&shares).into_iter().enumerate().map(local).collect();
        Levels { per_bit: tones.per_bit, blocks: blocks.iter().map(|power| level(*power)).collect(), list }
    }

    /// Measured on decided bits: the right filter gives amplitude and noise, the other one, less what is known to leak
    /// into it, noise alone.
    pub(super) fn measured(tones: &Tones, bits: &[Bit]) -> Levels {
        let slots = tones.len().div_ceil(tones.per_bit).max(1);
        let mut single = vec![Sums::default(); slots];
        for bit in bits {
            single[bit.at / tones.per_bit].add(tones, bit);
        }
        let sums: Vec<Sums> = single.chunks(BLOCK_BITS).map(Sums::of).collect();
        let whole = Sums::of(&sums);
        let level = |index: usize| {
            let near = &sums[index.saturating_sub(1)..(index + 2).min(sums.len())];
            Sums::of(near).level(&whole)
        };
        let blocks: Vec<Level> = (0..sums.len()).map(level).collect();
        let shares: Vec<f32> = single.iter().enumerate().map(|(i, one)| one.share(&blocks[i / BLOCK_BITS])).collect();
        let local = |(index, share): (usize, f32)| {
            let level = blocks[index / BLOCK_BITS];
            let near = &single[index.saturating_sub(NOISE_REACH)..(index + NOISE_REACH + 1).min(slots)];
            let least = level.noise * share.clamp(LEAST_SHARE, 1.0);
            let noise = Sums::of(near).noise().clamp(least, level.noise);
            Local { level: Level { noise, ..level }, share }
        };
        let list = followed(&shares).into_iter().enumerate().map(local).collect();
        Levels { per_bit: tones.per_bit, blocks, list }
    }

    pub(super) fn at(&self, sample: usize) -> Level {
        self.list[(sample / self.per_bit).min(self.list.len() - 1)].heard()
    }

    /// As measured over a stretch, without the bounds that decisions need.
    pub(super) fn raw(&self, sample: usize) -> Level {
        self.blocks[(sample / (BLOCK_BITS * self.per_bit)).min(self.blocks.len() - 1)]
    }

    /// The scores of bits that start at every `step`-th sample; `step` divides a bit.
    pub(super) fn scores(&self, tones: &Tones, step: usize) -> Scores {
        let count = tones.len().div_ceil(step);
        let mut scores = Scores { mark: Vec::with_capacity(count), space: Vec::with_capacity(count) };
        for (index, local) in self.list.iter().enumerate() {
            let level = local.scored();
            let range = index * self.per_bit..((index + 1) * self.per_bit).min(tones.len());
            // Envelopes first, then their scores in place: loops so simple that the compiler takes several at a time.
            let score = |tone: Tone, scores: &mut Vec<f32>| {
                let first = scores.len();
                scores.extend(tones.of(tone)[range.clone()].iter().step_by(step).map(|z| z.length()));
                let of = level.score(tone);
                scores[first..].iter_mut().for_each(|value| *value = of(*value));
            };
            score(Tone::Mark, &mut scores.mark);
            score(Tone::Space, &mut scores.space);
        }
        scores
    }
}

/// Averages over a few bits that end or begin with each one, whichever it is more like: a level that changes from one bit
/// to the next is not blurred (Kuwahara, Hachimura, Eiho and Kinoshita, 1976, on a line).
fn followed(shares: &[f32]) -> Vec<f32> {
    let mean = |part: &[f32]| part.iter().sum::<f32>() / part.len() as f32;
    let one = |(index, own): (usize, &f32)| {
        let before = mean(&shares[(index + 1).saturating_sub(POWER_REACH)..=index]);
        let after = mean(&shares[index..(index + POWER_REACH).min(shares.len())]);
        if (own - before).abs() < (own - after).abs() { before } else { after }
    };
    shares.iter().enumerate().map(one).collect()
}

#[derive(Clone, Copy, Default)]
struct Sums {
    power: [f32; 2],
    count: [f32; 2],
    noise: f32,
}

impl Sums {
    fn of(parts: &[Sums]) -> Sums {
        parts.iter().fold(Sums::default(), |all, sum| all.plus(sum))
    }

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

    fn noise(&self) -> f32 {
        self.noise / (self.count[0] + self.count[1]).max(1.0)
    }

    /// The power of these bits against what a level promises; as promised where there are none.
    fn share(&self, level: &Level) -> f32 {
        let promised = self.count[0] * level.mark * level.mark + self.count[1] * level.space * level.space;
        if promised > 0.0 { (self.power[0] + self.power[1]) / promised } else { 1.0 }
    }

    /// Amplitudes and noise; a tone that is too rare here takes its balance from the whole window.
    fn level(&self, whole: &Sums) -> Level {
        const ENOUGH: f32 = 6.0;
        let noise = self.noise();
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
