//! One cycle of a tone, looked up by phase.
//!
//! A square wave is built from its odd harmonics below the limit of the sample rate, each weighted by Lanczos' sigma
//! factor (Lanczos, Applied Analysis, 1956, ch. IV), so that its edges have a slope instead of ringing and nothing folds
//! back below half the sample rate.

use std::f64::consts::{PI, TAU};

/// The shape of a tone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Shape {
    /// One pure tone: what the standards assume, and the least demanding of a deck.
    #[default]
    Sine,
    /// A square wave with shaped edges, for decks and interfaces that want steep zero crossings.
    Square,
}

const CELLS: usize = 4096;

/// Samples of one cycle with peak 1, starting at a rising zero crossing.
pub(super) struct Wavetable {
    cells: Vec<f32>,
}

impl Wavetable {
    /// The cycle of a tone of `hertz` in a recording of `sample_rate` samples a second.
    pub(super) fn new(shape: Shape, hertz: f64, sample_rate: f64) -> Wavetable {
        let limit = match shape {
            Shape::Sine => 1.0,
            Shape::Square => (0.45 * sample_rate / hertz).max(1.0),
        };
        let mut cells: Vec<f64> = (0..=CELLS).map(|cell| odd_harmonics(cell as f64 / CELLS as f64, limit)).collect();
        let peak = cells.iter().fold(0.0_f64, |peak, value| peak.max(value.abs()));
        cells.iter_mut().for_each(|value| *value /= peak);
        Wavetable { cells: cells.into_iter().map(|value| value as f32).collect() }
    }

    /// The wave at `cycle`, 0 up to but not including 1.
    #[inline]
    pub(super) fn at(&self, cycle: f64) -> f32 {
        let place = cycle * CELLS as f64;
        let cell = (place as usize).min(CELLS - 1);
        let between = (place - cell as f64) as f32;
        self.cells[cell] + between * (self.cells[cell + 1] - self.cells[cell])
    }
}

fn odd_harmonics(cycle: f64, limit: f64) -> f64 {
    let highest = limit.floor() as u32;
    (1..=highest)
        .step_by(2)
        .map(|harmonic| {
            let order = f64::from(harmonic);
            let sigma = sinc(order / f64::from(highest + 1));
            sigma * (TAU * order * cycle).sin() / order
        })
        .sum()
}

fn sinc(x: f64) -> f64 {
    if x == 0.0 { 1.0 } else { (PI * x).sin() / (PI * x) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_is_a_sine_to_the_last_bit_of_24() {
        let table = Wavetable::new(Shape::Sine, 1200.0, 44_100.0);
        for step in 0..10_000 {
            let cycle = f64::from(step) / 10_000.0;
            assert!((f64::from(table.at(cycle)) - (TAU * cycle).sin()).abs() < 4e-7, "{cycle}");
        }
    }

    #[test]
    fn a_square_is_flat_topped_odd_and_never_above_its_level() {
        let table = Wavetable::new(Shape::Square, 1200.0, 44_100.0);
        let flat = (300..1700).map(|cell| table.at(f64::from(cell) / 4096.0));
        assert!(flat.clone().all(|value| (0.9..=1.0).contains(&value)));
        assert!((0..2048).all(|cell| {
            let cycle = f64::from(cell) / 4096.0;
            (table.at(cycle) + table.at(cycle + 0.5)).abs() < 1e-5
        }));
    }

    #[test]
    fn a_square_near_the_limit_of_the_rate_is_a_sine() {
        let table = Wavetable::new(Shape::Square, 3000.0, 8000.0);
        assert!((table.at(0.125) - 0.5_f32.sqrt()).abs() < 1e-5);
    }
}
