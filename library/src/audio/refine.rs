//! The speed once more, from the phase of the bits that were decided.
//!
//! A tone that runs fast turns on, from one bit to the next, further than it should. The turn is measured over
//! neighbouring bits and averaged over some twenty of them: good to a tenth of a per cent, and
//! quick enough to follow flutter (a data-aided frequency discriminator; Mengali and D'Andrea, Synchronization
//! Techniques for Digital Receivers, ch. 3).

use std::f64::consts::{PI, TAU};

use super::bits::Bit;
use super::correlate::Tones;
use super::modulation::{Modulation, Tone};
use super::phasor::Phasor;
use super::speed::SpeedTrack;
use super::warp::Warped;

/// Bits from one point of the track to the next.
const HOP_BITS: f64 = 2.0;
/// Turns that are fainter than this part of the usual ones count for little.
const FAINT: f64 = 0.003;
/// Points to either side that are averaged, at first.
pub(super) const WIDE: usize = 8;
/// The same, where the speed is seen to swing.
pub(super) const NARROW: usize = 3;

/// A better track than the one by which `warped` was made, and by what part it is faster at every point.
pub(super) fn refine(
    track: &SpeedTrack,
    warped: &Warped,
    tones: &Tones,
    bits: &[Bit],
    modulation: &Modulation,
    working_rate: f64,
    reach: usize,
) -> (SpeedTrack, Vec<f64>) {
    let hop = HOP_BITS * working_rate / modulation.baud();
    let end = warped.end();
    let mut turns = vec![[Phasor::default(); 2]; (end / hop) as usize + 2];
    for pair in bits.windows(2) {
        let [first, second] = [pair[0], pair[1]];
        if (second.at - first.at).abs_diff(tones.per_bit) <= 1 {
            let Some(turned) = turn(tones, first, second) else { continue };
            let place = (warped.position(second.at as f64) / hop).round() as usize;
            let sum = &mut turns[place][first.tone as usize];
            *sum = *sum + turned;
        }
    }
    let weights = weights(reach);
    let near: Vec<[Phasor; 2]> = (0..turns.len()).map(|index| averaged(&turns, index, &weights)).collect();
    let usual = near.iter().map(|turns| weight(*turns, modulation)).sum::<f64>() / near.len() as f64;
    let faster = near.iter().map(|near| {
        // Where next to nothing was heard, nothing was learnt.
        let trust = weight(*near, modulation) / (weight(*near, modulation) + FAINT * usual + 1e-20);
        trust * excess(*near, modulation)
    });
    let faster: Vec<f64> = faster.collect();
    let points = faster.iter().enumerate().map(|(index, part)| track.at(index as f64 * hop) * (1.0 + part));
    (SpeedTrack::new(hop, points.collect()), faster)
}

/// Whether a track is wrong by what is no noise: noise has forgotten itself after a few points, flutter has not.
pub(super) fn swings(faster: &[f64]) -> bool {
    /// No two averages so far apart share a point; flutter of any rate shows at one of these distances.
    const APART: [usize; 2] = [2 * NARROW + 2, 3 * NARROW + 2];
    const LEAST: f64 = 0.001;
    // What is far off is so where the bits are wrong, too, and tells nothing of the rest.
    const MOST: f64 = 0.01;
    let faster: Vec<f64> = faster.iter().map(|part| part.clamp(-MOST, MOST)).collect();
    let count = faster.len() as f64;
    let power = faster.iter().map(|part| part * part).sum::<f64>() / count;
    let by_chance = (2.0 * NARROW as f64 / count).sqrt();
    let remembers = |apart: usize| {
        let pairs = faster.iter().zip(faster.iter().skip(apart));
        pairs.map(|(one, other)| one * other).sum::<f64>().abs() / count > (0.2 + 2.0 * by_chance) * power
    };
    power > LEAST * LEAST && APART.into_iter().any(remembers)
}

/// The turn of phase from one bit to the next, beyond what their tones make. Across a change of tone it hangs on where
/// exactly the edge is, which for wide tones is not known well enough.
fn turn(tones: &Tones, first: Bit, second: Bit) -> Option<Phasor> {
    let across = tones.of(second.tone)[second.at] * tones.of(first.tone)[first.at].conj();
    match (first.tone, second.tone) {
        (Tone::Mark, Tone::Mark) | (Tone::Space, Tone::Space) => Some(across),
        _ if !tones.are_close() => None,
        (Tone::Mark, Tone::Space) => Some(across * tones.beat_at(second.at).conj()),
        (Tone::Space, Tone::Mark) => Some(across * tones.beat_at(second.at)),
    }
}

/// Weights of the points around one, `reach` to either side: a raised cosine.
fn weights(reach: usize) -> Vec<f32> {
    let weight = |place: usize| {
        let away = (place as f64 - reach as f64) / (reach as f64 + 1.0);
        (0.5 + 0.5 * (PI * away).cos()) as f32
    };
    (0..=2 * reach).map(weight).collect()
}

fn averaged(turns: &[[Phasor; 2]], index: usize, weights: &[f32]) -> [Phasor; 2] {
    let reach = weights.len() / 2;
    let from = index.saturating_sub(reach);
    let near = turns[from..].iter().zip(&weights[from + reach - index..]);
    near.fold([Phasor::default(); 2], |sums, (turn, weight)| {
        [sums[0] + turn[0].scaled(*weight), sums[1] + turn[1].scaled(*weight)]
    })
}

/// How much the turns of both tones tell: the same noise in phase is less noise in speed for the tone that turns more often.
fn weight(turns: [Phasor; 2], modulation: &Modulation) -> f64 {
    let of = |tone: Tone| {
        let cycles = modulation.hertz(tone) / modulation.baud();
        f64::from(turns[tone as usize].length()) * cycles * cycles
    };
    of(Tone::Mark) + of(Tone::Space)
}

/// By what part the tape runs faster than the track had it.
fn excess(turns: [Phasor; 2], modulation: &Modulation) -> f64 {
    let mut weighted = 0.0;
    let mut weights = 1e-20;
    for tone in [Tone::Mark, Tone::Space] {
        let turn = turns[tone as usize];
        let cycles = modulation.hertz(tone) / modulation.baud();
        // The same noise in phase is less noise in speed for the tone that turns more often.
        let weight = f64::from(turn.length()) * cycles * cycles;
        weighted += weight * f64::from(turn.angle()) / (TAU * cycles);
        weights += weight;
    }
    (weighted / weights).clamp(-0.06, 0.06)
}
