//! The power spectrum of a short frame: a radix-2 decimation-in-time FFT (Cooley and Tukey, 1965).

use std::f64::consts::TAU;

use super::phasor::Phasor;

/// A transform of a fixed length that is a power of two.
pub(super) struct Fft {
    twiddles: Vec<Phasor>,
    reversed: Vec<u32>,
    work: Vec<Phasor>,
}

impl Fft {
    pub(super) fn new(length: usize) -> Fft {
        assert!(length.is_power_of_two() && length >= 4, "a radix-2 transform has a power of two of points");
        let twiddles = (0..length / 2).map(|k| Phasor::turned(-TAU * k as f64 / length as f64)).collect();
        let shift = u32::BITS - length.trailing_zeros();
        let reversed = (0..length as u32).map(|index| index.reverse_bits() >> shift).collect();
        Fft { twiddles, reversed, work: vec![Phasor::default(); length] }
    }

    pub(super) fn length(&self) -> usize {
        self.work.len()
    }

    /// The squared magnitudes of all bins, of a frame that is weighted by a window and padded with zeros.
    pub(super) fn power(&mut self, frame: &[Phasor], window: &[f32], out: &mut Vec<f32>) {
        for (&to, index) in self.reversed.iter().zip(0..) {
            let weighted = frame.get(index).zip(window.get(index)).map(|(sample, weight)| sample.scaled(*weight));
            self.work[to as usize] = weighted.unwrap_or_default();
        }
        let length = self.length();
        let mut half = 1;
        while half < length {
            let stride = length / (2 * half);
            for block in self.work.chunks_exact_mut(2 * half) {
                let (even, odd) = block.split_at_mut(half);
                for (k, (a, b)) in even.iter_mut().zip(odd).enumerate() {
                    let turned = *b * self.twiddles[k * stride];
                    (*a, *b) = (*a + turned, *a - turned);
                }
            }
            half *= 2;
        }
        out.clear();
        out.extend(self.work.iter().map(|bin| bin.power()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_the_sum_that_defines_it() {
        let frame: Vec<Phasor> = (0..50).map(|n| Phasor::turned(f64::from(n * n) * 0.37)).collect();
        let mut power = Vec::new();
        Fft::new(64).power(&frame, &[1.0; 50], &mut power);
        for (bin, got) in power.iter().enumerate() {
            let terms = frame.iter().zip(0..).map(|(v, n)| Phasor::turned(-TAU * bin as f64 * f64::from(n) / 64.0) * *v);
            let wanted = terms.fold(Phasor::default(), |sum, term| sum + term).power();
            assert!((got - wanted).abs() < 1e-3 * (1.0 + wanted), "{bin}: {got} {wanted}");
        }
    }
}
