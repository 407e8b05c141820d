//! What failures look like, as the booklet has it: each is what its faults come to, and leads back to them.

use std::collections::BTreeSet;

use coldwright::diagnosis::seen::read;
use coldwright::diagnosis::{Archive, Suspect, failures};
use coldwright::faults::{Class, Words};
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
