//! The run card of a start, with what a rehearsal saw of it.

use crate::cautions::When;
use crate::panel::card::{Card, Deposit, Home as CardHome, Request, Seen, Tape, TapeRead};
use crate::project::{Artefacts, Home, Id, Plan, Reel, Start};
use crate::rehearsal::{LeftAlone, left_alone};
use crate::source::SourceMap;

/// The run card of a start; `None` if its first stage is empty.
pub fn card(plan: &Plan, made: &Artefacts, number: Id<Start>, sources: &SourceMap) -> Option<Card> {
    let (machine, start) = (&plan.machine, &plan.starts[number]);
    let first = start.stages[0];
    let stage = &plan.stages[first];
    let home = if matches!(stage.home, Home::Sockets(_)) { CardHome::Socket } else { CardHome::Panel };
    let reels = made.reels(number);
    let mut seen = stops(&reels, left_alone(plan, made, number, sources)).into_iter();
    let request = Request {
        entry: Some(stage.entry),
        sense: start.sense,
        home,
        empty: start.empty.iter().map(|&socket| machine.sockets[socket].name.clone()).collect(),
        deposits: deposits(plan, start),
        seen: seen.next().flatten(),
        tapes: reels.iter().map(|reel| tape(plan, reel, seen.next().flatten())).collect(),
        driven: machine.driven(),
        done: done(plan, start),
    };
    Card::new(made.program(first), &machine.panel, &machine.ports, &request)
}

/// What is deposited besides the first stage.
fn deposits(plan: &Plan, start: &Start) -> Vec<Deposit> {
    let others = start.stages[1..].iter().map(|&stage| &plan.stages[stage]);
    let deposited = others.filter(|stage| matches!(stage.home, Home::Panel(_)));
    deposited.map(|stage| Deposit { name: stage.name.clone(), bytes: stage.image.len() }).collect()
}

/// What is seen before each tape, and at the end.
fn stops(reels: &[&Reel], mut alone: LeftAlone) -> Vec<Option<Seen>> {
    let mut before = |reel: &&Reel| {
        let at = alone.before.iter().position(|(tape, _)| *tape == reel.tape)?;
        Some(alone.before.swap_remove(at).1)
    };
    let before: Vec<_> = reels.iter().map(&mut before).collect();
    before.into_iter().chain([alone.last]).collect()
}

/// A tape of a start, with the program that starts when it has been read, and what is seen then.
fn tape(plan: &Plan, reel: &Reel, seen: Option<Seen>) -> Tape {
    let tape = &plan.tapes[reel.tape];
    let read = reel.programs.last().zip(reel.seconds_to_read(plan)).map(|(last, seconds)| {
        let stage = &plan.stages[last.stage];
        TapeRead { seconds, name: stage.name.clone(), entry: stage.entry, seen }
    });
    Tape { label: tape.name.clone(), lettered: !tape.lettering.is_empty(), read }
}

/// What is done for a start besides switching on: parts are seated or drawn, tapes are played.
fn done(plan: &Plan, start: &Start) -> Vec<When> {
    let mut done = Vec::new();
    let used = start.stages.iter().map(|&stage| &plan.stages[stage].home);
    for home in used {
        match home {
            Home::Panel(_) => {}
            Home::Sockets(sockets) => {
                done.push(When::Seat);
                let parts = sockets.iter().filter_map(|&number| plan.machine.sockets[number].part.known);
                done.extend(parts.filter(|known| known.has_three_supplies()).map(|_| When::ThreeSupplies));
            }
            Home::Tape { tape, .. } => {
                done.push(if plan.tapes[*tape].sound.is_some() { When::Sound } else { When::Line });
            }
        }
    }
    done.extend((!start.empty.is_empty()).then_some(When::Seat));
    done
}
