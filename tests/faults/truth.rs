//! Rows of the table against plays by themselves, and against rehearsals.

use std::collections::BTreeSet;

use coldwright::faults::{Class, Fault, Kind, TapeWrong, Theatre, Wrong};
use coldwright::rehearsal::{Given, Request, rehearse};
use rayon::prelude::*;

use crate::stage::Chain;

/// So many faults spread over the catalogue, and the first of every kind.
fn sample(theatre: &Theatre, most: usize) -> Vec<Fault> {
    let catalogue = theatre.catalogue();
    let stride = catalogue.len() / most + 1;
    let mut kinds = BTreeSet::new();
    let chosen = catalogue.into_iter().enumerate().filter(|(at, fault)| kinds.insert(fault.kind) || at % stride == 0);
    chosen.map(|(_, fault)| fault).collect()
}

#[test]
fn every_row_is_true_when_its_fault_is_played_by_itself() {
    for (name, most) in [("belfry", 120), ("rooster", 70), ("lineboot", 120), ("probe", 200), ("headland", 20)] {
        let chain = Chain::new(name);
        for start in chain.starts() {
            let theatre = chain.theatre(start);
            sample(&theatre, most).par_iter().for_each(|fault| {
                let (shared, alone) = (theatre.play(fault), theatre.play_alone(fault));
                assert_eq!(shared.class(), alone.class(), "{name}: {fault:?}\n{shared:?}\n{alone:?}");
                assert_eq!(shared.checks, alone.checks, "{name}: {fault:?}");
                assert_eq!(shared.ending.cells, alone.ending.cells, "{name}: {fault:?}");
                assert_eq!(
                    (shared.ending.rest, &shared.ending.lamps, &shared.ending.ports),
                    (alone.ending.rest, &alone.ending.lamps, &alone.ending.ports),
                    "{name}: {fault:?}"
                );
            });
        }
    }
}

/// A rehearsal knows nothing of this room: it plays a spoilt tape as one that was given.
#[test]
fn a_spoilt_tape_starts_in_spite_of_it_only_where_a_rehearsal_agrees() {
    let chain = Chain::new("belfry");
    let start = chain.starts()[0];
    let theatre = chain.theatre(start);
    let reel = chain.made.reels(start)[0];
    let name = chain.plan.tapes[reel.tape].name.clone();
    let spoilt = theatre.catalogue().into_iter().filter_map(|fault| {
        let Wrong::Tape { wrong, .. } = fault.wrong else { return None };
        let mut frames = reel.bytes.clone();
        match wrong {
            TapeWrong::Bit { frame, bit } => frames[frame] ^= 1 << bit,
            TapeWrong::Lost(frame) => drop(frames.remove(frame)),
            TapeWrong::Twice(frame) => frames.insert(frame, frames[frame]),
            TapeWrong::Without { from, to } => drop(frames.drain(from..to)),
            _ => return None,
        }
        Some((fault, frames))
    });
    let spoilt: Vec<_> = spoilt.step_by(97).collect();
    let mut good = 0;
    for (fault, frames) in &spoilt {
        let tapes = [(name.clone(), Given::Frames(frames.clone()))].into();
        let request = Request { tapes, most_instructions: Some(5_000_000), ..Request::default() };
        let outcome = rehearse(&chain.plan, &chain.made, start, &request, &chain.sources, None, &mut |_| ());
        let starts = theatre.play(fault).class() == Class::Starts;
        assert_eq!(starts, outcome.agrees(), "{fault:?}: {:?}", outcome.problems.iter().next());
        good += usize::from(starts);
    }
    assert!(good > 0 && good < spoilt.len(), "{good} of {}", spoilt.len());
}

/// The framing `blocks` numbers its blocks and checks all of each.
#[test]
fn a_framing_with_a_check_over_everything_has_no_silent_fault() {
    let chain = Chain::new("rooster");
    let start = chain.starts()[0];
    let theatre = chain.theatre(start);
    let of_tape =
        |fault: &Fault| matches!(fault.kind, Kind::FrameBit | Kind::FrameLost | Kind::FrameTwice | Kind::BlockMissing);
    let faults: Vec<_> = theatre.catalogue().into_iter().filter(of_tape).collect();
    let played = theatre.play_all(faults, &|| true).unwrap();
    assert!(played.len() > 2000, "{}", played.len());
    let silent: Vec<_> = played.iter().filter(|played| played.outcome.class() == Class::Silent).collect();
    assert!(silent.is_empty(), "{silent:?}");
}

#[test]
fn the_table_is_the_same_whatever_the_number_of_threads() {
    let chain = Chain::new("probe");
    let theatre = chain.theatre(chain.starts()[0]);
    let with = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| theatre.play_all(theatre.catalogue(), &|| true)).unwrap()
    };
    assert_eq!(with(1), with(3));
}

#[test]
fn a_stop_ends_all_plays() {
    let chain = Chain::new("probe");
    let theatre = chain.theatre(chain.starts()[0]);
    assert!(theatre.play_all(theatre.catalogue(), &|| false).is_none());
}
