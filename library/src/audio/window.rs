//! One window of a recording, some thirty seconds, from filtered signal to bytes. A window is decoded by itself, without
//! knowing what came before, so that windows can be done side by side and a recording read from anywhere.
//!
//! Twice round: with the speed from the spectrum the bits come out well enough to measure the speed by their phase; with
//! that speed they come out well enough to measure levels and noise, and to tell carrier from silence.

use super::band::Band;
use super::bits::Bits;
use super::bridge::bridge;
use super::correlate::Tones;
use super::decision::decide;
use super::framing;
use super::grid::{Grid, Settled};
use super::lattice::{LEAST_BITS, Prior, Stretch};
use super::level::Level;
use super::levels::Levels;
use super::modulation::{DATA_BITS, Modulation, Tone};
use super::reading::{Heard, HeardByte, Quality};
use super::refine::{NARROW, WIDE, refine, swings};
use super::speed::{self, Found, Frames, SpeedTrack};
use super::warp::{Warp, Warped};

/// What is less clear than this, as energy per bit over noise density, is no carrier: noise alone measures 4 to 5 dB, and
/// of a carrier at 6 dB half the bytes would be wrong.
const SQUELCH_DB: f64 = 6.0;

/// How often the speed is measured again where it swings.
const MOST_ROUNDS: usize = 3;

/// What is needed to decode any window of a recording.
pub(super) struct Demodulator {
    pub modulation: Modulation,
    pub band: Band,
    warp: Warp,
}

/// A carrier, or the part of one that lies in a window.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub from: f64,
    pub to: f64,
    pub quality: Quality,
}

/// What a window holds; times are seconds from its start.
pub(super) struct Window {
    pub bytes: Vec<HeardByte>,
    pub carriers: Vec<Piece>,
    /// Up to when characters hang on nothing that was heard in the window.
    pub loose_to: f64,
}

impl Demodulator {
    pub(super) fn new(modulation: Modulation, band: Band) -> Demodulator {
        Demodulator { modulation, band, warp: Warp::new(&modulation, band.working_rate()) }
    }

    /// Decodes a window whose speed is roughly known. `footing` is when a character begins that is known from before.
    pub(super) fn decode(&self, signal: &[f32], speed: &Found, footing: Option<f64>) -> Window {
        let mut track = self.likeliest(signal, speed);
        let (mut warped, mut tones, mut bits) = self.heard(signal, &track);
        for round in 0..MOST_ROUNDS {
            let (better, faster) =
                refine(&track, &warped, &tones, &bits.list, &self.modulation, self.band.working_rate(), NARROW);
            if !swings(&faster) {
                break;
            }
            track = if round == 0 { self.agile(signal, better) } else { better };
            (warped, tones, bits) = self.heard(signal, &track);
        }
        if tones.len() == 0 {
            return Window { bytes: Vec::new(), carriers: Vec::new(), loose_to: 0.0 };
        }
        let levels = Levels::measured(&tones, &bits.list);
        let mut scores = levels.scores(&tones, 1);
        let prior = Prior { slack: 1, may_be_silent: true };
        let stretches = framing::trace(&mut scores, tones.per_bit, self.stop_bits(), prior);
        let grid = Grid { scores: &scores, per_bit: tones.per_bit, stop_bits: self.stop_bits() };
        let footing = footing.map(|seconds| warped.place(seconds * self.band.working_rate()));
        let settled = bridge(grid.settle(&stretches, footing), tones.per_bit, LEAST_BITS - 1 + self.stop_bits());
        let Settled { stretches, sure, loose_to } = settled;
        let mut bits = framing::bits(&stretches, &scores, tones.per_bit);
        let soft = decide(&tones, &levels, &scores, &mut bits);
        let heard =
            Told { warped: &warped, track: &track, levels: &levels, rate: self.band.working_rate(), tones: &tones };
        let mut carriers = heard.carriers(&stretches);
        carriers.retain(|piece| piece.quality.clearness_db() >= SQUELCH_DB);
        let mut bytes = heard.bytes(&bits, &soft, &sure);
        bytes.retain(|byte| carriers.iter().any(|piece| (piece.from..=piece.to).contains(&byte.from)));
        let loose_to = warped.position(loose_to as f64) / self.band.working_rate();
        Window { bytes, carriers, loose_to }
    }

    /// A signal in tape time, its tones, and the bits on a coarse grid.
    fn heard(&self, signal: &[f32], track: &SpeedTrack) -> (Warped, Tones, Bits) {
        let warped = self.warp.apply(signal, track);
        let tones = Tones::new(&warped.samples, &self.modulation);
        let bits = self.coarse(&tones);
        (warped, tones, bits)
    }

    /// The refined track of the speed under which the bits hold the most of what is heard.
    fn likeliest(&self, signal: &[f32], speed: &Found) -> SpeedTrack {
        /// So many times as much is plainly more. Of two that are nearer to each other the one nearer to nominal is likelier,
        /// as most tapes run at about their speed.
        const PLAINLY: f64 = 1.03;
        let first = self.refined(signal, &speed.track);
        let rivals = speed.rivals.iter().map(|track| self.refined(signal, track));
        let likelier = |best: &(SpeedTrack, f64), rival: &(SpeedTrack, f64)| match rival.1 / best.1 {
            ratio if (1.0 / PLAINLY..PLAINLY).contains(&ratio) => rival.0.strayed() < best.0.strayed(),
            ratio => ratio > 1.0,
        };
        rivals.fold(first, |best, rival| if likelier(&best, &rival) { rival } else { best }).0
    }

    /// Where the speed swings it may do so more quickly than the spectra of long frames can follow: the better one of a
    /// track and that of short frames.
    fn agile(&self, signal: &[f32], track: SpeedTrack) -> SpeedTrack {
        let agile = speed::search(signal, &self.modulation, &self.band, Frames::Short).track;
        let (known, tried) = (self.refined(signal, &track), self.refined(signal, &agile));
        if tried.1 > known.1 { tried.0 } else { track }
    }

    /// A track made better by the bits that are read with it, and the mean power that these have in the tones they should
    /// sound: where one tone is taken for the other, what the other sounds lies elsewhere.
    fn refined(&self, signal: &[f32], track: &SpeedTrack) -> (SpeedTrack, f64) {
        let (warped, tones, Bits { list: bits, .. }) = self.heard(signal, track);
        let (refined, _) = refine(track, &warped, &tones, &bits, &self.modulation, self.band.working_rate(), WIDE);
        let power: f64 = bits.iter().map(|bit| f64::from(tones.of(bit.tone)[bit.at].power())).sum();
        (refined, power / bits.len().max(1) as f64)
    }

    /// The bits on a coarse grid and without knowing levels: right enough to measure speed and levels.
    fn coarse(&self, tones: &Tones) -> Bits {
        let step = coarse_step(tones.per_bit);
        let per_bit = tones.per_bit / step;
        let mut scores = Levels::assumed(tones).scores(tones, step);
        let prior = Prior { slack: 1, may_be_silent: false };
        let stretches = framing::trace(&mut scores, per_bit, self.stop_bits(), prior);
        framing::bits(&stretches, &scores, per_bit).stretched(step)
    }

    fn stop_bits(&self) -> usize {
        usize::from(self.modulation.stop_bits())
    }
}

/// The longest step that divides a bit into six parts or more.
fn coarse_step(per_bit: usize) -> usize {
    (1..=per_bit / 6).rev().find(|step| per_bit.is_multiple_of(*step)).unwrap_or(1)
}

/// Turns samples of tape time into seconds of the window.
struct Told<'a> {
    warped: &'a Warped,
    track: &'a SpeedTrack,
    levels: &'a Levels,
    tones: &'a Tones,
    rate: f64,
}

impl Told<'_> {
    fn bytes(&self, bits: &Bits, soft: &[f32], sure: &[f32]) -> Vec<HeardByte> {
        let byte = |(&start, sure): (&usize, &f32)| {
            let soft = &soft[start..start + LEAST_BITS];
            let value = (0..DATA_BITS)
                .fold(0, |value, bit| value | u8::from(bits.list[start + 1 + bit].tone == Tone::Mark) << bit);
            let at = bits.list[start].at;
            let end = at + LEAST_BITS * self.tones.per_bit;
            HeardByte {
                value,
                from: self.warped.position(at as f64) / self.rate,
                to: self.warped.position(end as f64) / self.rate,
                speed: self.track.at(self.warped.position((at + end) as f64 / 2.0)) as f32,
                soft: std::array::from_fn(|bit| soft[1 + bit]),
                framing: (-soft[0]).min(soft[LEAST_BITS - 1]).min(*sure),
            }
        };
        bits.characters.iter().zip(sure).map(byte).collect()
    }

    /// Stretches with carrier, silence cut out.
    fn carriers(&self, stretches: &[Stretch]) -> Vec<Piece> {
        let end = self.tones.len().saturating_sub(1);
        let silences = stretches.iter().filter_map(|stretch| match *stretch {
            Stretch::Silence(from, to) => Some((from, to)),
            _ => None,
        });
        let mut from = 0;
        let mut pieces = Vec::new();
        for (silence_from, silence_to) in silences.chain([(end, end)]) {
            if silence_from > from {
                pieces.push(self.piece(from, silence_from));
            }
            from = silence_to;
        }
        pieces
    }

    fn piece(&self, from: usize, to: usize) -> Piece {
        let mut quality = Quality::default();
        let mut next = 0.0;
        for sample in (from..to).step_by(self.tones.per_bit) {
            let position = self.warped.position(sample as f64);
            if position >= next {
                quality.add(self.heard(position, sample));
                next = position + self.rate / 10.0;
            }
        }
        let seconds = |sample: usize| self.warped.position(sample as f64) / self.rate;
        Piece { from: seconds(from), to: seconds(to), quality }
    }

    fn heard(&self, position: f64, sample: usize) -> Heard {
        let level: Level = self.levels.raw(sample);
        Heard {
            speed: self.track.at(position),
            mark: f64::from(level.mark),
            space: f64::from(level.space),
            energy_over_density: f64::from(level.energy_over_density()),
        }
    }
}
