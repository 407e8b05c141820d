//! How far each thing may go: every figure is that of a play, and agrees with what is found in another way.

use coldwright::limits::{AS_DESCRIBED, Bench, Limit, Side, Subject};
use coldwright::project::{Id, Start};
use coldwright::rehearsal::{Outcome, Request, play, rehearse};

use crate::stage::Chain;

/// The finest step of a search, in ten-thousandths of how a thing is described.
fn finest(at: i64) -> i64 {
    10.max(at / 1000)
}

fn bench(chain: &Chain, start: Id<Start>) -> Bench<'_> {
    Bench::new(&chain.plan, &chain.made, start, &chain.sources).unwrap()
}

fn limits(bench: &Bench) -> Vec<Limit> {
    bench.subjects().into_iter().map(|subject| bench.limit(subject, &mut || true).unwrap()).collect()
}

/// A start, asked for as a keeper would.
fn played(chain: &Chain, start: Id<Start>, request: &Request) -> Outcome {
    play(&chain.plan, &chain.made, start, request, &chain.sources, false)
}

fn both_sides(bench: &Bench, limit: &Limit, side: &Side) {
    let what = format!("{:?} at {}", limit.subject, side.holds);
    assert!(bench.play(&limit.subject, side.holds, true).agrees(), "{what}");
    let Some(fails) = &side.fails else { return };
    let outcome = bench.play(&limit.subject, fails.at, false);
    assert!(!outcome.agrees(), "{what}: {}", fails.at);
    assert!(outcome.problems.iter().any(|problem| problem.headline == fails.how), "{what}: {}", fails.how);
    assert!((fails.at - side.holds).abs() <= finest(side.holds), "{what}: {}", fails.at);
    if let Some(again) = side.again {
        assert!(bench.play(&limit.subject, again, false).agrees(), "{what}: {again}");
    }
    for part in 1..8 {
        let at = AS_DESCRIBED + (side.holds - AS_DESCRIBED) * part / 8;
        assert!(bench.play(&limit.subject, at, false).agrees(), "{what}: {at}");
    }
}

#[test]
fn both_sides_of_every_figure_are_played() {
    for name in ["belfry", "headland", "lineboot", "probe", "rooster"] {
        let chain = Chain::new(name);
        for start in chain.starts() {
            let bench = bench(&chain, start);
            let limits = limits(&bench);
            assert!(limits.iter().any(|limit| limit.subject == Subject::Clock), "{name}");
            for limit in limits {
                both_sides(&bench, &limit, &limit.less);
                both_sides(&bench, &limit, &limit.more);
            }
        }
    }
}

/// A receiver looks at the middles of bits: of eight data bits the last one at 8.5 bits from the start edge, the stop bit at 9.5.
/// It hears the last data bit as long as that lies within the sender's. Whether it hears the stop bit depends on the
/// bytes, and matters to a loader that looks.
#[test]
fn a_sender_may_be_off_as_far_as_the_middles_of_bits_allow() {
    for name in ["belfry", "rooster"] {
        let chain = Chain::new(name);
        for start in chain.starts() {
            let bench = bench(&chain, start);
            for subject in bench.subjects() {
                let Subject::Sender { .. } = &subject else { continue };
                let limit = bench.limit(subject, &mut || true).unwrap();
                let at = |side: &Side| side.fails.as_ref().unwrap().at as f64 / AS_DESCRIBED as f64;
                let slow = 8.0 / 8.5;
                let fast = 9.0 / 8.5;
                assert!((at(&limit.less) - slow).abs() < 0.002, "{name}: {}", at(&limit.less));
                assert!((at(&limit.more) - fast).abs() < 0.002, "{name}: {}", at(&limit.more));
            }
        }
    }
}

/// To a line that is faster from the first moment on, the same loader fails at the same speed.
#[test]
fn a_line_is_as_fast_as_one_that_was_so_from_the_beginning() {
    let chain = Chain::new("lineboot");
    let start = chain.starts()[0];
    let limits = limits(&bench(&chain, start));
    let line = limits.iter().find(|limit| matches!(limit.subject, Subject::Line { .. })).unwrap();
    let per_cent = |parts: i64| ((parts - AS_DESCRIBED) / 100) as u32;
    let faster = |faster| played(&chain, start, &Request { faster, ..Request::default() }).agrees();
    let fails = line.more.fails.as_ref().unwrap();
    assert!(faster(per_cent(line.more.holds) - 1), "{}", line.more.holds);
    assert!(!faster(per_cent(fails.at) + 1), "{}", fails.at);
}

/// With one line, and nothing else that has a time of its own, a machine with a slower clock is one with a faster line.
#[test]
fn a_slower_clock_is_a_faster_line() {
    let chain = Chain::new("lineboot");
    let start = chain.starts()[0];
    for clock_hz in [60_000, 90_000, 110_000, 150_000, 400_000] {
        let slower = played(&chain, start, &Request { clock_hz: Some(clock_hz), patience: 40, ..Request::default() });
        let faster = (2_000_000 * 100 / clock_hz - 100) as u32;
        let faster = played(&chain, start, &Request { faster, ..Request::default() });
        assert_eq!(slower.agrees(), faster.agrees(), "{clock_hz}");
    }
}

/// What is at another pace for a while is as it was behind that: a pace as described changes nothing.
#[test]
fn a_pace_as_described_changes_nothing() {
    for name in ["belfry", "lineboot", "rooster"] {
        let chain = Chain::new(name);
        for start in chain.starts() {
            let bench = bench(&chain, start);
            let as_described =
                rehearse(&chain.plan, &chain.made, start, &Request::default(), &chain.sources, None, &mut |_| ());
            for subject in bench.subjects() {
                let other = bench.play(&subject, AS_DESCRIBED, false);
                assert_eq!(other.instructions, as_described.instructions, "{name}: {subject:?}");
                assert_eq!(other.ended, as_described.ended, "{name}: {subject:?}");
                assert_eq!(other.stages, as_described.stages, "{name}: {subject:?}");
            }
        }
    }
}

/// How early a tape may be started is how long its leader lasts that the loader passes over, less what RUN takes.
#[test]
fn a_tape_may_run_before_its_loader_for_as_long_as_its_leader_lasts() {
    let chain = Chain::new("belfry");
    let start = chain.starts()[0];
    let bench = bench(&chain, start);
    let reel = chain.made.reels(start)[0];
    let tape = &chain.plan.tapes[reel.tape];
    let character = chain.plan.machine.serial[tape.serial].line.unwrap().character_time().as_secs_f64();
    let leader = reel.programs[0].blocks[0].start as f64 * character;
    let limit = bench.limit(Subject::Tape { tape: tape.name.clone() }, &mut || true).unwrap();
    let fails = tape.after + Subject::seconds_later(limit.less.fails.unwrap().at);
    assert!((fails + leader).abs() < 0.2, "{fails} s after RUN, a leader of {leader} s");
    assert!(limit.more.fails.is_none(), "{:?}", limit.more);
}
