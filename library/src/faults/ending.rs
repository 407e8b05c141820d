//! The end of a play, with all that is seen of it.

use super::look::{Look, look, ports, tapes, text};
use super::outcome::{Cells, End, Ending};
use super::player::Going;
use super::scene::{Props, Scene};
use super::wires::Wires;
use crate::rehearsal::Stop;

/// The end of the good start.
pub fn good_ending(scene: &Scene, props: &Props, last: &Going, stop: Option<Stop>) -> Ending {
    let mut going = last.clone();
    let seen = look(&mut going.machine, &Wires::default(), stop.unwrap_or(Stop::Deadline));
    let cells = Cells::default();
    ending(scene, props, &going, seen, (End::Starts, cells))
}

/// All that is seen of a play that has come to an end.
pub fn ending(scene: &Scene, props: &Props, going: &Going, seen: Look, (end, cells): (End, Cells)) -> Ending {
    Ending {
        end,
        place: going.place,
        rest: seen.rest,
        lamps: seen.lamps,
        interrupts: going.machine.cpu.interrupts_enabled(),
        ports: ports(going),
        text: text(going, scene),
        tapes: tapes(going, props),
        cells,
    }
}
