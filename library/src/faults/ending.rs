//! The end of a play, with all that is seen of it.

use super::look::{Look, look, ports, tapes, text};
use super::outcome::{Cells, Compared, End, Ending};
use super::player::Going;
use super::scene::{Props, Runs, Scene};
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
        listings: listings(scene, &props.wires, going),
    }
}

/// What a comparison with the listing of each stage shows.
pub fn listings(scene: &Scene, wires: &Wires, going: &Going) -> Vec<Option<Compared>> {
    let compared = |stage: &Runs| {
        let bytes = stage.image.extents().flat_map(|extent| {
            let at = move |offset: usize| extent.base.wrapping_add(offset as u16);
            extent.bytes.iter().enumerate().map(move |(offset, byte)| (at(offset), *byte))
        });
        let mut differ = bytes.map(|(at, byte)| (at, going.find(wires, at), byte));
        let first = differ.find(|(_, found, byte)| found != byte);
        Some(first.map_or(Compared::Agrees, |(at, found, _)| Compared::Differs { at, found }))
    };
    scene.stages.iter().map(compared).collect()
}
