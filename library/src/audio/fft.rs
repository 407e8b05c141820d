//! The power spectrum of a short frame.

use std::sync::Arc;

use rustfft::num_complex::Complex32;
use rustfft::{Fft, FftPlannerScalar};

use super::phasor::Phasor;

/// A transform of a fixed length. It does the same steps on every processor, so that a recording is read alike everywhere.
pub(super) struct Transform {
    fft: Arc<dyn Fft<f32>>,
    work: Vec<Complex32>,
    scratch: Vec<Complex32>,
}

impl Transform {
    pub(super) fn new(length: usize) -> Transform {
        let fft = FftPlannerScalar::new().plan_fft_forward(length);
        let scratch = vec![Complex32::default(); fft.get_inplace_scratch_len()];
        Transform { fft, work: vec![Complex32::default(); length], scratch }
    }

    /// The squared magnitudes of all bins, of a frame that is weighted by a window and padded with zeros.
    pub(super) fn power(&mut self, frame: &[Phasor], window: &[f32], out: &mut Vec<f32>) {
        self.work.fill(Complex32::default());
        for ((place, sample), weight) in self.work.iter_mut().zip(frame).zip(window) {
            *place = Complex32::new(sample.re * weight, sample.im * weight);
        }
        self.fft.process_with_scratch(&mut self.work, &mut self.scratch);
        out.clear();
        out.extend(self.work.iter().map(|bin| bin.norm_sqr()));
    }
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    #[test]
    fn agrees_with_the_sum_that_defines_it() {
        let frame: Vec<Phasor> = (0..50).map(|n| Phasor::turned(f64::from(n * n) * 0.37)).collect();
        let mut power = Vec::new();
        Transform::new(64).power(&frame, &[1.0; 50], &mut power);
        for (bin, got) in power.iter().enumerate() {
            let terms =
                frame.iter().zip(0..).map(|(v, n)| Phasor::turned(-TAU * bin as f64 * f64::from(n) / 64.0) * *v);
            let wanted = terms.fold(Phasor::default(), |sum, term| sum + term).power();
            assert!((got - wanted).abs() < 1e-3 * (1.0 + wanted), "{bin}: {got} {wanted}");
        }
    }
}
