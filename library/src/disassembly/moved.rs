//! Code that is moved and run elsewhere: where execution goes to bytes that are not there, the program is run, and what it
//! wrote there is looked for among its bytes.

use super::bytes::Bytes;
use super::marks::{Mark, Marks, Uses};
use super::places::Moved;
use super::trial::{Trials, Written};

/// The shortest stretch that is believed to be moved.
const LEAST: usize = 6;

/// The most places from which the program is run.
const STARTS: usize = 64;

/// The stretches that turn up elsewhere when the program is run from one of its entries.
pub fn find(bytes: &Bytes, marks: &Marks, trials: &mut Trials, entries: &[usize]) -> Vec<Moved> {
    let wanted: Vec<u16> =
        marks.outside.iter().filter(|(_, uses)| uses.any(Uses::EXECUTED)).map(|(address, _)| *address).collect();
    let mut found: Vec<Moved> = Vec::new();
    let called = bytes.runs().into_iter().flatten().filter(|at| {
        marks.at(*at) == Mark::Start && marks.uses(*at).any(Uses::CALLED.and(Uses::LISTED).and(Uses::JUMPED))
    });
    let starts = entries.iter().copied().chain(called.take(if wanted.is_empty() { 0 } else { STARTS }));
    for start in starts {
        let Some(written) = trials.run(start) else { continue };
        let targets = written.went_to.iter().chain(&wanted);
        for &target in targets {
            if written.written[usize::from(target)] && !covers(&found, target) {
                found.extend(source(bytes, &written, usize::from(target)));
            }
        }
    }
    found
}

fn covers(found: &[Moved], target: u16) -> bool {
    let runs = |moved: &Moved| usize::from(target).checked_sub(usize::from(moved.to));
    found.iter().any(|moved| runs(moved).is_some_and(|offset| offset < moved.from.len()))
}

/// The stretch among the bytes that was written round an address.
fn source(bytes: &Bytes, written: &Written, target: usize) -> Option<Moved> {
    let length = (target..).take_while(|at| written.written.get(*at) == Some(&true)).count().min(32);
    if length < LEAST {
        return None;
    }
    let needle = &written.memory[target..target + length];
    let finder = memchr::memmem::find_iter(bytes.all(), needle);
    let mut places = finder.filter(|at| *at != target && (*at..*at + length).all(|at| bytes.has(at)));
    let lies = places.next()?;
    let same = |lies: usize, at: usize| {
        written.written.get(at) == Some(&true) && bytes.get(lies) == written.memory.get(at).copied()
    };
    let behind = (0..).take_while(|&count| same(lies + count, target + count)).count();
    let before = (1..=lies.min(target)).take_while(|&count| same(lies - count, target - count)).count();
    Some(Moved { from: lies - before..lies + behind, to: (target - before) as u16 })
}
