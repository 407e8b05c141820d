//! The end of a play, with all that is seen of it.

use super::look::{Look, look, ports, tapes, text};
use super::outcome::{Cells, End, Ending, SheetShows};
use super::player::Going;
use super::scene::{Props, Scene};
use super::wires::Wires;
use crate::panel::sheet::Action;
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
        sheet: sheet(scene, &props.wires, going),
    }
}

/// What a comparison with all that was to be deposited shows.
pub fn sheet(scene: &Scene, wires: &Wires, going: &Going) -> Option<SheetShows> {
    let mut bytes = scene.tasks.iter().filter_map(|task| match task.row.action {
        Action::Byte { address, byte, .. } => Some((address, byte)),
        _ => None,
    });
    bytes.clone().next()?;
    let differs = bytes.find_map(|(at, byte)| {
        let found = going.find(wires, at);
        (found != byte).then_some(SheetShows::Differs { at, found })
    });
    Some(differs.unwrap_or(SheetShows::Agrees))
}
