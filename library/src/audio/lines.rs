//! Lines in the spectrum of a keyed signal.
//!
//! Continuous-phase FSK with tones a whole number of rates apart has a spectral line at each tone, whatever the data.
//! With tones `p/q` rates apart it has none, but its `q`-th power is keyed `p` rates apart and so has them, at `q` times
//! each tone (Proakis, Digital Communications, "Power spectra of CPFSK"; the same power law that recovers the carrier of
//! phase-shift keying). The power is taken of the complex signal around the middle of the band, and of its phase only, so
//! that noise does not grow with it.

use std::f64::consts::TAU;

use super::band::{Band, FASTEST, SLOWEST};
use super::fir::{Edges, Fir};
use super::modulation::Modulation;
use super::phasor::Phasor;

/// From this many rates apart on, tones are told apart without lines.
const WIDE: f64 = 1.5;
/// The highest power taken.
const HIGHEST_POWER: u32 = 4;

/// How the lines of a modulation are drawn out of its signal.
pub(super) struct Lines {
    power: u32,
    /// By how many rates the lines are off a whole number apart.
    off: f64,
    /// The frequency taken as the middle, in Hz; zero for the first power, which needs none.
    middle_hz: f64,
    /// Half the width that the tones take up around it, at any speed.
    reach_hz: f64,
    rate: f64,
}

impl Lines {
    pub(super) fn new(modulation: &Modulation, band: &Band) -> Lines {
        let index = modulation.index();
        let off = |power: u32| {
            let raised = f64::from(power) * index;
            if raised < 0.75 { 1.0 } else { (raised - raised.round()).abs() }
        };
        let candidates = if index < WIDE { 1..=HIGHEST_POWER } else { 1..=1 };
        let power =
            candidates.reduce(|best, power| if off(power) < off(best) - 0.04 { power } else { best }).unwrap_or(1);
        let (slow, fast) = (SLOWEST * modulation.lowest_hz(), FASTEST * modulation.highest_hz());
        let middle_hz = if power == 1 { 0.0 } else { (slow + fast) / 2.0 };
        let reach_hz = (fast - slow) / 2.0 + modulation.baud() / 3.0;
        Lines { power, off: off(power), middle_hz, reach_hz, rate: band.working_rate() }
    }

    /// The power taken: lines lie so many times as far apart as the tones.
    pub(super) fn power(&self) -> usize {
        self.power as usize
    }

    /// Whether the spectrum has lines, and not humps only.
    pub(super) fn are_sharp(&self) -> bool {
        self.off < 0.1
    }

    /// Whether the lines of any data lie at the tones. Where they do not quite, those of some data lie beside them: ones and
    /// noughts in turn have theirs half a rate to either side of the middle, which looks like another speed.
    pub(super) fn are_exact(&self) -> bool {
        self.off < 0.02
    }

    /// Whether the spectrum of what is drawn is that of a real signal.
    pub(super) fn are_of_real_signal(&self) -> bool {
        self.power == 1
    }

    /// Where the line of a tone lies, in Hz; below nought for tones below the middle.
    pub(super) fn hertz(&self, tone_hz: f64) -> f64 {
        f64::from(self.power) * (tone_hz - self.middle_hz)
    }

    /// The signal whose spectrum has the lines.
    pub(super) fn drawn(&self, signal: &[f32]) -> Vec<Phasor> {
        if self.power == 1 {
            return signal.iter().map(|sample| Phasor { re: *sample, im: 0.0 }).collect();
        }
        let clock = self.clock(signal.len());
        let mixed = |part: fn(&Phasor) -> f32| {
            let products: Vec<f32> = signal.iter().zip(&clock).map(|(sample, turn)| sample * part(turn)).collect();
            self.around_middle(&products)
        };
        let (re, im) = (mixed(|turn| turn.re), mixed(|turn| turn.im));
        re.into_iter().zip(im).map(|(re, im)| raised(Phasor { re, im }, self.power)).collect()
    }

    /// A phasor that turns back at the middle frequency; set right again now and then, since each step rounds.
    fn clock(&self, length: usize) -> Vec<Phasor> {
        const RIGHT: usize = 128;
        let turn = -TAU * self.middle_hz / self.rate;
        let steps: Vec<Phasor> = (0..RIGHT).map(|n| Phasor::turned(turn * n as f64)).collect();
        let starts = (0..length).step_by(RIGHT).map(|n| Phasor::turned(turn * n as f64));
        let mut clock: Vec<Phasor> = starts.flat_map(|start| steps.iter().map(move |step| start * *step)).collect();
        clock.truncate(length);
        clock
    }

    /// Stops the mirror image of the band, at twice the middle.
    fn around_middle(&self, mixed: &[f32]) -> Vec<f32> {
        let high = self.reach_hz / self.rate;
        let transition = ((2.0 * self.middle_hz - 2.0 * self.reach_hz) / self.rate).clamp(0.02, 0.2);
        let mut fir = Fir::new(Edges { low: 0.0, high, transition }, 1);
        let mut out = Vec::with_capacity(mixed.len());
        fir.push(mixed, &mut out);
        fir.finish(&mut out);
        out
    }
}

/// A power of the phase; the size stays.
fn raised(value: Phasor, power: u32) -> Phasor {
    let phase = value.scaled(1.0 / value.length().max(1e-12));
    (1..power).fold(value, |product, _| product * phase)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::PRESETS;

    #[test]
    fn cassette_pairs_have_lines_and_modem_pairs_have_them_in_the_third_power() {
        for preset in &PRESETS {
            let band = Band::new(&preset.modulation, 44_100).unwrap();
            let lines = Lines::new(&preset.modulation, &band);
            let wanted = if preset.name.starts_with("byte") { 1 } else { 3 };
            assert_eq!((lines.power, lines.are_sharp(), lines.are_exact()), (wanted, true, true), "{}", preset.name);
        }
    }
}
