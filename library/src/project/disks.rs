//! The disks of a chain: how each is made up, in which drive it lies, which of its areas a stage has.

use super::chain_file::{ChainFile, DiskEntry, HomeEntry};
use super::disk_drive::{DiskDrive, DriveController};
use super::entries::Placed;
use super::listed::Id;
use super::machine_file::MachineFile;
use super::plan::{ChainDisk, Home};
use super::planner::{Planner, suggest};
use crate::disk::{self, Layout, Sectoring};
use crate::notation::Notation;
use crate::source::{Code, Diagnostic};

impl Planner<'_> {
    /// Every `[[disk]]`, in the order of the file; what is wrong is missing.
    pub(super) fn disks(&mut self, file: &ChainFile, machine: Option<&MachineFile>) -> Vec<Option<ChainDisk>> {
        file.disks.iter().map(|entry| self.disk(entry, machine)).collect()
    }

    fn disk(&mut self, entry: &DiskEntry, machine: Option<&MachineFile>) -> Option<ChainDisk> {
        let notation = machine.map_or_else(Notation::default, |file| file.machine.panel.notation);
        let layout = entry.layout.as_ref().and_then(|name| self.layout(name, notation));
        let drive = machine.and_then(|machine| self.drive_of(entry, machine));
        let layout = layout?;
        let drive = drive?;
        let wired = machine.and_then(|file| file.machine.drives.get(drive.place())).map(|drive| &drive.controller);
        let unfit = match (&layout.sectoring, wired) {
            (Sectoring::Marks { .. }, Some(DriveController::Wired(_))) => {
                Some(("a controller without registers finds no marks, by which", "holes"))
            }
            (Sectoring::Holes(_), Some(DriveController::Chip(_))) => {
                Some(("an FD1771 finds sectors by marks, and by holes", "marks"))
            }
            _ => None,
        };
        if let Some((why, by)) = unfit {
            let headline = format!("{why} `{}` is made up", layout.name);
            let spot = entry.layout.as_ref().map_or(entry.name.span, |name| name.span);
            let problem = Diagnostic::error(Code::DiskUnfit, headline).at(spot, "this layout");
            self.problems.push(problem.with_help(format!("give a layout by `{by}`")));
            return None;
        }
        Some(ChainDisk { name: entry.name.value.clone(), layout, drive, protected: entry.protected })
    }

    fn layout(&mut self, name: &Placed<String>, notation: Notation) -> Option<Layout> {
        if !name.value.ends_with(".toml") {
            let found = disk::bundled(&name.value);
            if found.is_none() {
                self.problems.push(disk::unknown(&name.value).at(name.span, "named here"));
            }
            return found;
        }
        let id = self.text(&name.value, name.span)?;
        disk::load(self.sources, id, notation, &mut self.problems)
    }

    /// The drive that is named, or the only one.
    fn drive_of(&mut self, entry: &DiskEntry, machine: &MachineFile) -> Option<Id<DiskDrive>> {
        let names: Vec<_> = machine.drives.iter().map(|name| name.value.clone()).collect();
        match &entry.drive {
            Some(name) => self.known(name, &names, "drive").map(Id::new),
            None if names.len() == 1 => Some(Id::new(0)),
            None => {
                let headline = format!("it is not known in which drive the disk `{}` lies", entry.name.value);
                let problem = Diagnostic::error(Code::HomeUnknown, headline).at(entry.name.span, "this disk");
                let help = match names.is_empty() {
                    true => "the machine file needs a `[[drive]]`".to_owned(),
                    false => format!("say `drive`, one of: {}", names.join(", ")),
                };
                self.problems.push(problem.with_help(help));
                None
            }
        }
    }

    /// The home of a stage on a disk, in one of its areas.
    pub(super) fn disk_home(
        &mut self,
        disk: &Placed<String>,
        area: &Placed<String>,
        file: &ChainFile,
        disks: &[Option<ChainDisk>],
    ) -> Option<Home> {
        let names: Vec<_> = file.disks.iter().map(|entry| entry.name.value.clone()).collect();
        let place = self.known(disk, &names, "disk")?;
        let layout = &disks.get(place)?.as_ref()?.layout;
        if layout.area(&area.value).is_none() {
            let headline = format!("the layout `{}` has no area `{}`", layout.name, area.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(area.span, "named here");
            self.problems.push(suggest(problem, &area.value, layout.areas.iter().map(|area| area.name.as_str())));
            return None;
        }
        Some(Home::Disk { disk: Id::new(place), area: area.value.clone() })
    }

    /// Two disks in one drive, and disks on which no stage lies.
    pub(super) fn disks_used(&mut self, file: &ChainFile) {
        for entry in &file.disks {
            let names = |stage: &super::chain_file::StageEntry| matches!(&stage.home, Some(HomeEntry::Disk { disk, .. }) if disk.value == entry.name.value);
            if !file.stages.iter().any(names) && file.stages.iter().all(|stage| stage.home.is_some()) {
                let headline = format!("no stage is on the disk `{}`", entry.name.value);
                let problem = Diagnostic::error(Code::HomeUnknown, headline).at(entry.name.span, "this disk");
                self.problems.push(problem.with_help("give a stage `home = { disk = ..., area = ... }`"));
            }
        }
    }
}
