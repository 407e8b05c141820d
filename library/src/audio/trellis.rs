//! The bits of close tones, all decided together by their phase.
//!
//! Where tones are less than a rate apart, every bit turns the phase by an amount that depends on its value, and so marks
//! all the bits behind it; a wrong bit has to be made good by another one. The phase is taken in steps of about 15
//! degrees as the state of a trellis, in which it may also drift by a step, and the best path with each bit at either
//! value is found by a forward and a backward pass (continuous-phase modulation on its trellis: Proakis, Digital
//! Communications, "Detection of signals with memory"; two passes: Bahl, Cocke, Jelinek and Raviv, 1974, with the best
//! path in place of the sum; a phase that drifts over steps: Peleg, Shamai and Galan, 2000).

use std::f64::consts::TAU;

use super::bits::Bit;
use super::level::Level;
use super::modulation::Tone;
use super::phase::Phases;
use super::phasor::Phasor;

/// Price in nats of a drift by one step between two bits.
const DRIFT: f32 = 1.0;

/// Decides every bit that is `free`; `between` is the phase of space ahead of mark.
pub(super) fn decide(phases: &Phases, between: Phasor, bits: &mut [Bit], free: &[bool], soft: &mut [f32]) {
    let trellis = Trellis::new(phases.tones.rates_apart());
    let branches: Vec<Branch> =
        (0..bits.len()).map(|index| trellis.branch(phases, between, bits, free, index)).collect();
    let backward = trellis.backward(&branches);
    let mut state = vec![0.0; trellis.steps()];
    for (index, branch) in branches.iter().enumerate() {
        if !branch.follows {
            state.fill(0.0);
        }
        let [mark, space] = [Tone::Mark, Tone::Space].map(|tone| trellis.extended(&state, branch, tone));
        if free[index] && branch.is_heard {
            let [mark, space] = [&mark, &space].map(|extended| {
                extended.iter().zip(&backward[index]).map(|(a, b)| a + b).fold(f32::NEG_INFINITY, f32::max)
            });
            let told = mark - space;
            // While the level changes, amplitudes are not what the phases are weighed with: the envelopes vouch alone.
            let vouched = if soft[index].signum() == told.signum() { soft[index].abs() } else { 0.0 };
            soft[index] = if phases.is_unsteady(bits, index) { told.clamp(-vouched, vouched) } else { told };
            bits[index].tone = Tone::of_bit(mark >= space);
        }
        let better: Vec<f32> = mark.iter().zip(&space).map(|(m, s)| m.max(*s)).collect();
        state = drifted(&better);
    }
}

/// The metric of one bit: amplitude over noise of each tone along each phase comes from `values`.
struct Branch {
    values: [Phasor; 2],
    /// Whether the bit may sound the tone, and its energy term.
    price: [f32; 2],
    /// Whether anything was heard of the bit.
    is_heard: bool,
    /// Whether the phase runs on from the bit before.
    follows: bool,
}

struct Trellis {
    /// The unit vector of each phase.
    phases: Vec<Phasor>,
    /// Steps by which a mark bit turns the phase; space is the frame.
    turn: usize,
}

impl Trellis {
    /// The number of steps, 20 to 32, in which the turn of a bit comes out most nearly whole.
    fn new(rates_apart: f64) -> Trellis {
        let off = |steps: u32| {
            let turn = rates_apart * f64::from(steps);
            (turn - turn.round()).abs()
        };
        let steps =
            (20..=32).reduce(|best, steps| if off(steps) < off(best) - 1e-6 { steps } else { best }).unwrap_or(24);
        let phases = (0..steps).map(|step| Phasor::turned(TAU * f64::from(step) / f64::from(steps))).collect();
        let turn = (rates_apart * f64::from(steps)).round().rem_euclid(f64::from(steps)) as usize;
        Trellis { phases, turn }
    }

    fn steps(&self) -> usize {
        self.phases.len()
    }

    fn branch(&self, phases: &Phases, between: Phasor, bits: &[Bit], free: &[bool], index: usize) -> Branch {
        let level: Level = phases.levels.at(bits[index].at);
        let value = |tone: Tone| phases.at_start(bits, index, tone).scaled(level.gain(tone));
        let price = |tone: Tone| {
            let excluded = !free[index] && bits[index].tone != tone;
            if excluded { f32::NEG_INFINITY } else { -level.energy(tone) }
        };
        Branch {
            values: [value(Tone::Mark), value(Tone::Space) * between.conj()],
            price: [price(Tone::Mark), price(Tone::Space)],
            is_heard: !phases.is_erased(bits, index),
            follows: phases.follows(bits, index),
        }
    }

    /// The score of each phase at the end of a bit of `tone`, from that at its start.
    fn extended(&self, state: &[f32], branch: &Branch, tone: Tone) -> Vec<f32> {
        let mut scores: Vec<f32> =
            state.iter().enumerate().map(|(phase, score)| score + self.gain(branch, tone, phase)).collect();
        if tone == Tone::Mark {
            scores.rotate_right(self.turn);
        }
        scores
    }

    fn gain(&self, branch: &Branch, tone: Tone, phase: usize) -> f32 {
        let (value, along) = (branch.values[tone as usize], self.phases[phase]);
        value.re * along.re + value.im * along.im + branch.price[tone as usize]
    }

    /// For each bit, the best score of all that follows it, by the phase at its end.
    fn backward(&self, branches: &[Branch]) -> Vec<Vec<f32>> {
        let mut rows = vec![vec![0.0; self.steps()]; branches.len()];
        for index in (1..branches.len()).rev() {
            let branch = &branches[index];
            if !branch.follows {
                continue;
            }
            let behind = &rows[index];
            let best = |phase: usize| {
                let mark = self.gain(branch, Tone::Mark, phase) + behind[(phase + self.turn) % self.steps()];
                mark.max(self.gain(branch, Tone::Space, phase) + behind[phase])
            };
            let row: Vec<f32> = (0..self.steps()).map(best).collect();
            rows[index - 1] = drifted(&row);
        }
        rows
    }
}

/// Lets the phase drift by a step either way, and takes the best score as nought, so that sums stay small.
fn drifted(scores: &[f32]) -> Vec<f32> {
    let count = scores.len();
    let top = scores.iter().copied().fold(f32::NEG_INFINITY, f32::max);
    let best = |phase: usize| {
        let beside = scores[(phase + 1) % count].max(scores[(phase + count - 1) % count]);
        scores[phase].max(beside - DRIFT) - top
    };
    (0..count).map(best).collect()
}
