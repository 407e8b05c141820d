//! Where the characters are: the likeliest way to explain a whole window as silence, pauses and start-stop characters.
//!
//! A receiver that waits for a start bit loses its footing with the first one that is spoilt. Here every sample is a
//! possible start, every character is worth the likelihood of its start bit, of the better value of each data bit and of
//! its stop bit, and the best path through all of them is found by dynamic programming (Viterbi, 1967; Forney, The
//! Viterbi Algorithm, 1973). One spoilt bit is outvoted by the characters around it.

use super::levels::Scores;
use super::preset::{DATA_BITS, Tone};

/// Bits that a character cannot do without: start, data, one stop bit. More stop bits are pause.
pub(super) const LEAST_BITS: usize = DATA_BITS + 2;
/// Each data bit may be either: the price of choosing the better one afterwards.
const EITHER: f32 = std::f32::consts::LN_2;

/// What a stretch of a window is, in samples of tape time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stretch {
    /// No carrier from here up to there.
    Silence(usize, usize),
    /// Mark tone.
    Pause(usize, usize),
    /// A character whose start bit begins here.
    Character(usize),
}

/// A bit that was decided: where it starts and what it sounds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bit {
    pub at: usize,
    pub tone: Tone,
}

/// What is known before looking, as prices in nats.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prior {
    /// Samples by which a character may follow early or late on the one before: what speed may still be off.
    pub slack: usize,
    /// Whether there may be no carrier at all; before levels are known, there is no telling.
    pub may_be_silent: bool,
}

/// A character starts at no particular time after a pause.
const AFTER_PAUSE: f64 = 7.0;
/// A carrier comes up out of silence.
const CARRIER_ON: f64 = 14.0;
/// A carrier ends.
const CARRIER_OFF: f64 = 8.0;
/// A character starts straight out of silence: a recording begins in the middle.
const COLD_START: f64 = 18.0;
/// Price of each squared sample of slack.
const SLACK: f64 = 0.7;

/// Where a state's best path came from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum From {
    Silence,
    Pause,
    /// The end of a character; for a start, that many samples later than it should be.
    Character(i8),
}

/// Best scores and their origins, for every sample.
struct Lattice {
    silence: Vec<f64>,
    pause: Vec<f64>,
    start: Vec<f64>,
    /// A character, with one stop bit, is over.
    end: Vec<f64>,
    silence_from: Vec<From>,
    pause_from: Vec<From>,
    start_from: Vec<From>,
}

/// What a window is explained as.
pub(super) struct Traced {
    /// In order.
    pub stretches: Vec<Stretch>,
    /// The log-likelihood of all of it against noise alone, in nats.
    pub likelihood: f64,
}

/// The likeliest stretches.
pub(super) fn trace(scores: &Scores, per_bit: usize, stop_bits: usize, prior: Prior) -> Traced {
    let framer = Framer { scores, per_bit, more_stops: stop_bits - 1, prior };
    let lattice = framer.forward();
    let last = |row: &[f64]| row.last().copied().unwrap_or(f64::NEG_INFINITY);
    let likelihood = last(&lattice.pause).max(last(&lattice.silence));
    Traced { stretches: framer.backward(&lattice), likelihood }
}

struct Framer<'a> {
    scores: &'a Scores,
    per_bit: usize,
    more_stops: usize,
    prior: Prior,
}

impl Framer<'_> {
    /// Samples from the start of a character to the place where the lattice has it end: early by the slack, so that the
    /// next one may start early.
    fn length(&self) -> usize {
        LEAST_BITS * self.per_bit - self.prior.slack
    }

    fn places(&self) -> usize {
        self.scores.mark.len()
    }

    /// The score of a character at each place where a whole one fits.
    fn characters(&self) -> Vec<f32> {
        let Scores { mark, space } = self.scores;
        let bit = self.per_bit;
        let either: Vec<f32> = mark.iter().zip(space).map(|(m, s)| m.max(*s) - EITHER).collect();
        let stop = (LEAST_BITS - 1) * bit;
        let mut sums: Vec<f32> = space.iter().zip(mark.iter().skip(stop)).map(|(start, stop)| start + stop).collect();
        for data in 1..=DATA_BITS {
            sums.iter_mut().zip(&either[data * bit..]).for_each(|(sum, value)| *sum += value);
        }
        sums
    }

    fn forward(&self) -> Lattice {
        let places = self.places();
        let characters = if places > LEAST_BITS * self.per_bit { self.characters() } else { Vec::new() };
        let never = vec![f64::NEG_INFINITY; places];
        let mut lattice = Lattice {
            silence: never.clone(),
            pause: never.clone(),
            start: never.clone(),
            end: never,
            silence_from: vec![From::Silence; places],
            pause_from: vec![From::Pause; places],
            start_from: vec![From::Pause; places],
        };
        for at in 0..places {
            if let Some(began) = at.checked_sub(self.length()).filter(|began| *began < characters.len()) {
                lattice.end[at] = lattice.start[began] + f64::from(characters[began]);
            }
            self.rest(&mut lattice, at);
            self.begin(&mut lattice, at);
        }
        lattice
    }

    /// Pause and silence at `at`.
    fn rest(&self, lattice: &mut Lattice, at: usize) {
        let ended = lattice.end[at];
        let (pause, silence) = match at.checked_sub(1) {
            None => (0.0, 0.0),
            Some(before) => {
                // A pause is worth, sample by sample, its part of the bit around it.
                let around = self.scores.mark[before.saturating_sub(self.per_bit / 2)];
                (lattice.pause[before] + f64::from(around) / self.per_bit as f64, lattice.silence[before])
            }
        };
        (lattice.pause[at], lattice.pause_from[at]) = (pause, From::Pause);
        if ended > lattice.pause[at] {
            (lattice.pause[at], lattice.pause_from[at]) = (ended, From::Character(0));
        }
        if !self.prior.may_be_silent {
            return;
        }
        let went_off = lattice.pause[at] - CARRIER_OFF;
        (lattice.silence[at], lattice.silence_from[at]) =
            if went_off > silence { (went_off, From::Pause) } else { (silence, From::Silence) };
        if silence - CARRIER_ON > lattice.pause[at] {
            (lattice.pause[at], lattice.pause_from[at]) = (silence - CARRIER_ON, From::Silence);
        }
    }

    /// A character begins at `at`: after a pause, out of silence, or right behind the stop bits of the one before.
    fn begin(&self, lattice: &mut Lattice, at: usize) {
        let (mut best, mut from) = (lattice.pause[at] - AFTER_PAUSE, From::Pause);
        let cold = lattice.silence[at] - COLD_START;
        if cold > best {
            (best, from) = (cold, From::Silence);
        }
        let slack = self.prior.slack as isize;
        for late in -slack..=slack {
            let Some(ended) = self.ended(at, late) else { continue };
            let stops: f32 =
                (0..self.more_stops).map(|k| self.scores.mark[ended + self.prior.slack + k * self.per_bit]).sum();
            let value = lattice.end[ended] + f64::from(stops) - SLACK * (late * late) as f64;
            if value > best {
                (best, from) = (value, From::Character(late as i8));
            }
        }
        (lattice.start[at], lattice.start_from[at]) = (best, from);
    }

    /// Where, in the lattice, the character ended that the one at `at` follows `late` samples late.
    fn ended(&self, at: usize, late: isize) -> Option<usize> {
        let stops = self.prior.slack + self.more_stops * self.per_bit;
        at.checked_sub(stops)?.checked_add_signed(-late)
    }

    fn backward(&self, lattice: &Lattice) -> Vec<Stretch> {
        let Some(mut at) = self.places().checked_sub(1) else { return Vec::new() };
        let mut stretches = Vec::new();
        let mut silent = lattice.silence[at] > lattice.pause[at];
        let mut until = at;
        loop {
            let from = if silent { lattice.silence_from[at] } else { lattice.pause_from[at] };
            match (silent, from) {
                (true, From::Pause) => {
                    push(&mut stretches, Stretch::Silence(at, until));
                    (silent, until) = (false, at);
                    continue;
                }
                (false, From::Silence) => {
                    push(&mut stretches, Stretch::Pause(at, until));
                    (silent, until) = (true, at);
                }
                (false, From::Character(_)) => {
                    push(&mut stretches, Stretch::Pause(at, until));
                    (at, silent) = self.run(lattice, at, &mut stretches);
                    until = at;
                    continue;
                }
                _ => {}
            }
            if at == 0 {
                break;
            }
            at -= 1;
        }
        push(&mut stretches, if silent { Stretch::Silence(0, until) } else { Stretch::Pause(0, until) });
        stretches.reverse();
        stretches
    }

    /// Follows characters back from the end of the last of a run; returns where the run began and whether in silence.
    fn run(&self, lattice: &Lattice, mut ended: usize, stretches: &mut Vec<Stretch>) -> (usize, bool) {
        loop {
            let start = ended - self.length();
            stretches.push(Stretch::Character(start));
            match lattice.start_from[start] {
                From::Pause => return (start, false),
                From::Silence => return (start, true),
                From::Character(late) => match self.ended(start, isize::from(late)) {
                    Some(before) => ended = before,
                    None => return (start, false),
                },
            }
        }
    }
}

fn push(stretches: &mut Vec<Stretch>, stretch: Stretch) {
    let (Stretch::Silence(from, to) | Stretch::Pause(from, to)) = stretch else { return stretches.push(stretch) };
    if to > from {
        stretches.push(stretch);
    }
}

/// The bits of a window in order.
pub(super) struct Bits {
    /// Every bit of characters and pauses.
    pub list: Vec<Bit>,
    /// For every character, the place of its start bit in the list; the rest of it follows.
    pub characters: Vec<usize>,
}

impl Bits {
    /// The same bits where samples lie `step` times closer.
    pub(super) fn stretched(mut self, step: usize) -> Bits {
        self.list.iter_mut().for_each(|bit| bit.at *= step);
        self
    }
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
                let found = trace(&scores(&tones), PER_BIT, 2, prior).stretches;
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
        let found = trace(&scores(&tones), PER_BIT, 2, Prior { slack: 1, may_be_silent: true }).stretches;
        assert_eq!(starts(&found), [20, 31, 42]);
    }

    #[test]
    fn nothing_is_found_in_nothing() {
        for length in [0, 1, 5, 300] {
            let found =
                trace(&scores(&vec![None; length]), PER_BIT, 2, Prior { slack: 1, may_be_silent: true }).stretches;
            assert_eq!(starts(&found), Vec::<usize>::new());
        }
    }
}
