//! The plan by which bytes go out: which go together, how long the line rests after them, and how long all of it takes.

use std::ops::Range;
use std::time::Duration;

use super::LineFormat;

/// Rests that a slow receiver needs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Pacing {
    /// Rest after each character.
    pub after_character: Duration,
    /// Rest after each block, in addition.
    pub after_block: Duration,
    /// Whether characters go out one by one, because each is waited for or may be held back.
    pub singly: bool,
}

/// Bytes that go out together and the rest that follows them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Step {
    /// Which bytes.
    pub bytes: Range<usize>,
    /// How long the line rests then.
    pub rest: Duration,
}

/// The steps from a first byte to the end, with their times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    line: LineFormat,
    pacing: Pacing,
    end: usize,
    /// Where blocks end, rising.
    block_ends: Vec<usize>,
}

impl Plan {
    /// The most bytes that go out in one step, so that a stop takes effect at once.
    pub const LARGEST_STEP: usize = 32;

    /// A plan for `length` bytes whose blocks end at `block_ends` (offsets behind the last byte of each, in any order).
    pub fn new(line: LineFormat, pacing: Pacing, length: usize, block_ends: impl IntoIterator<Item = usize>) -> Self {
        let mut block_ends: Vec<_> = block_ends.into_iter().filter(|&end| end <= length).collect();
        block_ends.sort_unstable();
        block_ends.dedup();
        Plan { line, pacing, end: length, block_ends }
    }

    /// The steps from the byte `from` on.
    pub fn steps(&self, from: usize) -> impl Iterator<Item = Step> + '_ {
        let together = self.pacing.after_character.is_zero() && !self.pacing.singly;
        let most = if together { Self::LARGEST_STEP } else { 1 };
        let mut at = from;
        std::iter::from_fn(move || {
            if at >= self.end {
                return None;
            }
            let next_end = self.block_ends.partition_point(|&end| end <= at);
            let limit = self.block_ends.get(next_end).copied().unwrap_or(self.end);
            let bytes = at..limit.min(at + most);
            at = bytes.end;
            let block_is_over = self.block_ends.get(next_end) == Some(&at);
            let after_block = if block_is_over { self.pacing.after_block } else { Duration::ZERO };
            Some(Step { rest: self.pacing.after_character + after_block, bytes })
        })
    }

    /// How long everything from the byte `from` on takes, rests included, when nobody makes it wait.
    pub fn duration(&self, from: usize) -> Duration {
        let characters = self.end.saturating_sub(from);
        let blocks = self.block_ends.len() - self.block_ends.partition_point(|&end| end <= from);
        let rest = |one: Duration, count: usize| one.saturating_mul(u32::try_from(count).unwrap_or(u32::MAX));
        self.line.time(characters as u64)
            + rest(self.pacing.after_character, characters)
            + rest(self.pacing.after_block, blocks)
    }

    /// How long the bytes of one step are on the line.
    pub fn line_time(&self, step: &Step) -> Duration {
        self.line.time(step.bytes.len() as u64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(pacing: Pacing) -> Plan {
        Plan::new("300 8N1".parse().unwrap(), pacing, 100, [40, 90])
    }

    #[test]
    fn steps_cover_every_byte_once_and_add_up_to_the_duration() {
        let ms = Duration::from_millis;
        for pacing in [Pacing::default(), Pacing { after_character: ms(5), after_block: ms(200), singly: false }] {
            let plan = plan(pacing);
            for from in [0, 1, 39, 40, 99, 100] {
                let (mut at, mut time) = (from, Duration::ZERO);
                for step in plan.steps(from) {
                    assert_eq!(step.bytes.start, at);
                    at = step.bytes.end;
                    time += plan.line_time(&step) + step.rest;
                }
                assert_eq!(at, 100);
                assert!(time.abs_diff(plan.duration(from)) < Duration::from_micros(1), "{from}: {time:?}");
            }
        }
    }

    #[test]
    fn the_line_rests_after_each_block_only() {
        let rest = Duration::from_millis(200);
        let plan = plan(Pacing { after_block: rest, ..Pacing::default() });
        let rests: Vec<_> = plan.steps(0).filter(|step| step.rest == rest).map(|step| step.bytes.end).collect();
        assert_eq!(rests, [40, 90]);
    }
}
