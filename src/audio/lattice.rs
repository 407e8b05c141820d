//! The lattice behind [`framing`](super::framing): every sample as the start or end of a character, in a pause or in
//! silence, with the best way there and its price; forward to fill it, backward to follow the best way.

use super::levels::Scores;
use super::modulation::DATA_BITS;

/// Bits that a character cannot do without: start, data, one stop bit. More stop bits are pause.
pub(super) const LEAST_BITS: usize = DATA_BITS + 2;
/// Each data bit may be either: the price of choosing the better one afterwards.
const EITHER: f32 = std::f32::consts::LN_2;
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

impl Stretch {
    /// Where it begins.
    pub(super) fn from(self) -> usize {
        match self {
            Stretch::Silence(from, _) | Stretch::Pause(from, _) | Stretch::Character(from) => from,
        }
    }

    /// What of it lies before `end`; a character of `length` samples all of it or nothing.
    pub(super) fn within(self, end: usize, length: usize) -> Option<Stretch> {
        // Scores are those of the bit that starts at a place: the last bit starts at the last place.
        let whole = |at: usize| at + length < end + length / LEAST_BITS;
        match self {
            Stretch::Silence(from, to) => (from < end).then(|| Stretch::Silence(from, to.min(end))),
            Stretch::Pause(from, to) => (from < end).then(|| Stretch::Pause(from, to.min(end))),
            Stretch::Character(at) => whole(at).then_some(self),
        }
    }
}

/// What is known before looking, as prices in nats.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prior {
    /// Samples by which a character may follow early or late on the one before: what speed may still be off.
    pub slack: usize,
    /// Whether there may be no carrier at all; before levels are known, there is no telling.
    pub may_be_silent: bool,
}

/// Where a state's best path came from.
#[derive(Clone, Copy, PartialEq, Eq)]
enum From {
    Silence,
    Pause,
    /// The end of a character; for a start, that many samples later than it should be.
    Character(i8),
}

/// Best scores and their origins, for every sample.
pub(super) struct Lattice {
    pub silence: Vec<f64>,
    pub pause: Vec<f64>,
    start: Vec<f64>,
    /// A character, with one stop bit, is over.
    end: Vec<f64>,
    silence_from: Vec<From>,
    pause_from: Vec<From>,
    start_from: Vec<From>,
}

/// A window to be explained.
pub(super) struct Framer<'a> {
    pub scores: &'a Scores,
    pub per_bit: usize,
    /// Stop bits beyond the first.
    pub more_stops: usize,
    pub prior: Prior,
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

    pub(super) fn forward(&self) -> Lattice {
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

    pub(super) fn backward(&self, lattice: &Lattice) -> Vec<Stretch> {
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
