//! Bits in doubt, decided by the phase of their neighbours.
//!
//! The bits around a doubtful one tell the phase that it must have under either value. Both values are tried on the
//! whole block of neighbours (multiple-symbol detection of FSK: Osborne and Luntz, IEEE Trans. Communications COM-22,
//! 1974). Each tone is summed by itself and the sizes are joined.

use std::ops::Range;

use super::bits::Bit;
use super::level::ln_bessel_i0;
use super::modulation::Tone;
use super::phase::Phases;
use super::phasor::Phasor;
use super::reading::DOUBT;

/// Neighbours to either side.
const REACH: usize = 4;
/// Doubtful neighbours whose values are left open while a bit is decided.
const OPEN: usize = 4;
/// Bits surer than this, in nats, are left alone.
const SURE: f32 = 14.0;
/// Decides the doubtful bits that are `free` again, and values all doubtful ones anew.
pub(super) fn decide(phases: &Phases, bits: &mut [Bit], free: &[bool], soft: &mut [f32]) {
    let first = soft.to_vec();
    for index in (0..bits.len()).filter(|index| first[*index].abs() < SURE) {
        let near = phases.neighbours(bits, index, REACH);
        if near.len() > 1 && !phases.is_erased(bits, index) {
            let block = Block { phases, bits, range: near.clone(), index, open: doubtful(near, index, free, &first) };
            let (mark, space) = (block.best(Tone::Mark), block.best(Tone::Space));
            soft[index] = agreed(mark - space, first[index]);
            if free[index] {
                bits[index].tone = Tone::of_bit(mark >= space);
            }
        }
    }
}

/// How sure a bit is of which the phase tells `told` and the envelopes `heard`. Where each is sure of the other value, one of
/// them is misled, as phases are by a speed that is not the tape's: the bit is in doubt.
fn agreed(told: f32, heard: f32) -> f32 {
    const CONTRADICTED: f32 = 1.0;
    let contradicts = heard.abs() >= DOUBT && told.signum() != heard.signum();
    if contradicts { told.clamp(-CONTRADICTED, CONTRADICTED) } else { told }
}

/// The least sure of the data bits around `index` that are in doubt themselves.
fn doubtful(near: Range<usize>, index: usize, free: &[bool], soft: &[f32]) -> Vec<usize> {
    let mut others: Vec<usize> = near.filter(|i| *i != index && free[*i] && soft[*i].abs() < SURE).collect();
    others.sort_by(|a, b| soft[*a].abs().total_cmp(&soft[*b].abs()));
    others.truncate(OPEN);
    others
}

/// A doubtful bit and its neighbours.
struct Block<'a> {
    phases: &'a Phases<'a>,
    bits: &'a [Bit],
    range: Range<usize>,
    index: usize,
    /// Neighbours that may sound either tone.
    open: Vec<usize>,
}

impl Block<'_> {
    /// The log-likelihood of the block with the bit sounding `tried`, whatever the open ones sound.
    fn best(&self, tried: Tone) -> f32 {
        let guess = |guess: usize| {
            self.score(|place: usize| match self.open.iter().position(|other| *other == place) {
                _ if place == self.index => tried,
                Some(other) => Tone::of_bit(guess >> other & 1 == 1),
                None => self.bits[place].tone,
            })
        };
        (0..1 << self.open.len()).map(guess).fold(f32::NEG_INFINITY, f32::max)
    }

    /// The log-likelihood of the block with its bits sounding `tone`.
    fn score(&self, tone: impl Fn(usize) -> Tone) -> f32 {
        let level = self.phases.levels.at(self.bits[self.index].at);
        let mut sums = [Phasor::default(); 2];
        let mut energy = 0.0;
        self.phases.walk(self.bits, self.range.clone(), tone, |tone, value| {
            sums[tone as usize] = sums[tone as usize] + value.scaled(level.gain(tone));
            energy += level.energy(tone);
        });
        ln_bessel_i0(sums[0].length()) + ln_bessel_i0(sums[1].length()) - energy
    }
}

#[cfg(test)]
mod tests {
    use super::agreed;

    #[test]
    fn a_phase_that_contradicts_what_is_plainly_heard_leaves_doubt() {
        assert_eq!(agreed(-212.0, 13.0), -1.0);
        assert_eq!(agreed(90.0, -6.0), 1.0);
        assert_eq!((agreed(-40.0, 3.0), agreed(40.0, 3.0), agreed(-40.0, -13.0)), (-40.0, 40.0, -40.0));
    }
}
