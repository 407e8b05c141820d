//! The front end: spikes are taken out, any sample rate comes down to a working rate, and everything outside the band of the
//! tones goes, hum, rumble and DC below, hiss and bias above.

use super::band::Band;
use super::clicks::Clicks;
use super::fir::{Edges, Fir};

/// The filters of one channel.
pub(super) struct FrontEnd {
    clicks: Option<Clicks>,
    mended: Vec<f32>,
    decimate: Option<Fir>,
    band_pass: Fir,
    between: Vec<f32>,
}

impl FrontEnd {
    pub(super) fn new(band: &Band) -> FrontEnd {
        let rate = band.sample_rate;
        let working = band.working_rate();
        let decimate = (band.keep_every > 1).then(|| {
            let transition = (working - 2.0 * band.high_hz) / rate;
            Fir::new(Edges { low: 0.0, high: band.high_hz / rate, transition }, band.keep_every)
        });
        // Above the band there is nothing left to stop but what the decimator's slope let through.
        let low = Edges { low: band.low_hz / working, high: 0.5, transition: band.low_transition_hz / working };
        let clicks = Clicks::new(&band.modulation, rate);
        FrontEnd { clicks, mended: Vec::new(), decimate, band_pass: Fir::new(low, 1), between: Vec::new() }
    }

    pub(super) fn push(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        let Some(clicks) = &mut self.clicks else { return self.filter(samples, out) };
        let mut mended = std::mem::take(&mut self.mended);
        mended.clear();
        clicks.push(samples, &mut mended);
        self.filter(&mended, out);
        self.mended = mended;
    }

    fn filter(&mut self, samples: &[f32], out: &mut Vec<f32>) {
        match &mut self.decimate {
            None => self.band_pass.push(samples, out),
            Some(decimate) => {
                self.between.clear();
                decimate.push(samples, &mut self.between);
                self.band_pass.push(&self.between, out);
            }
        }
    }

    pub(super) fn finish(&mut self, out: &mut Vec<f32>) {
        if let Some(clicks) = &mut self.clicks {
            let mut mended = Vec::new();
            clicks.finish(&mut mended);
            self.filter(&mended, out);
        }
        if let Some(decimate) = &mut self.decimate {
            self.between.clear();
            decimate.finish(&mut self.between);
            self.band_pass.push(&self.between, out);
        }
        self.band_pass.finish(out);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::PRESETS;

    fn gain_db(band: &Band, hertz: f64) -> f64 {
        let wave: Vec<f32> = (0..20_000)
            .map(|n| (std::f64::consts::TAU * hertz * f64::from(n) / band.sample_rate).sin() as f32)
            .collect();
        let mut front = FrontEnd::new(band);
        let mut out = Vec::new();
        front.push(&wave, &mut out);
        let middle = &out[out.len() / 4..out.len() * 3 / 4];
        let power: f32 = middle.iter().map(|v| v * v).sum::<f32>() / middle.len() as f32;
        10.0 * f64::from(2.0 * power).log10()
    }

    #[test]
    fn tones_pass_at_any_speed_and_hum_does_not() {
        for preset in &PRESETS {
            for rate in [8000, 44_100, 48_000, 192_000] {
                let band = Band::new(&preset.modulation, rate).unwrap();
                for speed in [0.85, 1.0, 1.15] {
                    for tone in [preset.modulation.mark_hz(), preset.modulation.space_hz()] {
                        assert!(gain_db(&band, speed * tone).abs() < 0.1, "{} {rate} {speed} {tone}", preset.name);
                    }
                }
                for hum in [50.0, 60.0, 100.0] {
                    assert!(gain_db(&band, hum) < -40.0, "{} {rate} {hum}", preset.name);
                }
            }
        }
    }
}
