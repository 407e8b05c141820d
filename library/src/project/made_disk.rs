//! The very disks of a chain, for building and for rehearsing.

use super::listed::Id;
use super::plan::{ChainDisk, Home, Plan, Stage};
use crate::disk::write::{self, Program, Written};
use crate::disk::{Disk, Form};
use crate::source::Diagnostics;

/// A disk with all that stands on it.
#[derive(Clone, Debug)]
pub struct MadeDisk {
    /// The disk.
    pub disk: Id<ChainDisk>,
    /// The name of its files, without what follows the point.
    pub stem: String,
    /// Its sectors, whole.
    pub file: Disk,
    /// The stages on it, each with its sectors.
    pub programs: Vec<(Id<Stage>, Written)>,
}

/// The disk of that number.
///
/// # Errors
/// What its areas cannot hold; all of it.
pub fn made(plan: &Plan, number: Id<ChainDisk>) -> Result<MadeDisk, Diagnostics> {
    let disk = &plan.disks[number];
    let mut file = write::formatted(&disk.layout, Form::Whole);
    let (mut programs, mut problems) = (Vec::new(), Diagnostics::default());
    for (place, stage) in plan.stages.numbered() {
        let Home::Disk { disk: on, area } = &stage.home else { continue };
        let Some(area) = disk.layout.area(area).filter(|_| *on == number) else { continue };
        let program = Program { name: &stage.name, image: &stage.image, area };
        match write::put(&disk.layout, &mut file, &program, plan.machine.panel.notation) {
            Ok(written) => programs.push((place, written)),
            Err(found) => problems.extend(found.iter().map(|problem| match problem.primary {
                Some(_) => problem.clone(),
                None => problem.clone().at(stage.span, "this stage"),
            })),
        }
    }
    if problems.has_errors() {
        Err(problems)
    } else {
        Ok(MadeDisk { disk: number, stem: String::new(), file, programs })
    }
}
