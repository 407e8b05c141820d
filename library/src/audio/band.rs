//! The band in which the tones of a modulation lie at any speed of a tape, and the rate at which it is worked on.

use super::modulation::Modulation;
use super::read_error::ReadError;

/// Speeds that the reader looks for, as factors of nominal.
pub(super) const SLOWEST: f64 = 0.80;
/// The fastest speed looked for.
pub(super) const FASTEST: f64 = 1.22;

/// The band of a modulation at any speed looked for, and the working rate of a recording.
#[derive(Clone, Copy, Debug)]
pub struct Band {
    pub(super) modulation: Modulation,
    pub(super) low_hz: f64,
    pub(super) low_transition_hz: f64,
    pub(super) high_hz: f64,
    pub(super) sample_rate: f64,
    pub(super) keep_every: usize,
}

impl Band {
    /// The band for a recording, or the reason why the recording cannot hold the tones.
    pub(super) fn new(modulation: &Modulation, sample_rate: u32) -> Result<Band, ReadError> {
        let (sample_rate, baud) = (f64::from(sample_rate), modulation.baud());
        let needed = 2.0 * (1.15 * modulation.highest_hz() + 0.25 * baud);
        if sample_rate < needed {
            return Err(ReadError::RateTooLow { sample_rate: sample_rate as u32, needed: needed.ceil() as u32 });
        }
        let high_hz = (FASTEST * modulation.highest_hz() + baud).min(0.48 * sample_rate);
        // Rectangular bits reach one rate to either side of their tone; mains hum and its first harmonics do not.
        let low_hz = (SLOWEST * modulation.lowest_hz() - baud).max(0.6 * SLOWEST * modulation.lowest_hz());
        let low_transition_hz = (0.6 * low_hz).min(450.0);
        let keep_every = ((sample_rate / (3.4 * high_hz)) as usize).max(1);
        Ok(Band { modulation: *modulation, low_hz, low_transition_hz, high_hz, sample_rate, keep_every })
    }

    /// Samples a second behind the front end.
    pub fn working_rate(&self) -> f64 {
        self.sample_rate / self.keep_every as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rate_that_cannot_hold_the_tones_is_refused() {
        let modulation = crate::audio::Preset::named("byte-300").unwrap().modulation;
        let error = Band::new(&modulation, 4000).unwrap_err().to_string();
        assert!(error.contains("`4000`") && error.contains("5670"), "{error}");
    }
}
