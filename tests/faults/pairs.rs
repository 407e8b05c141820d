//! Two faults at once: what each does is in it, and the order in which they are told does not matter.

use coldwright::faults::{Compared, Fault, Kind, Slip, TapeWrong, Theatre, Wrong};

use crate::stage::Chain;

/// The first faults of a kind that are so.
fn of(theatre: &Theatre, is: impl Fn(&Fault) -> bool) -> Vec<Fault> {
    theatre.catalogue().into_iter().filter(|fault| is(fault)).collect()
}

fn theatre(name: &str) -> Theatre {
    let chain = Chain::new(name);
    chain.theatre(chain.starts()[0])
}

/// A lever turned round in a data row leaves that bit wrong at that address, whatever is wrong elsewhere.
#[test]
fn two_levers_wrong_leave_both_bytes_wrong() {
    let theatre = theatre("probe");
    let levers = of(&theatre, |fault| {
        fault.kind == Kind::DataLever && matches!(fault.wrong, Wrong::Row { slip: Slip::Lever(2), .. })
    });
    let mut pairs = 0;
    for (at, one) in levers.iter().enumerate() {
        let Some(other) = levers.get(at + 2) else { break };
        let [alone, another] = [one, other].map(|fault| theatre.play(fault));
        let (alone, another) = (alone.checks.first, another.checks.first);
        let together = theatre.play_together(&[one.clone(), other.clone()]).unwrap();
        let both: Vec<_> = alone.iter().chain(&another).copied().collect();
        assert_eq!(together.checks.first, both, "{one:?} {other:?}");
        pairs += 1;
    }
    assert!(pairs > 3, "{pairs}");
}

#[test]
fn the_order_does_not_matter() {
    for name in ["belfry", "probe"] {
        let theatre = theatre(name);
        let catalogue = theatre.catalogue();
        let chosen: Vec<_> = catalogue.iter().step_by(catalogue.len() / 23).collect();
        for pair in chosen.windows(2).filter(|pair| pair[0].goes_with(pair[1])) {
            let [one, other] = [pair[0], pair[1]].map(Fault::clone);
            let there = theatre.play_together(&[one.clone(), other.clone()]);
            let back = theatre.play_together(&[other, one]);
            assert_eq!(there, back, "{name}: {pair:?}");
        }
    }
}

/// EXAMINE pressed twice is EXAMINE.
#[test]
fn what_does_nothing_changes_nothing_of_another_fault() {
    let theatre = theatre("belfry");
    let twice = of(&theatre, |fault| fault.kind == Kind::Twice).remove(0);
    assert_eq!(theatre.play(&twice).ending, theatre.good().ending);
    let frames = of(&theatre, |fault| matches!(fault.wrong, Wrong::Tape { wrong: TapeWrong::Bit { bit: 3, .. }, .. }));
    for frame in frames.into_iter().step_by(80) {
        let alone = theatre.play(&frame);
        let together = theatre.play_together(&[twice.clone(), frame.clone()]).unwrap();
        assert_eq!(alone.ending, together.ending, "{frame:?}");
    }
}

#[test]
fn what_cannot_be_there_at_once_is_not_played() {
    let theatre = theatre("belfry");
    let clocks = of(&theatre, |fault| fault.kind == Kind::Clock);
    assert_eq!(theatre.play_together(&clocks[..2]), None);
    let late = of(&theatre, |fault| fault.kind == Kind::Late);
    assert_eq!(theatre.play_together(&late[..2]), None);
}

#[test]
fn a_comparison_shows_the_first_byte_that_was_deposited_otherwise() {
    let theatre = theatre("probe");
    assert_eq!(theatre.good().ending.listings, [Some(Compared::Agrees)]);
    let levers = of(&theatre, |fault| fault.kind == Kind::DataLever);
    let mut shown = 0;
    for fault in &levers {
        let outcome = theatre.play(fault);
        let Some(coldwright::faults::Check::Byte { address, found, .. }) = outcome.checks.first.first().copied() else {
            continue;
        };
        if outcome.ending.listings[0] == Some(Compared::Differs { at: address, found }) {
            shown += 1;
        }
    }
    // What has run wild may have stored something before it.
    assert!(shown * 10 > levers.len() * 9, "{shown} of {}", levers.len());
}
