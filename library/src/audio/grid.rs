//! Where characters begin, held on to.
//!
//! In a run of equal bytes every place where a zero follows a one looks like a start bit, and nothing in the run tells which
//! is. What tells is how the run begins: the first zero behind a pause is a start bit, and characters follow at whole
//! distances from it. So every run of characters without a pause is looked at from all places at once. The same bits are
//! counted each time, only which of them must be zeros or ones differs; where no place is plainly the best, the run hangs on
//! what came before, and where there is nothing to hang on, all of it is in doubt.

use super::lattice::{LEAST_BITS, Stretch};
use super::levels::Scores;

/// What one wrong start or stop bit speaks against a place, in nats, at most: it may have been a click.
const ONE_BIT: f32 = 12.0;
/// Places that are nearer to the best one than this, in nats, may be right too.
const PLAINLY: f32 = 5.0;
/// Bits of silence through which characters are counted on: speed is known to a tenth of a per cent.
const HELD_BITS: f64 = 250.0;
/// How far, in bits, a start may lie off the grid that is held.
const OFF: f64 = 0.35;
/// How sure a start is that hangs on an earlier one, in nats.
const HELD: f32 = 20.0;

/// Stretches with every character where it hangs on something.
pub(super) struct Settled {
    pub stretches: Vec<Stretch>,
    /// For each character the log-odds, in nats, that it begins where it is said to; 0 for one that nothing was heard of.
    pub sure: Vec<f32>,
    /// Up to where characters hang on nothing that lies in the window; 0 where there are none of these.
    pub loose_to: usize,
}

/// What stretches are settled with.
pub(super) struct Grid<'a> {
    pub scores: &'a Scores,
    pub per_bit: usize,
    pub stop_bits: usize,
}

/// Characters that follow one another without a pause, as the places at which their bits begin: whole characters with all
/// stop bits, the last one with one stop bit.
#[derive(Clone)]
struct Run {
    bits: Vec<usize>,
}

/// How a run begins.
#[derive(Clone, Copy)]
struct Before {
    /// Bits of pause before it that are looked at; none behind silence.
    pause: isize,
    /// Whether it begins behind a pause.
    anchored: bool,
    /// How sure what came before it was.
    sure: f32,
    /// Where a character began, if that is known.
    footing: Option<f64>,
}

impl Before {
    const NOTHING: Before = Before { pause: 0, anchored: false, sure: 0.0, footing: None };
}

/// A run at its likeliest place.
struct Placed {
    run: Run,
    /// By how many bits the run begins later.
    place: isize,
    /// What speaks against it nevertheless, in nats.
    cost: f32,
    sure: f32,
}

impl Grid<'_> {
    /// Moves every run to the place that its beginning asks for. `footing` is where a character begins that is known from
    /// before the window.
    pub(super) fn settle(&self, stretches: &[Stretch], footing: Option<f64>) -> Settled {
        let mut settled = Settled { stretches: Vec::with_capacity(stretches.len()), sure: Vec::new(), loose_to: 0 };
        let mut before = Before { footing, ..Before::NOTHING };
        let mut rest = stretches;
        while let Some(first) = rest.first() {
            match *first {
                Stretch::Character(_) => {
                    let (placed, behind) = self.joined(rest, before);
                    let starts = self.starts(&placed);
                    let loose = !before.anchored && placed.sure < PLAINLY;
                    if loose && settled.sure.is_empty() {
                        settled.loose_to = starts.last().copied().unwrap_or(0);
                    }
                    let footing = starts.last().map(|at| *at as f64);
                    before = Before { sure: placed.sure, footing, anchored: true, ..before };
                    settled.push(&starts, placed.sure, self.per_bit);
                    rest = behind;
                    continue;
                }
                Stretch::Pause(from, to) => {
                    before = self.behind_pause(to - from, before);
                    // A character may hide in a short pause of which a part was not heard: it is bridged as silence is.
                    let is_short = to - from < 2 * self.bits() * self.per_bit;
                    let hides = is_short && self.is_broken(from, to);
                    settled.stretches.push(if hides { Stretch::Silence(from, to) } else { *first });
                }
                Stretch::Silence(..) => {
                    before = Before { footing: before.footing, ..Before::NOTHING };
                    settled.stretches.push(*first);
                }
            }
            rest = &rest[1..];
        }
        settled
    }

    /// Whether a pause that could hold a character sounds like anything but mark for two bits together.
    fn is_broken(&self, from: usize, to: usize) -> bool {
        let bits = (from + self.per_bit..to.saturating_sub(self.per_bit)).step_by(self.per_bit);
        let unheard: Vec<bool> = bits.map(|at| self.scores.mark.get(at).is_some_and(|mark| *mark < 0.0)).collect();
        (LEAST_BITS - 1) * self.per_bit <= to - from && unheard.windows(2).any(|pair| pair[0] && pair[1])
    }

    fn behind_pause(&self, samples: usize, before: Before) -> Before {
        let bits = samples / self.per_bit;
        match bits + 1 >= self.bits() {
            true => Before { pause: self.bits() as isize - 1, anchored: true, sure: HELD, ..before },
            // A few ones behind nothing may be data.
            false if !before.anchored => before,
            false => Before { pause: bits as isize, ..before },
        }
    }

    /// The run at the start of `rest`, together with those behind it that are parted from it by less than a character and
    /// go on as well on the same grid; and what is left.
    fn joined<'a>(&self, rest: &'a [Stretch], before: Before) -> (Placed, &'a [Stretch]) {
        let (run, mut rest) = self.run(rest);
        let mut placed = self.placed(run, before);
        while let [Stretch::Pause(from, to), behind @ ..] = rest {
            if behind.is_empty() || to - from >= self.bits() * self.per_bit {
                break;
            }
            let (next, behind) = self.run(behind);
            let Some(both) = self.both(&placed.run, &next) else { break };
            let both = self.placed(both, before);
            let apart = self.placed(next, self.behind_pause(to - from, before));
            if both.cost >= placed.cost + apart.cost + PLAINLY {
                break;
            }
            (placed, rest) = (both, behind);
        }
        (placed, rest)
    }

    /// The run at the start of `rest`, and what is behind it.
    fn run<'a>(&self, rest: &'a [Stretch]) -> (Run, &'a [Stretch]) {
        let count = rest.iter().take_while(|stretch| matches!(stretch, Stretch::Character(_))).count();
        let (characters, behind) = rest.split_at(count);
        let starts = characters.iter().map(|stretch| stretch.from());
        let mut bits: Vec<usize> =
            starts.flat_map(|start| (0..self.bits()).map(move |bit| start + bit * self.per_bit)).collect();
        bits.truncate((bits.len() + LEAST_BITS).saturating_sub(self.bits()));
        (Run { bits }, behind)
    }

    /// Two runs as one, the bits between them spread evenly.
    fn both(&self, run: &Run, next: &Run) -> Option<Run> {
        let (last, first) = (*run.bits.last()?, *next.bits.first()?);
        let between = first.saturating_sub(last) as f64 / self.per_bit as f64;
        let whole = between.round() as usize;
        if whole == 0 {
            return None;
        }
        let more = (1..whole).map(|bit| last + (first - last) * bit / whole);
        Some(Run { bits: run.bits.iter().copied().chain(more).chain(next.bits.iter().copied()).collect() })
    }

    /// Bits of a character, all stop bits included.
    fn bits(&self) -> usize {
        LEAST_BITS - 1 + self.stop_bits
    }

    /// The run at its likeliest place, and how sure that is.
    fn placed(&self, run: Run, before: Before) -> Placed {
        let bits = self.bits() as isize;
        let costs: Vec<(isize, f32)> =
            (-before.pause..bits).map(|place| (place, self.cost(&run, place, before))).collect();
        let least = costs.iter().fold(f32::INFINITY, |least, cost| least.min(cost.1));
        let held = before.footing.and_then(|footing| self.place_on(&run, footing)).filter(|_| !before.anchored);
        let held = held.filter(|place| costs.iter().any(|cost| cost.0 == *place && cost.1 < least + PLAINLY));
        // The first of the best, but rather where it was found.
        let as_good = |place: &isize| costs.iter().any(|cost| cost.0 == *place && cost.1 <= least);
        let best = || Some(0).filter(as_good).or_else(|| costs.iter().map(|cost| cost.0).find(as_good)).unwrap_or(0);
        let place = held.unwrap_or_else(best);
        let ahead = |costs: &[(isize, f32)], least: f32| {
            let others = costs.iter().filter(|cost| (cost.0 - place) % bits != 0);
            others.fold(f32::INFINITY, |least, cost| least.min(cost.1)) - least
        };
        let hung = if held.is_some() { HELD } else { ahead(&costs, least).min(before.sure) };
        let free: Vec<(isize, f32)> = (0..bits).map(|from| (from, self.cost(&run, from, Before::NOTHING))).collect();
        let own = ahead(&free, free[place.rem_euclid(bits) as usize].1);
        Placed { run, place, cost: least, sure: hung.max(own) }
    }

    /// What speaks against the run beginning `place` bits later, in nats: pauses and stop bits that are zeros, start bits
    /// that are ones.
    fn cost(&self, run: &Run, place: isize, before: Before) -> f32 {
        let bits = self.bits() as isize;
        let end = run.bits.len() as isize;
        let zero = |bit| self.soft(run, bit).min(0.0).abs();
        let one = |bit| self.soft(run, bit).max(0.0);
        let mut cost: f32 = if before.anchored { (-before.pause..place).map(zero).sum() } else { 0.0 };
        for start in (place..end).step_by(bits as usize) {
            let stops = start + LEAST_BITS as isize - 1..(start + bits).min(end);
            let character = one(start) + stops.map(zero).sum::<f32>();
            let is_whole = start + LEAST_BITS as isize <= end;
            cost += if is_whole { character } else { character.min((start..end).map(zero).sum()) };
        }
        cost
    }

    /// Where bit `bit` of a run begins; before the run for a negative one.
    fn at(&self, run: &Run, bit: isize) -> Option<usize> {
        match usize::try_from(bit) {
            Ok(bit) => run.bits.get(bit).copied(),
            Err(_) => run.bits.first()?.checked_sub(bit.unsigned_abs() * self.per_bit),
        }
    }

    /// The log-odds of a bit for mark, no more than one bit may say.
    fn soft(&self, run: &Run, bit: isize) -> f32 {
        let of = |at: usize| Some(self.scores.mark.get(at)? - self.scores.space.get(at)?);
        self.at(run, bit).and_then(of).unwrap_or(0.0).clamp(-ONE_BIT, ONE_BIT)
    }

    /// The place of a run on the grid of a character that began at `footing`, if it lies on that grid.
    fn place_on(&self, run: &Run, footing: f64) -> Option<isize> {
        let reached = run.bits.partition_point(|at| *at as f64 <= footing).saturating_sub(1);
        let away = (footing - *run.bits.get(reached)? as f64) / self.per_bit as f64;
        let whole = away.round();
        let is_near = (away - whole).abs() < OFF && away.abs() < HELD_BITS;
        is_near.then_some((reached as isize + whole as isize).rem_euclid(self.bits() as isize))
    }

    /// Where the characters of a run begin.
    fn starts(&self, placed: &Placed) -> Vec<usize> {
        let run = &placed.run;
        let end = run.bits.len() as isize;
        let sounds = |bit: &isize| bit + LEAST_BITS as isize <= end || self.soft(run, *bit) < 0.0;
        let fits = |at: &usize| at + LEAST_BITS * self.per_bit < self.scores.mark.len() + self.per_bit;
        let places = (placed.place..end).step_by(self.bits()).filter(sounds);
        places.filter_map(|bit| self.at(run, bit)).filter(fits).collect()
    }
}

impl Settled {
    fn push(&mut self, starts: &[usize], sure: f32, per_bit: usize) {
        let Some(&first) = starts.first() else { return };
        // A pause gives way to a run that begins earlier. A character that it begins in cannot be right, and then no one
        // knows which of the two is.
        let mut sure_first = sure;
        while let Some(last) = self.stretches.last_mut() {
            match last {
                Stretch::Pause(from, to) if *from < first => *to = first,
                Stretch::Character(at) if *at + LEAST_BITS * per_bit > first + per_bit => {
                    self.sure.pop();
                    sure_first = 0.0;
                    self.stretches.pop();
                    continue;
                }
                Stretch::Pause(..) => {
                    self.stretches.pop();
                    continue;
                }
                _ => {}
            }
            break;
        }
        self.stretches.extend(starts.iter().map(|start| Stretch::Character(*start)));
        self.sure.push(sure_first);
        self.sure.extend(starts[1..].iter().map(|_| sure));
    }
}
