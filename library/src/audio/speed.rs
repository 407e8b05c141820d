//! How fast the tape runs, from second to second: a first estimate from the spectrum alone.
//!
//! Short overlapping spectra are compared with every speed on a logarithmic scale: at the right one, the lines of mark
//! and space between them hold most of the power. The best path through all frames, with a price on every change of
//! speed, is found by dynamic programming (Viterbi's algorithm). It needs no bits, no timing and no level, and cannot be
//! led astray by a frame that is lost. Where both tones of a pair lie within each other's reach (a slow Bell mark is a
//! fast Bell space), a lone tone does not decide, nor does a run of zero bytes, which is nearly one; other data do, and
//! the path carries their decision to what is around them. Where there are none, the other reading is handed on as a
//! rival: only the characters can tell.
//!
//! Tones a whole number of rates apart have lines in the spectrum of any data. Close pairs (two thirds of a rate) have
//! only a hump; but the signal raised to the third power has three times the distance, and lines again (see
//! [`lines`](super::lines)).

use std::f64::consts::TAU;

use super::band::{Band, FASTEST, SLOWEST};
use super::fft::Transform;
use super::lines::Lines;
use super::modulation::Modulation;

/// Neighbouring speeds differ by this much, or by that part of it which the power of the lines asks for.
const STEP: f64 = 0.005;
/// Score of a frame whose power all lies in the tones.
const FRAME_SCORE: f32 = 24.0;
/// The most that the speed may change in a hop, in steps.
const FURTHEST: usize = 3;
/// How much dearer changes are on a path that must not leap from one tone to the other.
const STEADY: f32 = 64.0;
/// A speed at which the other tone would explain so great a part of the power is a rival. A lone tone explains all of it,
/// less what falls between two bins because the speeds go in steps; of other data the other tone explains half.
const RIVAL: f64 = 0.7;

/// Speed as a factor of nominal against position in the working samples.
#[derive(Clone, Debug)]
pub struct SpeedTrack {
    hop: f64,
    points: Vec<f64>,
}

impl SpeedTrack {
    /// A track with a point every `hop` samples from sample 0 on. There is at least one point.
    pub(super) fn new(hop: f64, points: Vec<f64>) -> SpeedTrack {
        debug_assert!(!points.is_empty());
        SpeedTrack { hop, points }
    }

    /// How far the speed lies from nominal in the mean, in parts.
    pub(super) fn strayed(&self) -> f64 {
        self.points.iter().map(|speed| speed.ln().abs()).sum::<f64>() / self.points.len() as f64
    }

    /// The speed at a position.
    pub(super) fn at(&self, position: f64) -> f64 {
        let place = (position / self.hop).max(0.0);
        let index = (place as usize).min(self.points.len() - 1);
        let next = (index + 1).min(self.points.len() - 1);
        let between = (place - index as f64).min(1.0);
        self.points[index] + between * (self.points[next] - self.points[index])
    }
}

/// What the spectrum tells of the speed.
pub(super) struct Found {
    /// The best guess.
    pub track: SpeedTrack,
    /// The mean part of the power that lies in the tones, 0 to 1: the better channel of a recording has the greater one.
    pub score: f64,
    /// Tracks that explain the spectrum as well or nearly so, by taking each tone for the other one; and one that does not
    /// leap, where data may have feigned another speed.
    pub rivals: Vec<SpeedTrack>,
}

/// How long the frames are whose spectra are compared.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Frames {
    /// As long as the speed holds still on any but a bad tape: what noise there is averages out.
    Long,
    /// Half of that.
    Short,
}

/// Looks for the speed.
pub(super) fn search(signal: &[f32], modulation: &Modulation, band: &Band, frames: Frames) -> Found {
    let lines = Lines::new(modulation, band);
    let rate = band.working_rate();
    let long = frame_length(modulation, &lines, rate);
    let fft_length = if frames == Frames::Long { 2 * long } else { long };
    let (frame, hop) = (fft_length / 2, fft_length / 4);
    let scale = Scale::new(modulation, &lines, rate, fft_length);
    let window: Vec<f32> = (0..frame).map(|n| hann(n, frame)).collect();
    let mut fft = Transform::new(fft_length);
    let mut spectrum = Vec::new();
    let mut scores = Vec::new();
    let signal = lines.drawn(signal);
    for start in (0..signal.len().max(1)).step_by(hop) {
        fft.power(&signal[start.min(signal.len())..(start + frame).min(signal.len())], &window, &mut spectrum);
        scale.score(&spectrum, &mut scores);
    }
    let states = scale.places.len();
    let path = best_path(&scores, states, lines.power(), 1.0);
    let score = |path: &[usize]| {
        let total: f64 = path.iter().enumerate().map(|(t, state)| f64::from(scores[t * states + state])).sum();
        total / path.len() as f64
    };
    let track = |path: &[usize]| {
        // A frame speaks for its middle: the first point stands half a frame in, so one is put before it.
        let mut points: Vec<f64> = path.iter().map(|state| speed_of(*state, lines.power())).collect();
        points.insert(0, points[0]);
        SpeedTrack::new(hop as f64, smoothed(&points))
    };
    let between = (modulation.mark_hz() / modulation.space_hz()).ln() / STEP * lines.power() as f64;
    let between = between.round() as isize;
    let may_leap = !lines.are_exact() || leaps(&path, between);
    let steady = may_leap.then(|| best_path(&scores, states, lines.power(), STEADY));
    let tried = [Some(&path), steady.as_ref()].into_iter().flatten();
    let exchanged = tried.flat_map(|path| [between, -between].map(|by| moved(path, by, states)));
    // One that does not leap is held to no share of the power: what it lacks may be what the data feigned.
    let rivals = exchanged.flatten().filter(|rival| score(rival) > RIVAL * score(&path)).chain(steady.clone());
    let rivals: Vec<_> = rivals.collect();
    Found { track: track(&path), score: score(&path), rivals: rivals.iter().map(|rival| track(rival)).collect() }
}

/// Whether a path changes within a quarter of a second by as much as would take one tone for the other.
fn leaps(path: &[usize], between: isize) -> bool {
    const HOPS: usize = 12;
    let far = between.unsigned_abs() * 6 / 10;
    path.windows(HOPS).any(|near| near[0].abs_diff(near[HOPS - 1]) > far)
}

/// A path with every speed a number of steps higher, or nothing where that leaves the scale.
fn moved(path: &[usize], by: isize, states: usize) -> Option<Vec<usize>> {
    path.iter().map(|state| state.checked_add_signed(by).filter(|state| *state < states)).collect()
}

fn hann(index: usize, length: usize) -> f32 {
    (0.5 - 0.5 * (TAU * (index as f64 + 0.5) / length as f64).cos()) as f32
}

/// Long frames where there are lines in the spectrum; else frames of a few bits, since over more of them the phase
/// wanders.
fn frame_length(modulation: &Modulation, lines: &Lines, rate: f64) -> usize {
    let bit = 1.0 / modulation.baud();
    let seconds = if lines.are_sharp() { 0.040_f64.max(3.0 * bit) } else { 6.0 * bit };
    // The nearest power of two on a logarithmic scale.
    1 << (rate * seconds).log2().round().clamp(5.0, 16.0) as u32
}

fn speed_of(state: usize, power: usize) -> f64 {
    SLOWEST * (STEP / power as f64 * state as f64).exp()
}

/// Where the two lines fall in a spectrum, for every speed.
struct Scale {
    places: Vec<[f64; 2]>,
    /// Bins that count: the spectrum of a real signal has everything twice.
    bins: usize,
}

impl Scale {
    fn new(modulation: &Modulation, lines: &Lines, rate: f64, fft_length: usize) -> Scale {
        let states = ((FASTEST / SLOWEST).ln() / STEP * lines.power() as f64) as usize + 1;
        let bins = if lines.are_of_real_signal() { fft_length / 2 } else { fft_length };
        let place = |hertz: f64, state| {
            let line = lines.hertz(hertz * speed_of(state, lines.power())).min(0.49 * rate);
            (line * fft_length as f64 / rate).rem_euclid(fft_length as f64)
        };
        let pair = |state| [place(modulation.mark_hz(), state), place(modulation.space_hz(), state)];
        Scale { places: (0..states).map(pair).collect(), bins }
    }

    /// Appends, for every speed, the part of the power in a frame that lies in the lines.
    fn score(&self, spectrum: &[f32], out: &mut Vec<f32>) {
        // A tone behind a Hann window that is padded to twice its length: its peak over its sum of powers.
        const PEAK_TO_SUM: f32 = 3.0;
        let total: f32 = spectrum[..self.bins].iter().sum::<f32>() + 1e-12;
        let power = |place: f64| {
            let index = place as usize;
            let between = (place - index as f64) as f32;
            let [here, next] = [index, index + 1].map(|bin| spectrum[bin % spectrum.len()]);
            here + between * (next - here)
        };
        let part = |&[mark, space]: &[f64; 2]| PEAK_TO_SUM * (power(mark) + power(space)) / total;
        out.extend(self.places.iter().map(part));
    }
}

/// Price of a change of speed within a hop, in steps: a steady drift is cheap, a jump is not.
fn price(change: f32) -> f32 {
    0.12 * change + 0.2 * change * change
}

/// The best sequence of speeds. `scores` has a row of `states` for every frame; `parts` states are a step; `stiffness`
/// multiplies the price of every change.
fn best_path(scores: &[f32], states: usize, parts: usize, stiffness: f32) -> Vec<usize> {
    let reach = (FURTHEST * parts) as isize;
    let prices: Vec<f32> =
        (0..=FURTHEST * parts).map(|change| stiffness * price(change as f32 / parts as f32)).collect();
    let mut best = vec![0.0_f32; states];
    let mut came_from: Vec<i8> = Vec::with_capacity(scores.len());
    for row in scores.chunks_exact(states) {
        let before = best.clone();
        for state in 0..states {
            let (mut top, mut from) = (f32::NEG_INFINITY, 0);
            for change in -reach..=reach {
                let Some(value) = state.checked_add_signed(change).and_then(|other| before.get(other)) else {
                    continue;
                };
                let value = value - prices[change.unsigned_abs()];
                if value > top {
                    (top, from) = (value, change as i8);
                }
            }
            best[state] = top + FRAME_SCORE * row[state];
            came_from.push(from);
        }
    }
    let mut state = (0..states).fold(0, |top, state| if best[state] > best[top] { state } else { top });
    let mut path = vec![0; came_from.len() / states];
    for (t, place) in path.iter_mut().enumerate().rev() {
        *place = state;
        state = state.saturating_add_signed(isize::from(came_from[t * states + state]));
    }
    path
}

/// The path moves in steps; the tape does not.
fn smoothed(points: &[f64]) -> Vec<f64> {
    let at = |index: usize, offset: isize| points[index.saturating_add_signed(offset).min(points.len() - 1)];
    (0..points.len()).map(|i| (at(i, -1) + 2.0 * at(i, 0) + at(i, 1)) / 4.0).collect()
}
