//! What a rehearsal does with its drives: disks go in, and what each drive did is told.

use super::chain::Run;
use super::disk::Diskette;
use super::drives::disks_of;
use super::outcome::{DiskOutcome, Event};
use super::words::seconds;
use crate::isa::TStates;
use crate::notation::counted;
use crate::project::{ChainDisk, DiskDrive, Home, Id, Stage};
use crate::source::{Code, Diagnostic};

impl Run<'_> {
    /// Puts the disks of the start into their drives.
    ///
    /// # Errors
    /// A disk file that lacks what stands around the data.
    pub(super) fn insert_disks(&mut self) -> Result<(), Box<Diagnostic>> {
        for number in disks_of(self.plan, self.start) {
            let disk = &self.plan.disks[number];
            let given = self.request.disks.get(&disk.name);
            let file = given.or_else(|| self.made.disks.iter().find(|made| made.disk == number).map(|made| &made.file));
            let Some(diskette) = file.and_then(|file| Diskette::new(&disk.layout, file, disk.protected)) else {
                let headline = format!("the file of the disk `{}` has the data of its sectors alone", disk.name);
                let problem = Diagnostic::error(Code::DiskUnfit, headline);
                return Err(Box::new(
                    problem.with_help("a drive needs all of a sector: write it without `--data-alone`"),
                ));
            };
            self.turns_rightly(disk)?;
            let place = disk.drive.place();
            self.machine.board.insert(place, diskette, TStates(0));
            let door = self.request.door.map(|door| TStates((door * self.outcome.clock_hz as f64) as u64));
            if let Some(door) = door {
                self.machine.board.open(place, door);
            }
            let drive = &self.plan.machine.drives[disk.drive].name;
            let which = if given.is_some() { " that was given" } else { "" };
            let what = format!("put the disk `{}`{which} into the drive `{drive}` and close the door", disk.name);
            self.event(TStates(0), what, String::new());
            self.outcome.disks.push(DiskOutcome { name: disk.name.clone(), given: given.is_some() });
        }
        Ok(())
    }

    /// A drive that is off by more than its layout allows is refused: nobody can say what it finds then.
    fn turns_rightly(&self, disk: &ChainDisk) -> Result<(), Box<Diagnostic>> {
        let (right, allowed) = (disk.layout.turn.rpm, disk.layout.turn.tolerance);
        let Some(off) = self.request.rpm.map(|rpm| (rpm / right - 1.0) * 100.0) else { return Ok(()) };
        if off.abs() <= allowed + 1e-9 {
            return Ok(());
        }
        let drive = &self.plan.machine.drives[disk.drive].name;
        let way = if off < 0.0 { "slowly" } else { "fast" };
        let headline = format!(
            "the drive `{drive}` turns {:.1} % too {way}: `{}` allows {allowed} %",
            off.abs(),
            disk.layout.name
        );
        let problem = Diagnostic::error(Code::DriveMisused, headline);
        Err(Box::new(
            problem
                .with_note(format!("{right} turns a minute are right"))
                .with_help("have its speed set right; what its controller finds on such a disk is not simulated"),
        ))
    }

    /// What the drive did while a stage was read from it: turns, steps, sectors.
    pub(super) fn tell_drive(&mut self, loaded: &Stage, before: (TStates, DriveUse)) {
        let Home::Disk { disk, .. } = loaded.home else { return };
        let (began, before) = before;
        let now = self.machine.cpu.clock;
        let Some(used) = self.drive_use(loaded) else { return };
        let sectors = used.sectors - before.sectors;
        let turns = (now.0 - began.0) as f64 / self.turn_states(disk);
        let again = match used.again - before.again {
            0 => String::new(),
            again => format!(", {again} of them again"),
        };
        let steps = counted((used.steps - before.steps) as usize, "step");
        let drive = &self.plan.machine.drives[self.plan.disks[disk].drive].name;
        let what = format!(
            "the drive `{drive}`: {steps}, {turns:.1} turns, {} read{again}",
            counted(sectors as usize, "sector")
        );
        self.outcome.events.push(Event { at: now, by_hand: None, what, lights: String::new() });
    }

    fn turn_states(&self, disk: Id<ChainDisk>) -> f64 {
        let rpm = self.request.rpm.unwrap_or(self.plan.disks[disk].layout.turn.rpm);
        self.outcome.clock_hz as f64 * 60.0 / rpm
    }

    /// What the drive of a stage has done so far, if the stage is read from one.
    pub(super) fn drive_use(&self, loaded: &Stage) -> Option<DriveUse> {
        let Home::Disk { disk, .. } = loaded.home else { return None };
        let drive = self.machine.board.drive(self.plan.disks[disk].drive.place());
        Some(DriveUse { steps: drive.steps(), sectors: drive.log().count(), again: drive.log().again() })
    }

    /// The times of the drives that are used, as far as the machine file does not say them.
    pub(super) fn assumed_of_drives(&self) -> Vec<String> {
        let used = |number: Id<DiskDrive>| {
            disks_of(self.plan, self.start).iter().any(|&disk| self.plan.disks[disk].drive == number)
        };
        let drives =
            self.plan.machine.drives.numbered().filter(|(number, drive)| used(*number) && !drive.assumed.is_empty());
        drives.map(|(_, drive)| format!("for the drive `{}`: {}", drive.name, drive.assumed.join(", "))).collect()
    }

    /// What was asked of the drives that is otherwise than the chain says.
    pub(super) fn drive_departures(&self) -> Vec<String> {
        if self.outcome.disks.is_empty() {
            return Vec::new();
        }
        let rpm = self.request.rpm.map(|rpm| format!("the disk made {rpm} turns a minute"));
        let door = self.request.door.map(|door| format!("the door was opened {} after RUN", seconds(door)));
        let given = self.outcome.disks.iter().filter(|disk| disk.given);
        let given = given.map(|disk| format!("the disk `{}` was the one that was given", disk.name));
        rpm.into_iter().chain(door).chain(given).collect()
    }
}

/// What a drive has done.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct DriveUse {
    /// Steps that the head has followed.
    pub steps: u64,
    /// Sectors from which bytes were fetched.
    pub sectors: u64,
    /// Those of them that had been read before.
    pub again: u64,
}
