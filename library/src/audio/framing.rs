//! Where the characters are: the likeliest way to explain a whole window as silence, pauses and start-stop characters.
//!
//! A receiver that waits for a start bit loses its footing with the first one that is spoilt. Here every sample is a
//! possible start, every character is worth the likelihood of its start bit, of the better value of each data bit and of
//! its stop bit, and the best path through all of them is found by dynamic programming (Viterbi, 1967; Forney, The
//! Viterbi Algorithm, 1973). One spoilt bit is outvoted by the characters around it.

use super::bits::{Bit, Bits};
use super::lattice::{Framer, LEAST_BITS, Prior, Stretch};
use super::levels::Scores;
use super::modulation::Tone;

/// The likeliest stretches, in order. While they are looked for, the scores are longer by a character of which nothing is
/// known: a window may end within one, which must not be moved for that.
pub(super) fn trace(scores: &mut Scores, per_bit: usize, stop_bits: usize, prior: Prior) -> Vec<Stretch> {
    let places = scores.mark.len();
    scores.resize(places + LEAST_BITS * per_bit);
    let framer = Framer { scores, per_bit, more_stops: stop_bits - 1, prior };
    let stretches = framer.backward(&framer.forward());
    scores.resize(places);
    stretches.into_iter().filter_map(|stretch| stretch.within(places, LEAST_BITS * per_bit)).collect()
}

/// The bits of stretches: those of each character, and pauses cut into bits.
pub(super) fn bits(stretches: &[Stretch], scores: &Scores, per_bit: usize) -> Bits {
    let mut bits = Bits { list: Vec::new(), characters: Vec::new() };
    for stretch in stretches {
        match *stretch {
            Stretch::Silence(..) => {}
            Stretch::Character(start) => {
                bits.characters.push(bits.list.len());
                bits.list.extend((0..LEAST_BITS).map(|index| character_bit(index, start + index * per_bit, scores)));
            }
            Stretch::Pause(from, to) => {
                // The lattice lets characters end early; the pause proper begins where the last bit is over.
                let over = bits.list.last().map_or(0, |bit| bit.at + per_bit);
                let places = (over.max(from)..to.saturating_sub(per_bit - 1)).step_by(per_bit);
                bits.list.extend(places.map(|at| Bit { at, tone: Tone::Mark }));
            }
        }
    }
    bits
}

fn character_bit(index: usize, at: usize, scores: &Scores) -> Bit {
    let tone = match index {
        0 => Tone::Space,
        stop if stop == LEAST_BITS - 1 => Tone::Mark,
        _ => Tone::of_bit(scores.mark[at] >= scores.space[at]),
    };
    Bit { at, tone }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PER_BIT: usize = 16;

    /// Scores of a perfect signal: +20 for the tone that is there, by the part of the bit that it fills, -3 for nothing.
    fn scores(tones: &[Option<Tone>]) -> Scores {
        let samples: Vec<Option<Tone>> = tones.iter().flat_map(|tone| [*tone; PER_BIT]).collect();
        let of = |wanted: Tone| {
            let part = |bit: &[Option<Tone>]| bit.iter().filter(|tone| **tone == Some(wanted)).count() as f32 / 16.0;
            samples.windows(PER_BIT).map(|bit| -3.0 + 23.0 * part(bit)).collect()
        };
        Scores { mark: of(Tone::Mark), space: of(Tone::Space) }
    }

    fn character(byte: u8) -> Vec<Option<Tone>> {
        let mut bits = vec![Some(Tone::Space)];
        bits.extend((0..8).map(|bit| Some(Tone::of_bit(byte >> bit & 1 == 1))));
        bits.extend([Some(Tone::Mark); 2]);
        bits
    }

    fn starts(stretches: &[Stretch]) -> Vec<usize> {
        let start = |stretch: &Stretch| if let Stretch::Character(at) = stretch { Some(at / PER_BIT) } else { None };
        stretches.iter().filter_map(start).collect()
    }

    #[test]
    fn characters_are_found_with_and_without_a_leader() {
        for slack in [0, 1, 3] {
            for may_be_silent in [false, true] {
                let prior = Prior { slack, may_be_silent };
                let mut tones = vec![None; 30];
                tones.extend([Some(Tone::Mark); 20]);
                [0x00, 0xFF, 0x55, 0x80].iter().for_each(|byte| tones.extend(character(*byte)));
                tones.extend([Some(Tone::Mark); 15]);
                let found = trace(&mut scores(&tones), PER_BIT, 2, prior);
                assert_eq!(starts(&found), [50, 61, 72, 83], "{slack} {may_be_silent}: {found:?}");
                if may_be_silent {
                    assert!(matches!(found[0], Stretch::Silence(0, to) if to.abs_diff(30 * PER_BIT) < 24), "{found:?}");
                }
            }
        }
    }

    #[test]
    fn a_spoilt_start_bit_is_outvoted() {
        let mut tones = vec![Some(Tone::Mark); 20];
        [0x0F, 0xF0, 0x96].iter().for_each(|byte| tones.extend(character(*byte)));
        tones.extend([Some(Tone::Mark); 15]);
        tones[31] = None;
        let found = trace(&mut scores(&tones), PER_BIT, 2, Prior { slack: 1, may_be_silent: true });
        assert_eq!(starts(&found), [20, 31, 42]);
    }

    #[test]
    fn nothing_is_found_in_nothing() {
        for length in [0, 1, 5, 300] {
            let found = trace(&mut scores(&vec![None; length]), PER_BIT, 2, Prior { slack: 1, may_be_silent: true });
            assert_eq!(starts(&found), Vec::<usize>::new());
        }
    }
}
