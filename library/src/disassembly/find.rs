//! What the bytes are: hints first, then the flow from the entries, then what is plausible of the rest.

use super::bytes::Bytes;
use super::flow::Flow;
use super::hints::{Hints, Kind};
use super::marks::{Mark, Marks, Uses};
use super::moved;
use super::places::{Moved, Places};
use super::{plausible, tables, text};
use crate::image::MEMORY;
use crate::isa::Mnemonic;
use crate::notation::Address;

/// What is known before the bytes are looked at.
pub struct Known<'a> {
    /// What a person said.
    pub hints: &'a Hints,
    /// Where execution begins, as the command line or the file has it.
    pub entries: &'a [Address],
    /// Ports that the machine has.
    pub ports: &'a [u8],
}

/// What was found.
pub struct Found {
    /// What each byte is.
    pub marks: Marks,
    /// Where it runs.
    pub places: Places,
}

/// How much must speak for a routine that begins where another ends, or where a pointer leads, in tenths.
const BEHIND_CODE: i32 = 60;

/// How much must speak for one that begins where data ends.
const BEHIND_DATA: i32 = 110;

/// How much must speak for one at a place to which an interrupt leads.
const VECTOR: i32 = 5;

/// How much may speak against the first instructions of a routine.
const DOUBT: i32 = 15;

/// How much must speak for one that begins anywhere.
const ANYWHERE: i32 = 170;

/// How much must speak for what begins a run of bytes, if nothing says where the entry is.
const BEGINS_RUN: i32 = -20;

/// Equal bytes that are a fill.
const FILL: usize = 32;

/// How often what nothing leads to is gone through: each find can make others likelier.
const ROUNDS: usize = 8;

/// How often stretches that run elsewhere are looked for anew.
const MOVES: usize = 3;

/// Finds out what the bytes are.
pub fn find(bytes: &Bytes, known: &Known) -> Found {
    let mut places = Places::default();
    for hint in &known.hints.moved {
        let (range, to) = &hint.value;
        places.add(Moved { from: usize::from(*range.start())..usize::from(*range.end()) + 1, to: to.0 });
    }
    let entries: Vec<usize> = known
        .entries
        .iter()
        .copied()
        .chain(known.hints.entries.iter().map(|hint| hint.value))
        .map(Address::index)
        .collect();
    for _ in 0..MOVES {
        let mut flow = reached(bytes, known, places.clone(), &entries);
        let mut more = false;
        for stretch in moved::find(bytes, &flow.marks, &mut flow.trials, &entries) {
            more |= places.add(stretch);
        }
        if !more {
            return guess(flow);
        }
    }
    guess(reached(bytes, known, places, &entries))
}

/// What the entries lead to.
fn reached<'a>(bytes: &'a Bytes, known: &Known<'a>, places: Places, entries: &[usize]) -> Flow<'a> {
    let mut flow = Flow::new(bytes, known.hints, places);
    for port in known.ports {
        flow.ports[usize::from(*port)] = true;
    }
    hinted(&mut flow);
    for &entry in entries {
        if let Some(lies) = flow.places.lies_at(bytes, MEMORY, entry as u16) {
            flow.enter(lies, Uses::ENTRY);
        }
    }
    flow.follow();
    if entries.iter().all(|entry| !bytes.has(*entry)) {
        let runs = bytes.runs();
        // RESET goes to zero.
        if bytes.has(0) && plausible::begins(&flow, 0) {
            flow.enter(0, Uses::ENTRY);
            flow.follow();
        }
        for (number, run) in runs.iter().enumerate() {
            let weighed = plausible::weigh(&flow, run.start, DOUBT);
            let likely = weighed.is_some_and(|weighed| weighed.weight > BEGINS_RUN);
            // Something has to be the entry: of a single run it is the beginning, whatever is there.
            if likely || runs.len() == 1 && plausible::begins(&flow, run.start) && number == 0 {
                flow.enter(run.start, Uses::ENTRY);
                flow.follow();
            }
        }
    }
    while tables::follow(&mut flow) {}
    flow
}

/// Does what the hints say of stretches.
fn hinted(flow: &mut Flow) {
    let hints = flow.hints;
    let of_kind = |code: bool| hints.kinds.iter().filter(move |hint| (hint.value.2 == Kind::Code) == code);
    for hint in of_kind(false) {
        let (first, last, kind) = hint.value;
        let last = last.unwrap_or_else(|| end_of(flow, first)).index();
        let range = first.index()..last + 1;
        match kind {
            Kind::Words | Kind::Addresses => flow.marks.set_words(range, kind),
            _ => flow.marks.set(range, Mark::Plain(kind)),
        }
        if kind == Kind::Addresses {
            tables::told(flow, first.index(), last);
        }
    }
    for hint in of_kind(true) {
        let (first, last, _) = hint.value;
        flow.enter(first.index(), Uses::default());
        flow.follow();
        let mut at = first.index();
        while let Some(decoded) = last.filter(|last| at <= last.index()).and_then(|_| flow.readable(at)) {
            flow.enter(at, Uses::default());
            flow.follow();
            at += decoded.length();
        }
    }
}

/// The end of a stretch of which only the beginning is told: before the next hint of a stretch, or at the end of its run.
fn end_of(flow: &Flow, first: Address) -> Address {
    let next = flow.hints.kinds.iter().map(|hint| hint.value.0).filter(|at| *at > first).min();
    let named = flow.hints.names.keys().copied().find(|at| *at > first);
    let bound = next.into_iter().chain(named).min().map_or(0x1_0000, Address::index);
    let end = (first.index()..bound).take_while(|at| flow.bytes.has(*at)).last();
    Address(end.unwrap_or(first.index()) as u16)
}

/// What nothing leads to.
fn guess(mut flow: Flow) -> Found {
    let runs = flow.bytes.runs();
    variables(&mut flow, &runs);
    for run in &runs {
        text::mark(flow.bytes, &mut flow.marks, run.clone(), true);
    }
    for anywhere in [false, true] {
        let mut rounds = 0;
        while rounds < ROUNDS && guessed(&mut flow, &runs, anywhere) {
            rounds += 1;
        }
    }
    let all: Vec<usize> = runs.iter().cloned().flatten().collect();
    while tables::among_data(&mut flow, &all) {
        while tables::follow(&mut flow) {}
    }
    for run in &runs {
        text::mark(flow.bytes, &mut flow.marks, run.clone(), false);
        fills(&mut flow, run.clone());
    }
    Found { marks: flow.marks, places: flow.places }
}

/// What instructions load and store by its address is no code, unless it was reached.
fn variables(flow: &mut Flow, runs: &[std::ops::Range<usize>]) {
    for at in runs.iter().cloned().flatten() {
        let decoded = (flow.marks.at(at) == Mark::Start).then(|| flow.bytes.decode(at)).flatten();
        let Some(decoded) = decoded else { continue };
        let length = match decoded.instruction.mnemonic {
            Mnemonic::Lda | Mnemonic::Sta => 1,
            Mnemonic::Lhld | Mnemonic::Shld => 2,
            _ => continue,
        };
        let Some(lies) = flow.places.lies_at(flow.bytes, at, decoded.operand) else { continue };
        for at in (lies..lies + length).filter(|at| flow.bytes.has(*at)) {
            if flow.marks.at(at) == Mark::Unknown && !flow.marks.uses(at).any(Uses::EXECUTED) {
                flow.marks.set(at..at + 1, Mark::Plain(Kind::Data));
            }
        }
    }
}

/// Long runs of one byte are no secret: nothing is there.
fn fills(flow: &mut Flow, run: std::ops::Range<usize>) {
    let mut at = run.start;
    while at < run.end {
        let first = flow.bytes.get(at);
        let unknown = |at: &usize| flow.marks.at(*at) == Mark::Unknown && flow.bytes.get(*at) == first;
        let equal = (at..run.end).take_while(unknown).count();
        if equal >= FILL {
            flow.marks.set(at..at + equal, Mark::Plain(Kind::Data));
        }
        at += equal.max(1);
    }
}

/// Looks once through the bytes that are not known; whether there was code among them.
fn guessed(flow: &mut Flow, runs: &[std::ops::Range<usize>], anywhere: bool) -> bool {
    let mut found = false;
    for run in runs {
        let mut at = run.start;
        while at < run.end {
            if flow.marks.at(at) != Mark::Unknown {
                at += 1;
                continue;
            }
            let needed = needed(flow, at, run.start, anywhere);
            let weighed =
                needed.and_then(|(needed, doubt)| plausible::weigh(flow, at, doubt).filter(|it| it.weight >= needed));
            if let Some(weighed) = weighed {
                flow.enter(weighed.start, Uses::default());
                flow.follow();
                while tables::follow(flow) {}
                found = true;
                at = weighed.end.max(at + 1);
            } else {
                at += 1;
            }
        }
    }
    found
}

/// How much must speak for code at an address, and how much against its first instructions leaves them out; none if it is not
/// asked there.
fn needed(flow: &Flow, at: usize, start: usize, anywhere: bool) -> Option<(i32, i32)> {
    let follows = at > start && matches!(flow.marks.at(at - 1), Mark::Start | Mark::Inside);
    let uses = flow.marks.uses(at);
    if follows || at == start || uses.any(Uses::POINTED.and(Uses::LISTED)) {
        return Some((BEHIND_CODE, DOUBT));
    }
    // Where the program lets itself be interrupted, the places for that are code, however short.
    if flow.interrupts && at < 0x40 && at.is_multiple_of(8) {
        return Some((VECTOR, i32::MAX));
    }
    if at > start && matches!(flow.marks.at(at - 1), Mark::Plain(_)) {
        return Some((BEHIND_DATA, DOUBT));
    }
    anywhere.then_some((ANYWHERE, 0))
}
