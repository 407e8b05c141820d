//! Code that is moved and run elsewhere: where execution goes to bytes that are not there, the program is run, and what it
//! wrote there is looked for among its bytes.

use super::bytes::Bytes;
use super::marks::{Mark, Marks, Uses};
use super::places::Moved;
use super::trial::{Trials, Written};

/// The shortest stretch that is believed to be moved.
const LEAST: usize = 6;

/// Pieces that are looked for, the longest first.
const PIECES: [usize; 3] = [24, 12, LEAST];

/// Places behind the one that is gone to where such a piece may begin.
const STEPS: usize = 12;

/// Bytes one behind the other that the program may have changed since.
const CHANGED: usize = 2;

/// The most places from which the program is run.
const STARTS: usize = 64;

/// The stretches that turn up elsewhere when the program is run from one of its entries.
pub fn find(bytes: &Bytes, marks: &Marks, trials: &mut Trials, entries: &[usize]) -> Vec<Moved> {
    let wanted: Vec<u16> =
        marks.outside.iter().filter(|(_, uses)| uses.any(Uses::EXECUTED)).map(|(address, _)| *address).collect();
    let mut found: Vec<Moved> = Vec::new();
    let used = |how: Uses| {
        let of = move |at: &usize| marks.at(*at) == Mark::Start && marks.uses(*at).any(how);
        bytes.runs().into_iter().flatten().filter(of)
    };
    let called = used(Uses::EXECUTED.and(Uses::LISTED)).take(if wanted.is_empty() { 0 } else { STARTS });
    let starts = entries.iter().copied().chain(used(Uses::ENTRY).take(STARTS)).chain(called);
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
    let room = (target..).take_while(|at| written.written.get(*at) == Some(&true)).count();
    // What was changed after it was moved is not found: so a long piece first, and then shorter ones, and others behind it.
    let pieces = PIECES.iter().flat_map(|length| (0..STEPS).map(move |offset| (offset, *length)));
    let lies = pieces.filter(|(offset, length)| offset + length <= room).find_map(|(offset, length)| {
        let at = target + offset;
        let needle = &written.memory[at..at + length];
        // A fill is found anywhere.
        if needle.iter().all(|byte| *byte == needle[0]) {
            return None;
        }
        let mut places = memchr::memmem::find_iter(bytes.all(), needle);
        let lies = places.find(|lies| *lies != at && (*lies..*lies + length).all(|at| bytes.has(at)))?;
        lies.checked_sub(offset)
    })?;
    let same = |lies: usize, at: usize| {
        written.written.get(at) == Some(&true) && bytes.get(lies) == written.memory.get(at).copied()
    };
    let behind = reach(&|count| same(lies + count, target + count));
    let before = reach(&|count| count < lies.min(target) && same(lies - count - 1, target - count - 1));
    Some(Moved { from: lies - before..lies + behind, to: (target - before) as u16 })
}

/// How far bytes are the same, but for single ones that were changed since.
fn reach(same: &dyn Fn(usize) -> bool) -> usize {
    let mut reach = 0;
    loop {
        if same(reach) {
            reach += 1;
        } else if let Some(skip) = (1..=CHANGED).find(|skip| (0..LEAST).all(|at| same(reach + skip + at))) {
            reach += skip;
        } else {
            return reach;
        }
    }
}
