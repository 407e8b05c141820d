//! Where a start begins to fail, found by plays.
//!
//! A bisection would take for granted that it fails for good once it fails. So the way out is played in coarse steps
//! first, and the way to the bound once more when it is found; the nearest failure of all that were played is the bound.

use std::collections::BTreeMap;

use super::limit::{AS_DESCRIBED, Failure, Side};

/// How a start is played: at so many ten-thousandths of how a thing is described, and whether with several noises.
/// Nothing if it is to be stopped.
pub type Play<'a> = dyn FnMut(i64, bool) -> Option<Result<(), Failure>> + 'a;

/// How many more of the coarse steps are played behind the first that fails.
const BEYOND: usize = 2;

/// Into how many stretches the way to the bound is cut when it is played once more.
const STRETCHES: i64 = 16;

/// How many of the finest steps before the bound are played one by one.
const NEAR: i64 = 4;

/// How far a thing may go one way. The steps lead away from how it is described, nearest first.
pub fn side(steps: &[i64], play: &mut Play) -> Option<Side> {
    let mut search = Search { play, plays: BTreeMap::from([(AS_DESCRIBED, Ok(()))]), noises: false };
    let mut failed = 0;
    for &step in steps {
        failed += usize::from(!search.starts(step)?);
        if failed > BEYOND {
            break;
        }
    }
    let up = steps.first().is_none_or(|&step| step > AS_DESCRIBED);
    loop {
        search.bisect(up)?;
        if !search.look_between(up)? {
            continue;
        }
        let (holds, _) = search.bound(up);
        search.noises = true;
        if holds == AS_DESCRIBED || search.again(holds)? {
            return Some(search.side(up));
        }
    }
}

/// The finest step: a thousandth of what is described, or of where it is if that is more.
fn finest(at: i64) -> i64 {
    (at / 1000).max(AS_DESCRIBED / 1000)
}

struct Search<'a, 'p> {
    play: &'a mut Play<'p>,
    /// What became of each.
    plays: BTreeMap<i64, Result<(), Failure>>,
    /// Whether each is played with several noises.
    noises: bool,
}

impl Search<'_, '_> {
    /// Whether it starts there; played once.
    fn starts(&mut self, at: i64) -> Option<bool> {
        if let Some(known) = self.plays.get(&at) {
            return Some(known.is_ok());
        }
        self.again(at)
    }

    /// The same, played even if it was played before.
    fn again(&mut self, at: i64) -> Option<bool> {
        let played = (self.play)(at, self.noises)?;
        let starts = played.is_ok();
        self.plays.insert(at, played);
        Some(starts)
    }

    /// The plays from how it is described outwards.
    fn outwards(&self, up: bool) -> Vec<(i64, bool)> {
        let mut all: Vec<_> = self.plays.iter().map(|(&at, played)| (at, played.is_ok())).collect();
        if !up {
            all.reverse();
        }
        all
    }

    /// The furthest that starts before the nearest that fails, and that.
    fn bound(&self, up: bool) -> (i64, Option<i64>) {
        let all = self.outwards(up);
        let fails = all.iter().position(|(_, starts)| !starts);
        let holds = all[..fails.unwrap_or(all.len())].last().map_or(AS_DESCRIBED, |(at, _)| *at);
        (holds, fails.map(|fails| all[fails].0))
    }

    fn bisect(&mut self, up: bool) -> Option<()> {
        while let (holds, Some(fails)) = self.bound(up) {
            if (fails - holds).abs() <= finest(holds) {
                break;
            }
            self.starts((holds + fails) / 2)?;
        }
        Some(())
    }

    /// Plays once more on the way to the bound, until one fails; whether none did.
    fn look_between(&mut self, up: bool) -> Option<bool> {
        let (holds, _) = self.bound(up);
        let far = holds - AS_DESCRIBED;
        let even = (1..STRETCHES).map(|part| AS_DESCRIBED + far * part / STRETCHES);
        let near = (1..=NEAR).map(|steps| holds - far.signum() * steps * finest(holds));
        let inside: Vec<_> = even.chain(near).filter(|at| (at - AS_DESCRIBED) * far.signum() > 0).collect();
        for at in inside {
            if !self.starts(at)? {
                return Some(false);
            }
        }
        Some(true)
    }

    fn side(self, up: bool) -> Side {
        let (holds, fails) = self.bound(up);
        let all = self.outwards(up);
        let between = all.iter().take_while(|(_, starts)| *starts).count();
        let again = all[between..].iter().find(|(_, starts)| *starts).map(|(at, _)| *at);
        let fails = fails.and_then(|at| self.plays[&at].clone().err());
        Side { holds, fails, again, between }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A search on which `starts` says what becomes of a play with one noise, and with several.
    fn found(steps: &[i64], starts: impl Fn(i64, bool) -> bool) -> Side {
        let mut play = |at, noises| {
            let failure = Failure { at, how: String::new() };
            Some(if starts(at, noises) { Ok(()) } else { Err(failure) })
        };
        side(steps, &mut play).unwrap()
    }

    const UP: [i64; 5] = [10_100, 11_000, 15_000, 20_000, 40_000];
    const DOWN: [i64; 4] = [9_900, 9_000, 7_000, 5_000];

    #[test]
    fn both_sides_of_a_bound_were_played() {
        for bound in [10_001, 10_050, 12_345, 19_999, 39_999] {
            let side = found(&UP, |at, _| at < bound);
            let fails = side.fails.unwrap().at;
            assert!(side.holds < bound && bound <= fails && fails - side.holds <= finest(side.holds), "{bound}");
        }
        for bound in [9_999, 9_123, 5_001] {
            let side = found(&DOWN, |at, _| at > bound);
            let fails = side.fails.unwrap().at;
            assert!(side.holds > bound && bound >= fails && side.holds - fails <= 10, "{bound}: {}", side.holds);
        }
    }

    #[test]
    fn without_a_failure_the_furthest_is_told() {
        let side = found(&UP, |_, _| true);
        assert_eq!((side.holds, side.fails, side.again), (40_000, None, None));
    }

    #[test]
    fn a_hole_on_the_way_is_the_bound() {
        let side = found(&UP, |at, _| at < 30_000 && !(14_000..16_500).contains(&at));
        let fails = side.fails.unwrap().at;
        assert!(side.holds < 14_000 && (14_000..14_020).contains(&fails), "{}", side.holds);
        assert_eq!(side.again, Some(20_000));
        // One that no coarse step falls into is found on the second way.
        let side = found(&UP, |at, _| at < 39_000 && !(27_000..29_000).contains(&at));
        assert!(side.holds < 27_000 && side.fails.unwrap().at < 29_000, "{}", side.holds);
    }

    #[test]
    fn what_fails_with_another_noise_does_not_start() {
        let side = found(&UP, |at, noises| at < if noises { 12_000 } else { 14_000 });
        assert!((11_980..12_000).contains(&side.holds), "{}", side.holds);
        assert!((12_000..12_020).contains(&side.fails.unwrap().at));
    }

    #[test]
    fn a_stop_ends_it() {
        assert_eq!(side(&UP, &mut |_, _| None), None);
    }
}
