//! What failures look like, as the booklet has it: each is what its faults come to, and leads back to them.

use std::collections::BTreeSet;

use coldwright::diagnosis::seen::read;
use coldwright::diagnosis::{Archive, Suspect, failures};
use coldwright::faults::{Class, Played, Plays, Rest, Words, Wrong};
use coldwright::source::{Diagnostics, Origin, SourceMap};

use crate::stage::Chain;

/// Every fault that does harm is in one failure; what stands on the left of the page, typed as it is, leads back to its causes.
#[test]
fn what_is_seen_leads_back_to_the_causes_beside_it() {
    for name in ["probe", "rooster"] {
        let chain = Chain::new(name);
        let start = chain.starts()[0];
        let plays = chain.theatre(start).plays(&|| true).unwrap();
        let words = Words::new(&chain.plan, &chain.made, start).unwrap();
        let archive = Archive::new(&plays, &words);
        let failures = failures(&archive, &words);
        let harmful = plays.faults.iter().filter(|played| played.outcome.class() != Class::Starts).count();
        assert_eq!(failures.iter().map(|failure| failure.faults).sum::<usize>(), harmful, "{name}");
        let seen: BTreeSet<_> = failures.iter().map(|failure| &failure.seen).collect();
        assert_eq!(seen.len(), failures.len(), "{name}: one look, told twice");

        let mut typed = 0;
        for failure in failures.iter().filter(|failure| failure.seen.contains("address ")) {
            let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
            let text = sources.add("seen", failure.seen.as_str(), Origin::Given);
            let seen = read(&sources, text, chain.plan.machine.panel.notation, &mut problems);
            if problems.has_errors() {
                assert!(failure.seen.contains("as after a good start"), "{name}: {}", failure.seen);
                continue;
            }
            let suspects = archive.suspects(&seen);
            let is_named = |suspect: &Suspect, cause: &str| words.fault(&suspect.faults[0]) == cause;
            for cause in &failure.causes {
                let there = suspects.iter().any(|suspect| is_named(suspect, &cause.fault) && suspect.explains);
                assert!(there, "{name}: {}: {}", failure.seen, cause.fault);
            }
            typed += 1;
        }
        assert!(typed >= 3, "{name}: {typed}");
    }
}

/// Where it has halted may be read off the lights, or be what `faults` and the listing say of the HLT.
#[test]
fn halted_at_means_the_lights_or_the_halt() {
    let chain = Chain::new("belfry");
    let start = chain.starts()[0];
    let theatre = chain.theatre(start);
    let notation = chain.plan.machine.panel.notation;
    let mut told = 0;
    for fault in theatre.catalogue().into_iter().step_by(97) {
        let outcome = theatre.play(&fault);
        let Rest::Halts { at } = outcome.ending.rest else { continue };
        let played = Played { fault, outcome };
        let plays = Plays { good: theatre.good().clone(), memory: Vec::new(), faults: vec![played.clone()] };
        let words = Words::new(&chain.plan, &chain.made, start).unwrap();
        let archive = Archive::new(&plays, &words);
        for seen in [at, played.outcome.ending.halted_lamps().unwrap()] {
            let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
            let text = sources.add("seen", format!("halted at {}", notation.address(seen)), Origin::Given);
            let seen = read(&sources, text, notation, &mut problems);
            // A line that is stuck shows another address than that of the HLT.
            let is_stuck = matches!(played.fault.wrong, Wrong::Address(_));
            assert!(is_stuck || archive.suspects(&seen).iter().any(|suspect| suspect.explains), "{:?}", played.fault);
        }
        told += 1;
    }
    assert!(told > 20, "{told}");
}
