//! What every bit is: by the envelopes of the filters, and once more by the phase where that can be trusted.

use super::bits::Bits;
use super::correlate::Tones;
use super::levels::{Levels, Scores};
use super::modulation::DATA_BITS;
use super::phase::Phases;
use super::{block, trellis};

/// Least coherence, 0 to 1, at which phases are trusted.
const COHERENT: f32 = 0.75;

/// Decides the data bits of characters. Gives the soft value of every bit, in nats for mark.
pub(super) fn decide(tones: &Tones, levels: &Levels, scores: &Scores, bits: &mut Bits) -> Vec<f32> {
    let mut soft: Vec<f32> = bits.list.iter().map(|bit| scores.mark[bit.at] - scores.space[bit.at]).collect();
    let mut free = vec![false; bits.list.len()];
    bits.characters.iter().for_each(|start| free[start + 1..=start + DATA_BITS].fill(true));
    let phases = Phases::new(tones, levels, &bits.list);
    let (coherence, between) = phases.survey(&bits.list);
    if coherence >= COHERENT && tones.are_close() {
        trellis::decide(&phases, between, &mut bits.list, &free, &mut soft);
    } else if coherence >= COHERENT {
        block::decide(&phases, &mut bits.list, &free, &mut soft);
    }
    soft
}
