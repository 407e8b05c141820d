//! The drives of a rehearsal: how each stands at power-on, and which disks a start reads.

use super::disk::{ControllerSetup, DiskSetup, DriveSetup, MOST_OFF};
use super::memory::Noise;
use super::request::Request;
use crate::disk::{Layout, bundled};
use crate::project::{ChainDisk, DiskDrive, DriveController, Home, Id, Machine, Plan, Start};

/// The layout by which a drive turns that no disk of the chain lies in.
const IDLE: &str = "holes-32";

/// The same for a controller that looks for marks.
const IDLE_BY_MARKS: &str = "marks-26";

/// The drives of a machine. How a drive stands at power-on is drawn from the seed.
pub fn setups(
    machine: &Machine,
    layout_of: impl Fn(Id<DiskDrive>) -> Option<Layout>,
    request: &Request,
) -> Vec<DiskSetup> {
    let mut noise = Noise::new(request.seed.wrapping_add(1) << 16);
    let setup = |(number, drive): (Id<DiskDrive>, &DiskDrive)| {
        let idle = match drive.controller {
            DriveController::Wired(_) => IDLE,
            DriveController::Chip(_) => IDLE_BY_MARKS,
        };
        let layout = layout_of(number).or_else(|| bundled(idle))?;
        let start = u32::from(noise.word()) << 16 | u32::from(noise.word());
        let track = usize::from(noise.word()) % layout.tracks;
        let off = request.rpm.map_or(0, |rpm| ((rpm / layout.turn.rpm - 1.0) * 100_000.0).round() as i64);
        let controller = match &drive.controller {
            DriveController::Wired(wires) => ControllerSetup::Wired(wires.clone()),
            DriveController::Chip(wires) => ControllerSetup::Chip(*wires),
        };
        let (times, select_loads) = (drive.times, drive.select_loads);
        let drive = DriveSetup { layout, times, select_loads, off: off.clamp(-MOST_OFF, MOST_OFF), start, track };
        Some(DiskSetup { controller, drive })
    };
    machine.drives.numbered().filter_map(setup).collect()
}

/// The disks of which a start reads stages, each once, in the order in which it does.
pub fn disks_of(plan: &Plan, start: &Start) -> Vec<Id<ChainDisk>> {
    let mut disks = Vec::new();
    for &stage in &start.stages {
        if let Home::Disk { disk, .. } = plan.stages[stage].home
            && !disks.contains(&disk)
        {
            disks.push(disk);
        }
    }
    disks
}
