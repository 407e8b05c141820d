//! The speed once more, from the phase of the bits that were decided.
//!
//! A tone that runs fast turns on, from one bit to the next, further than it should. The turn is measured over
//! neighbouring bits and averaged over some twenty of them: good to a tenth of a per cent, and
//! quick enough to follow flutter (a data-aided frequency discriminator; Mengali and D'Andrea, Synchronization
//! Techniques for Digital Receivers, ch. 3).

use std::f64::consts::{PI, TAU};

use super::correlate::Tones;
use super::framing::Bit;
use super::modulation::{Modulation, Tone};
use super::phasor::Phasor;
use super::speed::SpeedTrack;
use super::warp::Warped;

/// Bits from one point of the track to the next.
const HOP_BITS: f64 = 2.0;
/// Turns that are fainter than this part of the usual ones count for little.
const FAINT: f64 = 0.003;
/// Points to either side that are averaged.
const REACH: usize = 8;

/// A better track than the one by which `warped` was made.
pub(super) fn refine(
    track: &SpeedTrack,
    warped: &Warped,
    tones: &Tones,
    bits: &[Bit],
    modulation: &Modulation,
    working_rate: f64,
) -> SpeedTrack {
    let hop = HOP_BITS * working_rate / modulation.baud();
    let end = warped.positions.last().copied().unwrap_or(0.0);
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
    let near: Vec<[Phasor; 2]> = (0..turns.len()).map(|index| averaged(&turns, index)).collect();
    let usual = near.iter().map(|turns| weight(*turns, modulation)).sum::<f64>() / near.len() as f64;
    let points = near.iter().enumerate().map(|(index, near)| {
        // Where next to nothing was heard, nothing was learnt.
        let trust = weight(*near, modulation) / (weight(*near, modulation) + FAINT * usual + 1e-20);
        track.at(index as f64 * hop) * (1.0 + trust * excess(*near, modulation))
    });
    SpeedTrack::new(hop, points.collect())
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

fn averaged(turns: &[[Phasor; 2]], index: usize) -> [Phasor; 2] {
    let mut sums = [Phasor::default(); 2];
    let from = index.saturating_sub(REACH);
    for (other, turn) in turns.iter().enumerate().take(index + REACH + 1).skip(from) {
        let away = (other as f64 - index as f64) / (REACH as f64 + 1.0);
        let weight = (0.5 + 0.5 * (PI * away).cos()) as f32;
        sums = [sums[0] + turn[0].scaled(weight), sums[1] + turn[1].scaled(weight)];
    }
    sums
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
