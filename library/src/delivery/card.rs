//! The run card of a start, with what a rehearsal saw of it.

use crate::cautions::When;
use crate::panel::card::{Card, Deposit, Doubt, Holds, Home as CardHome, Request, Seen, SocketUse, Tape, TapeRead};
use crate::project::{Artefacts, Home, Id, Plan, Reel, Seating, Stage, Start};
use crate::rehearsal::{LeftAlone, Outcome, left_alone};
use crate::source::{Severity, SourceMap};

/// The run card of a start; `None` if its first stage is empty. What a rehearsal has found of it, if there was one, goes
/// before what is seen here.
pub fn card(
    plan: &Plan,
    made: &Artefacts,
    number: Id<Start>,
    sources: &SourceMap,
    rehearsed: Option<&Outcome>,
) -> Option<Card> {
    let (machine, start) = (&plan.machine, &plan.starts[number]);
    let first = start.stages[0];
    let stage = &plan.stages[first];
    let home = if matches!(stage.home, Home::Sockets(_)) { CardHome::Socket } else { CardHome::Panel };
    let reels = made.reels(number);
    let mut alone = left_alone(plan, made, number, sources);
    let doubts = doubts(std::mem::take(&mut alone.doubts), rehearsed);
    let mut seen = stops(&reels, alone).into_iter();
    let request = Request {
        entry: Some(stage.entry),
        sense: start.sense,
        home,
        sockets: sockets(plan, start),
        doubts,
        deposits: deposits(plan, start),
        seen: seen.next().flatten(),
        disks: disks(plan, start),
        tapes: reels.iter().map(|reel| tape(plan, reel, seen.next().flatten())).collect(),
        driven: machine.driven(),
        done: done(plan, start),
    };
    Card::new(made.program(first), &machine.panel, &machine.ports, &request)
}

/// Why a start is not to be trusted.
fn doubts(seen: Vec<Doubt>, rehearsed: Option<&Outcome>) -> Vec<Doubt> {
    let Some(outcome) = rehearsed else { return seen };
    let fails = outcome.problems.iter().filter(|problem| problem.severity == Severity::Error);
    let fails = fails.map(|problem| Doubt::Fails(problem.headline.clone()));
    fails.collect()
}

/// The sockets with what is in them.
fn sockets(plan: &Plan, start: &Start) -> Vec<SocketUse> {
    let names = |stages: Vec<Id<Stage>>| stages.into_iter().map(|stage| plan.stages[stage].name.clone()).collect();
    let sockets = plan.seating(start).into_iter().map(|(socket, seating)| SocketUse {
        name: plan.machine.sockets[socket].name.clone(),
        holds: match seating {
            Seating::Holds { stages, runs } => Holds::Programs { names: names(stages), runs },
            Seating::SaidEmpty => Holds::Nothing,
            Seating::TakenAsEmpty => Holds::Unknown,
        },
    });
    sockets.collect()
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
    Tape { label: tape.name.clone(), lettered: !tape.lettering.is_empty(), after: tape.after, read }
}

/// The disks of a start, each with its drive.
fn disks(plan: &Plan, start: &Start) -> Vec<(String, String)> {
    let mut disks: Vec<(String, String)> = Vec::new();
    for &stage in &start.stages {
        let Home::Disk { disk, .. } = plan.stages[stage].home else { continue };
        let disk = &plan.disks[disk];
        let named = (disk.name.clone(), plan.machine.drives[disk.drive].name.clone());
        if !disks.contains(&named) {
            disks.push(named);
        }
    }
    disks
}

/// What is done for a start besides switching on: parts are seated or drawn, tapes are played.
fn done(plan: &Plan, start: &Start) -> Vec<When> {
    let mut done = Vec::new();
    let used = start.stages.iter().map(|&stage| &plan.stages[stage].home);
    for home in used {
        match home {
            Home::Panel(_) | Home::Sockets(_) | Home::Disk { .. } => {}
            Home::Tape { tape, .. } => {
                done.push(if plan.tapes[*tape].sound.is_some() { When::Sound } else { When::Line });
            }
        }
    }
    for (socket, seating) in plan.seating(start) {
        done.push(When::Seat);
        let known = plan.machine.sockets[socket].part.known.filter(|_| matches!(seating, Seating::Holds { .. }));
        done.extend(known.filter(|known| known.has_three_supplies()).map(|_| When::ThreeSupplies));
    }
    done
}
