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

/// Where a state's best path came from: silence, a pause, or, for a start, the end of a character so many samples earlier
/// than it should be. A byte, because there are three for every sample.
#[derive(Clone, Copy, PartialEq, Eq)]
struct From(i8);

impl From {
    const SILENCE: From = From(i8::MIN);
    const PAUSE: From = From(i8::MIN + 1);
    /// A character that ended in time.
    const CHARACTER: From = From(0);
}

/// Where the best path to each state came from, for every sample.
pub(super) struct Lattice {
    silence: Vec<From>,
    pause: Vec<From>,
    start: Vec<From>,
    /// Whether the best path through all of it ends in silence.
    ends_silent: bool,
}

/// A window to be explained.
pub(super) struct Framer<'a> {
    pub scores: &'a Scores,
    pub per_bit: usize,
    /// Stop bits beyond the first.
    pub more_stops: usize,
    pub prior: Prior,
}

/// Scores of one state at the places of a block and at some before it.
struct Recent {
    values: Vec<f64>,
    /// Places before the block.
    kept: usize,
}

impl Recent {
    fn new(kept: usize, block: usize) -> Recent {
        Recent { values: vec![f64::NEG_INFINITY; kept + block], kept }
    }

    /// Those of the block.
    fn block(&mut self) -> &mut [f64] {
        &mut self.values[self.kept..]
    }

    /// Those `back` places before each of the block.
    fn back(&self, back: usize) -> &[f64] {
        &self.values[self.kept - back..]
    }

    /// Goes on to the next block.
    fn advance(&mut self) {
        let block = self.values.len() - self.kept;
        self.values.copy_within(block.., 0);
    }
}

/// The best paths into the block of places that is under way. A block is as long as a character: what ends in it has begun
/// before it.
struct Block {
    from: usize,
    start: Recent,
    /// A character, with one stop bit, is over.
    end: Recent,
    pause: Vec<f64>,
    silence: Vec<f64>,
    /// Pause and silence at the last place before the block.
    before: (f64, f64),
}

impl Framer<'_> {
    /// Samples from the start of a character to the place where the lattice has it end: early by the slack, so that the
    /// next one may start early.
    fn length(&self) -> usize {
        LEAST_BITS * self.per_bit - self.prior.slack
    }

    /// Samples from that place to the one where the next character starts in time.
    fn stops(&self) -> usize {
        self.prior.slack + self.more_stops * self.per_bit
    }

    fn places(&self) -> usize {
        self.scores.mark.len()
    }

    /// The score of a character at each place where a whole one fits.
    fn characters(&self) -> Vec<f32> {
        /// Places that are summed together, so that they stay at hand.
        const TOGETHER: usize = 1024;
        let Scores { mark, space } = self.scores;
        let bit = self.per_bit;
        let either: Vec<f32> = mark.iter().zip(space).map(|(m, s)| m.max(*s) - EITHER).collect();
        let stop = (LEAST_BITS - 1) * bit;
        let mut sums: Vec<f32> = space[..self.places().saturating_sub(stop)].to_vec();
        for (sums, from) in sums.chunks_mut(TOGETHER).zip((0..).step_by(TOGETHER)) {
            sums.iter_mut().zip(&mark[from + stop..]).for_each(|(sum, value)| *sum += value);
            for data in 1..=DATA_BITS {
                sums.iter_mut().zip(&either[from + data * bit..]).for_each(|(sum, value)| *sum += value);
            }
        }
        sums
    }

    pub(super) fn forward(&self) -> Lattice {
        let (places, length) = (self.places(), self.length());
        let characters = self.characters();
        let mut lattice = Lattice {
            silence: vec![From::SILENCE; places],
            pause: vec![From::PAUSE; places],
            start: vec![From::PAUSE; places],
            ends_silent: false,
        };
        let mut block = Block {
            from: 0,
            start: Recent::new(length, length),
            end: Recent::new(self.stops() + self.prior.slack, length),
            pause: vec![0.0; length],
            silence: vec![f64::NEG_INFINITY; length],
            before: (0.0, if self.prior.may_be_silent { 0.0 } else { f64::NEG_INFINITY }),
        };
        while block.from < places {
            let to = (block.from + length).min(places);
            self.end(&mut block, &characters);
            self.rest(&mut block, &mut lattice, to);
            let starts = &mut lattice.start[block.from..to];
            self.begin(&mut block, starts);
            block.start.advance();
            block.end.advance();
            block.from = to;
        }
        lattice.ends_silent = block.before.1 > block.before.0;
        lattice
    }

    /// Characters end in the block.
    fn end(&self, block: &mut Block, characters: &[f32]) {
        let first = block.from.checked_sub(self.length()).map_or(characters.len(), |first| first.min(characters.len()));
        let ends = block.end.block();
        ends.fill(f64::NEG_INFINITY);
        for ((end, start), score) in ends.iter_mut().zip(block.start.back(self.length())).zip(&characters[first..]) {
            *end = start + f64::from(*score);
        }
    }

    /// Pause and silence up to a place.
    fn rest(&self, block: &mut Block, lattice: &mut Lattice, to: usize) {
        let part = 1.0 / self.per_bit as f64;
        let (mut pause, mut silence) = block.before;
        for (index, (at, ended)) in (block.from..to).zip(block.end.back(0)).enumerate() {
            if let Some(before) = at.checked_sub(1) {
                // A pause is worth, sample by sample, its part of the bit around it.
                pause += part * f64::from(self.scores.mark[before.saturating_sub(self.per_bit / 2)]);
            }
            if *ended > pause {
                (pause, lattice.pause[at]) = (*ended, From::CHARACTER);
            }
            if self.prior.may_be_silent {
                let was_silent = silence;
                if pause - CARRIER_OFF > silence {
                    (silence, lattice.silence[at]) = (pause - CARRIER_OFF, From::PAUSE);
                }
                if was_silent - CARRIER_ON > pause {
                    (pause, lattice.pause[at]) = (was_silent - CARRIER_ON, From::SILENCE);
                }
            }
            (block.pause[index], block.silence[index]) = (pause, silence);
        }
        block.before = (pause, silence);
    }

    /// Characters begin in the block: after a pause, out of silence, or right behind the stop bits of the one before.
    fn begin(&self, block: &mut Block, origins: &mut [From]) {
        let rests = block.pause.iter().zip(&block.silence);
        let starts = block.start.values[block.start.kept..].iter_mut().zip(&mut *origins);
        for ((start, origin), (pause, silence)) in starts.zip(rests) {
            let (paused, cold) = (pause - AFTER_PAUSE, silence - COLD_START);
            (*start, *origin) = if cold > paused { (cold, From::SILENCE) } else { (paused, From::PAUSE) };
        }
        let stops = self.more_stop_scores(block.from, origins.len());
        let slack = self.prior.slack as isize;
        for late in -slack..=slack {
            let price = SLACK * (late * late) as f64;
            let ended = block.end.back(self.stops().saturating_add_signed(late)).iter();
            let followed = ended.zip(&stops[(slack - late) as usize..]);
            let starts = block.start.block().iter_mut().zip(&mut *origins);
            for ((start, origin), (ended, stops)) in starts.zip(followed) {
                let value = ended + f64::from(*stops) - price;
                let better = value > *start;
                *start = if better { value } else { *start };
                *origin = if better { From(late as i8) } else { *origin };
            }
        }
    }

    /// What the stop bits beyond the first score that are over at each of `count` places and the slack around these.
    fn more_stop_scores(&self, from: usize, count: usize) -> Vec<f32> {
        let slack = self.prior.slack;
        let mut sums = vec![0.0; count + 2 * slack];
        for back in 1..=self.more_stops {
            // Nothing has ended before the window, so what stands for places before it does not matter.
            let back = slack + back * self.per_bit;
            let before = back.saturating_sub(from).min(sums.len());
            let marks = &self.scores.mark[from.saturating_sub(back)..];
            sums[before..].iter_mut().zip(marks).for_each(|(sum, mark)| *sum += mark);
        }
        sums
    }

    /// Where, in the lattice, the character ended that the one at `at` follows `late` samples late.
    fn ended(&self, at: usize, late: isize) -> Option<usize> {
        at.checked_sub(self.stops())?.checked_add_signed(-late)
    }

    pub(super) fn backward(&self, lattice: &Lattice) -> Vec<Stretch> {
        let Some(mut at) = self.places().checked_sub(1) else { return Vec::new() };
        let mut stretches = Vec::new();
        let mut silent = lattice.ends_silent;
        let mut until = at;
        loop {
            let from = if silent { lattice.silence[at] } else { lattice.pause[at] };
            match (silent, from) {
                (true, From::PAUSE) => {
                    push(&mut stretches, Stretch::Silence(at, until));
                    (silent, until) = (false, at);
                    continue;
                }
                (false, From::SILENCE) => {
                    push(&mut stretches, Stretch::Pause(at, until));
                    (silent, until) = (true, at);
                }
                (false, From::CHARACTER) => {
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
            match lattice.start[start] {
                From::PAUSE => return (start, false),
                From::SILENCE => return (start, true),
                From(late) => match self.ended(start, isize::from(late)) {
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
