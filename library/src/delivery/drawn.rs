//! Every page that is drawn of a chain, on one paper: what is built and what is bound are these.

use std::collections::BTreeMap;
use std::ops::Range;

use super::{card, memory_map};
use crate::disk::picture as disk_picture;
use crate::disk::{Disk, Layout, read};
use crate::drawing::Drawing;
use crate::panel::Paper;
use crate::panel::card::Card;
use crate::panel::lights::{self, Lights};
use crate::project::{Artefacts, DepositSheet, DiskDrive, Id, MadeDisk, Plan, Reel, Stage, Start};
use crate::rehearsal::{Outcome, Stepping, live_ports, taken_for_granted};
use crate::source::{Diagnostics, SourceMap};
use crate::tape::picture;

/// The drawn pages of a chain.
pub struct Drawn {
    /// The paper they are on.
    pub paper: Paper,
    /// The run cards, by starts.
    pub cards: Vec<DrawnCard>,
    /// The deposit sheets, in the order of the artefacts.
    pub sheets: Vec<Drawing>,
    /// The lights sheets that are wanted, by stages.
    pub lights: Vec<DrawnLights>,
    /// The pictures of the tapes, in the order of the artefacts.
    pub tapes: Vec<Drawing>,
    /// The pictures of the disks, in the order of the artefacts.
    pub disks: Vec<Drawing>,
    /// The map of memory.
    pub map: Drawing,
}

/// The run card of a start.
pub struct DrawnCard {
    /// The start.
    pub start: Id<Start>,
    /// What is on it.
    pub card: Card,
    /// Its pages.
    pub drawing: Drawing,
}

/// The lights sheet of a stage.
pub struct DrawnLights {
    /// The stage.
    pub stage: Id<Stage>,
    /// As text.
    pub text: String,
    /// Its pages.
    pub drawing: Drawing,
}

impl Drawn {
    /// Draws everything of a chain; `rehearsed` is what came of its starts, in their order.
    ///
    /// # Errors
    /// A tape that is too long for a picture.
    pub fn make(
        plan: &Plan,
        made: &Artefacts,
        sources: &SourceMap,
        rehearsed: Option<&[Outcome]>,
        paper: Paper,
    ) -> Result<Drawn, Diagnostics> {
        let board = Board { plan, made, paper };
        let card = |start: Id<Start>| {
            let outcome = rehearsed.and_then(|outcomes| outcomes.get(start.place()));
            let card = card::card(plan, made, start, sources, outcome)?;
            Some(DrawnCard { start, drawing: card.draw(paper), card })
        };
        let mut problems = Diagnostics::default();
        let mut tapes = Vec::new();
        for reel in &made.tapes {
            match board.tape(reel) {
                Ok(drawing) => tapes.push(drawing),
                Err(problem) => problems.push(*problem),
            }
        }
        if problems.has_errors() {
            return Err(problems);
        }
        let lights = plan.stages.numbered().filter_map(|(stage, it)| Some(board.lights(stage, it.lights?)));
        Ok(Drawn {
            paper,
            cards: plan.starts.numbered().filter_map(|(start, _)| card(start)).collect(),
            sheets: made.sheets.iter().map(|made| made.sheet.draw(paper)).collect(),
            lights: lights.collect(),
            tapes,
            disks: made.disks.iter().map(|disk| board.disk(disk)).collect(),
            map: memory_map::draw(plan, paper),
        })
    }
}

/// What a deposit sheet is called among those of its stage.
pub fn sheet_title(plan: &Plan, made: &Artefacts, sheet: &DepositSheet) -> String {
    let names = sheet.starts.iter().map(|&start| plan.starts[start].name.as_str());
    let starts = names.collect::<Vec<_>>().join(" or ");
    let several = made.sheets.iter().filter(|other| other.stage == sheet.stage).count() > 1;
    match sheet.sense {
        _ if !several => "Deposit sheet".to_owned(),
        None => format!("Deposit sheet to add it to {starts}"),
        Some(sense) => {
            let byte = plan.machine.panel.notation.byte(sense);
            format!("Deposit sheet to start {starts}, sense {byte}")
        }
    }
}

/// Where the pictures of a chain are drawn.
struct Board<'a> {
    plan: &'a Plan,
    made: &'a Artefacts,
    paper: Paper,
}

impl Board<'_> {
    /// The disk of the chain that lies in a drive.
    fn disk_in(&self, drive: Id<DiskDrive>) -> Option<(Layout, Disk)> {
        let made = self.made.disks.iter().find(|made| self.plan.disks[made.disk].drive == drive)?;
        Some((self.plan.disks[made.disk].layout.clone(), made.file.clone()))
    }

    fn lights(&self, stage: Id<Stage>, cycles: u64) -> DrawnLights {
        let (program, machine) = (self.made.program(stage), &self.plan.machine);
        let world = lights::World::Open { idle: machine.idle_inputs() };
        let (panel, grounds) = (machine.panel.clone(), machine.grounds());
        let start = self.plan.stages[stage].entry;
        let (idle, inputs) = (machine.idle_inputs(), BTreeMap::new());
        let stepping = Stepping { image: &program.image, start, cycles, inputs, idle };
        let live = live_ports(machine, |drive| self.disk_in(drive), &stepping);
        let taken = taken_for_granted(machine, |drive| self.disk_in(drive));
        let request =
            lights::Request { start, cycles, live, taken, world, panel, grounds, ..lights::Request::default() };
        let lights = Lights::run(program, &request);
        let drawing = lights.draw(program, &machine.ports, self.paper);
        DrawnLights { stage, text: lights.text(program, &machine.ports), drawing }
    }

    /// A tape as it is punched, its lettering before what is read.
    fn tape(&self, reel: &Reel) -> Result<Drawing, Box<crate::source::Diagnostic>> {
        let punched = [self.plan.tapes[reel.tape].lettering.as_slice(), &reel.bytes].concat();
        let names: Vec<_> = reel.programs.iter().map(|program| self.plan.stages[program.stage].name.as_str()).collect();
        let title = format!("{}: {}", self.plan.tapes[reel.tape].name, names.join(", "));
        let first = punched.len() - reel.bytes.len();
        let labels = reel.programs.iter().zip(names).flat_map(|(program, name)| {
            let label = move |block: &Range<usize>| {
                let range = block.start + first..block.end + first;
                picture::Label { range, text: name.to_owned(), heavy: false, ring: None }
            };
            program.blocks.iter().map(label)
        });
        let labels: Vec<_> = labels.collect();
        let notation = self.plan.machine.panel.notation;
        picture::to_read(&punched, &title, &labels, self.paper.size(), notation).map_err(Box::new)
    }

    fn disk(&self, made: &MadeDisk) -> Drawing {
        let disk = &self.plan.disks[made.disk];
        let names: Vec<_> = made.programs.iter().map(|(stage, _)| self.plan.stages[*stage].name.as_str()).collect();
        let title = format!("{}: {}", disk.name, names.join(", "));
        let reading = read::read(&disk.layout, &made.file);
        let subject = disk_picture::Subject {
            layout: &disk.layout,
            reading: Some(&reading),
            crc: Some(made.file.crc()),
            title: &title,
            notation: self.plan.machine.panel.notation,
        };
        disk_picture::draw(&subject, self.paper.size())
    }
}
