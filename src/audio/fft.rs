//! The power spectrum of a short frame: a radix-2 decimation-in-time FFT (Cooley and Tukey, 1965).

use std::f64::consts::PI;

use super::phasor::Phasor;

/// A transform of a fixed length that is a power of two.
pub(super) struct Fft {
    /// The factors of each stage in turn: 1 of the first, 2 of the second, and so on.
    twiddles: Vec<Phasor>,
    reversed: Vec<u32>,
    work: Vec<Phasor>,
}

impl Fft {
    pub(super) fn new(length: usize) -> Fft {
        assert!(length.is_power_of_two() && length >= 4, "a radix-2 transform has a power of two of points");
        let stages = (0..length.trailing_zeros()).map(|stage| 1_usize << stage);
        let twiddles = stages.flat_map(|half| (0..half).map(move |k| Phasor::turned(-PI * k as f64 / half as f64)));
        let twiddles = twiddles.collect();
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
            let twiddles = &self.twiddles[half - 1..2 * half - 1];
            for block in self.work.chunks_exact_mut(2 * half) {
                let (even, odd) = block.split_at_mut(half);
                for ((a, b), twiddle) in even.iter_mut().zip(odd).zip(twiddles) {
                    let turned = *b * *twiddle;
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
    use std::f64::consts::TAU;

    use super::*;

    #[test]
    fn agrees_with_the_sum_that_defines_it() {
        let frame: Vec<Phasor> = (0..50).map(|n| Phasor::turned(f64::from(n * n) * 0.37)).collect();
        let mut power = Vec::new();
        Fft::new(64).power(&frame, &[1.0; 50], &mut power);
        for (bin, got) in power.iter().enumerate() {
            let terms =
                frame.iter().zip(0..).map(|(v, n)| Phasor::turned(-TAU * bin as f64 * f64::from(n) / 64.0) * *v);
            let wanted = terms.fold(Phasor::default(), |sum, term| sum + term).power();
            assert!((got - wanted).abs() < 1e-3 * (1.0 + wanted), "{bin}: {got} {wanted}");
        }
    }
}
