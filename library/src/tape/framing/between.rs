//! What stands between two heads, blocks or ends, before the first and behind the last: filler, lettering, and noise. Of
//! noise it is said whether it may be what is left of a head, block or end; if it may, nothing around it is whole.

use std::ops::Range;

use super::cleaned::Cleaned;
use super::declared::Framing;
use super::reading::{Noise, Stray, StrayPlace, Stretch, StretchKind};
use crate::record::Digits;
use crate::tape::lettering;

/// Punched frames of lettering that no block spells by chance.
const SURE_LETTERING: usize = 5;

/// Characters of which each part leaves at least so many when one is lost, if a single one is to be no part.
const VISIBLE: usize = 3;

/// What stands before the runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Since {
    /// The start of the tape.
    Tape,
    /// The last part of a program.
    End {
        /// Whether its check proves it, its size included.
        proved: bool,
    },
    /// A part of a program that may go on.
    Part,
}

/// What stands behind the runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Until {
    /// The end of the tape.
    Tape,
    /// The first part of another program.
    Program {
        /// Whether its check proves that nothing of its program stands before it.
        proved: bool,
    },
    /// The next part of the same program.
    Part {
        /// Whether the checks of both parts prove them, and their numbers that nothing of the program stands between.
        proved: bool,
    },
}

/// The runs with what they are, and what nothing explains, by whose it is.
#[derive(Default)]
pub(super) struct Settled {
    pub stretches: Vec<Stretch>,
    /// Of the program before.
    pub before: Vec<Stray>,
    /// Of the program behind.
    pub behind: Vec<Stray>,
    /// Of neither.
    pub loose: Vec<Stray>,
}

/// A run of characters of one kind.
#[derive(Clone)]
struct Run {
    characters: Range<usize>,
    frames: Range<usize>,
    is_noise: bool,
    /// What it spells.
    text: Option<String>,
}

/// The runs between two parts.
pub(super) struct Between<'a> {
    framing: &'a Framing,
    cleaned: &'a Cleaned<'a>,
    tape: &'a [u8],
    runs: Vec<Run>,
}

impl<'a> Between<'a> {
    pub fn new(framing: &'a Framing, cleaned: &'a Cleaned<'a>, tape: &'a [u8]) -> Self {
        Between { framing, cleaned, tape, runs: Vec::new() }
    }

    /// Adds a run behind the others.
    pub fn push(&mut self, characters: Range<usize>, is_noise: bool) {
        let frames = self.cleaned.frames(characters.clone());
        self.runs.push(Run { characters, frames, is_noise, text: None });
    }

    /// The frames of leader that part two programs, if there are enough of them in a row.
    pub fn parting(&self) -> Option<Range<usize>> {
        let least = self.framing.least_leader();
        let runs = if self.is_slip() { vec![self.whole()] } else { self.runs.clone() };
        let run = runs.iter().filter(|run| !run.is_noise).find(|run| self.leader(run) >= least)?;
        Some(run.frames.clone())
    }

    /// All runs as one of filler.
    fn whole(&self) -> Run {
        let all = |range: fn(&Run) -> &Range<usize>| {
            let (first, last) = (self.runs.first().map(range), self.runs.last().map(range));
            first.map_or(0, |first| first.start)..last.map_or(0, |last| last.end)
        };
        Run { characters: all(|run| &run.characters), frames: all(|run| &run.frames), is_noise: false, text: None }
    }

    /// Characters of leader at the end of a run; one that slipped stands for what it was.
    fn leader(&self, run: &Run) -> usize {
        let noise = self.runs.iter().find(|run| run.is_noise);
        let slip = noise.filter(|_| self.is_slip()).map(|noise| noise.characters.start);
        let is_leader =
            |&at: &usize| Some(at) == slip || self.framing.leader.bytes.contains(&self.cleaned.characters[at]);
        run.characters.clone().rev().take_while(is_leader).count()
    }

    /// Whether all noise is one frame that one wrong bit makes of filler, while every part leaves more. Beside a block it
    /// could be the last byte of one that was read short, unless bytes are digits and it is none.
    fn is_slip(&self) -> bool {
        let mut noises = self.runs.iter().enumerate().filter(|(_, run)| run.is_noise);
        let (Some((index, noise)), None) = (noises.next(), noises.next()) else { return false };
        let digits = self.framing.coding.digits;
        let character = self.cleaned.characters[noise.characters.start];
        let is_digit = digits == Digits::Binary || char::from(character).is_ascii_hexdigit();
        let is_within = index > 0 && index + 1 < self.runs.len();
        let is_single = noise.characters.len() == 1 && (is_within || !is_digit);
        is_single && self.is_near_filler(noise) && self.framing.fewest_visible() >= VISIBLE
    }

    fn is_near_filler(&self, noise: &Run) -> bool {
        let frame = self.tape[noise.frames.end - 1];
        let coding = self.framing.characters;
        self.framing.fillers().iter().any(|filler| (coding.punch(filler) ^ frame).count_ones() == 1)
    }

    /// Says what the runs are, and forgets them.
    pub fn settle(&mut self, since: Since, until: Until) -> Settled {
        let mut settled = Settled::default();
        if self.runs.is_empty() {
            return settled;
        }
        let slip = self.is_slip();
        self.spell();
        let noises = if slip { vec![Noise::Slip; self.runs.len()] } else { self.judge(since, until, &mut settled) };
        for (run, noise) in std::mem::take(&mut self.runs).into_iter().zip(noises) {
            let kind = match (run.is_noise, run.text) {
                (false, _) => StretchKind::Filler,
                (true, Some(text)) if noise != Noise::Unexplained => StretchKind::Lettering(text),
                (true, _) => StretchKind::Noise(noise),
            };
            settled.stretches.push(Stretch { range: run.frames, kind });
        }
        settled
    }

    /// Joins runs that read as lettering: letters are noise with blank columns between.
    fn spell(&mut self) {
        let runs = std::mem::take(&mut self.runs);
        let mut index = 0;
        while let Some(run) = runs.get(index) {
            let mut last = index;
            let limit = run.frames.start + lettering::LONGEST_FRAMES;
            let is_blank = |run: &Run| !run.is_noise && run.frames.len() <= lettering::WIDEST_BLANK;
            let goes_on = |next: &Run| next.frames.end <= limit && (next.is_noise || is_blank(next));
            while run.is_noise && runs.get(last + 1).is_some_and(goes_on) {
                last += 1;
            }
            while run.is_noise && !runs[last].is_noise {
                last -= 1;
            }
            let frames = run.frames.start..runs[last].frames.end;
            let text = if run.is_noise { lettering::read(&self.tape[frames.clone()]) } else { None };
            if text.is_some() {
                let characters = run.characters.start..runs[last].characters.end;
                self.runs.push(Run { characters, frames, is_noise: true, text });
                index = last;
            } else {
                self.runs.push(run.clone());
            }
            index += 1;
        }
    }

    /// What each run is if it is noise; what nothing explains is added to what was settled.
    fn judge(&self, since: Since, until: Until, settled: &mut Settled) -> Vec<Noise> {
        let at_once = self.framing.seen(&self.framing.leader) == 0 && since == Since::Tape;
        let first_leader = (0..self.runs.len()).find(|&index| self.holds_leader(index, since));
        let last_leader = (0..self.runs.len()).rfind(|&index| self.leads(index, since));
        let mut noises = vec![Noise::Unexplained; self.runs.len()];
        for (index, run) in self.runs.iter().enumerate().filter(|(_, run)| run.is_noise) {
            let led = at_once || first_leader.is_some_and(|leader| leader < index);
            let followed = last_leader.is_some_and(|leader| leader > index);
            let is_text = run.text.is_some() && self.punched(run) >= SURE_LETTERING;
            noises[index] = match since {
                _ if is_text => Noise::BeforeLeader,
                Since::Tape if !led && followed => Noise::BeforeLeader,
                Since::End { .. } if !led && (followed || until == Until::Tape) && self.is_behind_a_program(since) => {
                    Noise::BehindEnd
                }
                _ => self.excuse(since, until),
            };
            if noises[index] != Noise::Unexplained {
                continue;
            }
            let begins = matches!(until, Until::Program { .. });
            // Zeros in a block look like leader too: only a check tells that all of the program stands behind it.
            let open = begins && until != Until::Program { proved: true };
            let (place, owner) = match since {
                Since::Part if !led && matches!(until, Until::Part { .. }) => (StrayPlace::Among, &mut settled.before),
                Since::Part if !led => (StrayPlace::BehindLast, &mut settled.before),
                _ if matches!(until, Until::Part { .. }) => (StrayPlace::Among, &mut settled.before),
                _ if begins && !followed => (StrayPlace::BeforeFirst, &mut settled.behind),
                _ if led && open => (StrayPlace::BehindLeader, &mut settled.behind),
                _ if led => (StrayPlace::BehindLeader, &mut settled.loose),
                _ => (StrayPlace::BehindLast, &mut settled.loose),
            };
            match owner.last_mut().filter(|last| last.place == place) {
                Some(last) => last.range.end = run.frames.end,
                None => owner.push(Stray { range: run.frames.clone(), place }),
            }
        }
        noises
    }

    /// What the parts around explain of noise between them.
    fn excuse(&self, since: Since, until: Until) -> Noise {
        let framing = self.framing;
        let is_within =
            self.runs.first().is_some_and(|run| !run.is_noise) && self.runs.last().is_some_and(|run| !run.is_noise);
        let noise = || self.runs.iter().filter(|run| run.is_noise);
        match until {
            Until::Part { proved: true } if is_within && self.parting().is_none() => Noise::NumbersGoOn,
            // A program that was lost would have left two parts at least.
            Until::Program { proved: true }
                if self.is_behind_a_program(since) && (framing.head.is_some() || framing.end.is_some()) =>
            {
                let first = noise().next().map_or(0, |run| run.characters.start);
                let last = noise().next_back().map_or(0, |run| run.characters.end);
                if last - first < framing.shortest_program() { Noise::NumbersGoOn } else { Noise::Unexplained }
            }
            _ => Noise::Unexplained,
        }
    }

    /// Whether a run of filler ends with half of a leader, so that a program begins behind it.
    fn leads(&self, index: usize, since: Since) -> bool {
        self.has_leader(index, since, self.leader(&self.runs[index]))
    }

    /// Whether half of a leader stands anywhere in a run of filler. Frames of another filler behind it may be the
    /// beginning of a program, with wrong bits that make filler of it.
    fn holds_leader(&self, index: usize, since: Since) -> bool {
        let characters = &self.cleaned.characters[self.runs[index].characters.clone()];
        let others = characters.split(|&character| !self.framing.leader.bytes.contains(&character));
        let longest = others.map(<[u8]>::len).max().unwrap_or(0);
        self.has_leader(index, since, longest.max(self.leader(&self.runs[index])))
    }

    /// Whether so many characters of leader in a row, in a run of filler, are half of one; behind an end, where a gap and
    /// a trailer stand before the leader, these must be there too.
    fn has_leader(&self, index: usize, since: Since, in_a_row: usize) -> bool {
        let (run, framing) = (&self.runs[index], self.framing);
        if run.is_noise {
            return false;
        }
        let half = framing.seen(&framing.leader).div_ceil(2);
        match since {
            Since::Part => in_a_row >= framing.least_leader(),
            Since::End { .. } if index == 0 => {
                let before = framing.seen(&framing.gap) + framing.seen(&framing.trailer);
                run.characters.len() >= before + half && in_a_row >= half
            }
            _ => in_a_row >= half.max(1),
        }
    }

    /// Whether what stands before is no part of a program: not even what a damaged one, read short, left behind it.
    fn is_behind_a_program(&self, since: Since) -> bool {
        match since {
            Since::Tape | Since::End { proved: true } => true,
            Since::End { proved: false } => self.has_trailer(),
            Since::Part => false,
        }
    }

    /// Whether the filler behind an end is more than its gap: half of a trailer at least.
    fn has_trailer(&self) -> bool {
        let framing = self.framing;
        let half = framing.seen(&framing.trailer).div_ceil(2).max(1);
        self.runs.first().is_some_and(|run| !run.is_noise && run.characters.len() >= framing.seen(&framing.gap) + half)
    }

    /// Frames with a hole.
    fn punched(&self, run: &Run) -> usize {
        self.tape[run.frames.clone()].iter().filter(|&&frame| frame != 0).count()
    }
}
