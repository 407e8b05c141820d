//! A start made ready and left to others to play: what its machine is built from, its tapes, and the disks in its drives.

use super::cast;
use super::disk::Diskette;
use super::drives::disks_of;
use super::request::Request;
use super::setup::Setup;
use super::tapes::{Roll, rolls};
use crate::project::{Artefacts, Id, Machine, Plan, Serial, Start};
use crate::source::Diagnostics;

/// A start made ready.
#[derive(Clone, Debug)]
pub struct Stand {
    /// What the machine is built from, with what lies in its sockets.
    pub setup: Setup,
    /// Its tapes, in the order in which they are read.
    pub rolls: Vec<Roll>,
    /// The disks, each with the number of its drive.
    pub disks: Vec<(usize, Diskette)>,
}

impl Stand {
    /// The very things that [`rehearse`](super::rehearse) plays, tapes at the pace of their lines.
    ///
    /// # Errors
    /// As for a rehearsal: what cannot be put into a socket or on a tape, a machine that is not described well enough.
    pub fn new(plan: &Plan, made: &Artefacts, start: Id<Start>, seed: u64) -> Result<Stand, Diagnostics> {
        let request = Request { seed, ..Request::default() };
        let setup = cast::setup(plan, made, &plan.starts[start], &request)?;
        let rolls = rolls(plan, made, start, &request.tapes, false)?;
        let disks = disks_of(plan, &plan.starts[start]).into_iter().filter_map(|number| {
            let disk = &plan.disks[number];
            let file = made.disks.iter().find(|made| made.disk == number)?;
            Some((disk.drive.place(), Diskette::new(&disk.layout, &file.file, disk.protected)?))
        });
        let disks = disks.collect();
        Ok(Stand { setup, rolls, disks })
    }
}

/// The number that a serial interface has among those of a [`Setup`]: it holds those with a line.
pub fn station_of(machine: &Machine, serial: Id<Serial>) -> usize {
    cast::station(machine, serial)
}
