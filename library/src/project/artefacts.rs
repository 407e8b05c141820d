//! What a chain is made into, each thing once: the deposit sheets, the sockets with their parts, the tapes with their
//! recordings. What is written, shown and rehearsed is this and nothing else.

use std::collections::BTreeMap;

use super::listed::Id;
use super::made_disk::{self, MadeDisk};
use super::plan::{ChainDisk, Home, Plan, Stage, Start};
use super::reel::{Reel, record, reels};
use super::seated::{Seated, seated};
use crate::image::Image;
use crate::panel::Program;
use crate::panel::sheet::{Sheet, SheetError};
use crate::rom::{PartFile, PartFormat, Socket, contents, part_files};
use crate::source::{Diagnostic, Diagnostics, SourceMap};

/// Everything that is made of a chain and goes to the machine.
#[derive(Clone, Debug)]
pub struct Artefacts {
    /// The deposit sheets.
    pub sheets: Vec<DepositSheet>,
    /// The sockets in which a stage lies.
    pub sockets: Vec<SocketContents>,
    /// The tapes.
    pub tapes: Vec<Reel>,
    /// The disks.
    pub disks: Vec<MadeDisk>,
    /// The stages with what their sources say beside each instruction, in the order of the plan.
    programs: Vec<Program>,
}

/// The deposit sheet of a stage.
#[derive(Clone, Debug)]
pub struct DepositSheet {
    /// The stage.
    pub stage: Id<Stage>,
    /// How the sense switches stand when it is started; nothing if another stage is.
    pub sense: Option<u8>,
    /// The starts in which it is deposited so.
    pub starts: Vec<Id<Start>>,
    /// The name of its files, without what follows the point.
    pub stem: String,
    /// Its rows.
    pub sheet: Sheet,
}

/// A socket with all that lies in it.
#[derive(Clone, Debug)]
pub struct SocketContents {
    /// The socket.
    pub socket: Id<Socket>,
    /// The stages in it, in the order of the chain file.
    pub stages: Vec<Id<Stage>>,
    /// Their bytes together.
    pub image: Image,
    /// The files of its parts, each with its name.
    pub parts: Vec<(String, PartFile)>,
}

/// Whether recordings are made of the tapes that have a sound: it takes a while.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Recordings {
    /// They are.
    Made,
    /// Only frames are.
    Left,
}

impl Artefacts {
    /// Makes everything of a chain.
    ///
    /// # Errors
    /// What cannot be deposited, put into a part, on a tape or into a recording; all of it.
    pub fn make(plan: &Plan, sources: &SourceMap, recordings: Recordings) -> Result<Artefacts, Diagnostics> {
        let programs = plan.stages.iter().map(|stage| stage.program(sources, plan.machine.panel.notation)).collect();
        let made =
            Artefacts { sheets: Vec::new(), sockets: Vec::new(), tapes: Vec::new(), disks: Vec::new(), programs };
        let mut maker = Maker { plan, made, problems: Diagnostics::default() };
        plan.stages.numbered().for_each(|(stage, _)| maker.sheets(stage));
        plan.machine.sockets.numbered().for_each(|(socket, _)| maker.socket(socket));
        plan.starts.numbered().for_each(|(start, _)| maker.examined(start));
        plan.starts.numbered().for_each(|(start, _)| maker.tapes(start));
        plan.disks.numbered().for_each(|(disk, _)| maker.disk(disk));
        if recordings == Recordings::Made {
            maker.recordings();
        }
        let Maker { made, problems, .. } = maker;
        if problems.has_errors() { Err(problems) } else { Ok(made) }
    }

    /// A stage with what its source says beside each instruction.
    pub fn program(&self, stage: Id<Stage>) -> &Program {
        &self.programs[stage.place()]
    }

    /// The sheet by which a stage is deposited: to be started with a byte on the sense switches, or as nothing that is
    /// started by hand.
    pub fn sheet(&self, stage: Id<Stage>, sense: Option<u8>) -> Option<&Sheet> {
        self.sheets.iter().find(|made| made.stage == stage && made.sense == sense).map(|made| &made.sheet)
    }

    /// The tapes of a start, in the order in which they are read.
    pub fn reels(&self, start: Id<Start>) -> Vec<&Reel> {
        let mut reels: Vec<_> = self.tapes.iter().filter_map(|reel| Some((reel.place_in(start)?, reel))).collect();
        reels.sort_by_key(|(place, _)| *place);
        reels.into_iter().map(|(_, reel)| reel).collect()
    }
}

/// A name as part of a file name.
pub fn slug(name: &str) -> String {
    name.chars().map(|letter| if letter.is_alphanumeric() || letter == '-' { letter } else { '-' }).collect()
}

struct Maker<'a> {
    plan: &'a Plan,
    made: Artefacts,
    problems: Diagnostics,
}

impl Maker<'_> {
    fn problem(&mut self, problem: Diagnostic, stage: Id<Stage>) {
        let placed = problem.primary.is_some();
        self.problems.push(if placed { problem } else { problem.at(self.plan.stages[stage].span, "this stage") });
    }

    /// The sheets of a stage that is toggled in, one for each way in which that is done.
    fn sheets(&mut self, stage: Id<Stage>) {
        let plan = self.plan;
        if !matches!(plan.stages[stage].home, Home::Panel(_)) {
            return;
        }
        let ways = ways(plan, stage);
        let stem = slug(&plan.stages[stage].name);
        let several = ways.len() > 1;
        for (sense, starts) in ways {
            let stem = match sense {
                _ if !several => format!("{stem}-sheet"),
                None => format!("{stem}-sheet-added"),
                Some(sense) => format!("{stem}-sheet-sense-{}", plan.machine.panel.notation.byte(sense)),
            };
            match self.sheet(stage, sense) {
                Ok(sheet) => self.made.sheets.push(DepositSheet { stage, sense, starts, stem, sheet }),
                Err(error) => return self.problem(error.diagnostic(plan.machine.panel.notation), stage),
            }
        }
    }

    fn sheet(&self, stage: Id<Stage>, sense: Option<u8>) -> Result<Sheet, SheetError> {
        let (program, panel) = (self.made.program(stage), &self.plan.machine.panel);
        let entry = Some(self.plan.stages[stage].entry);
        match sense {
            Some(sense) => Sheet::new(program, panel, entry, sense),
            None => Sheet::of_deposits(program, panel, entry),
        }
    }

    /// Whether the hand can bring up the entry of the stage that it starts, where no sheet asks for that already.
    fn examined(&mut self, start: Id<Start>) {
        let (plan, panel) = (self.plan, &self.plan.machine.panel);
        if let Some(&stage) = plan.starts[start].stages.first() {
            let Stage { home, entry, .. } = &plan.stages[stage];
            if matches!(home, Home::Sockets(_)) && !panel.reaches(*entry) {
                let error = SheetError::Unreachable { address: *entry, switches: panel.switches };
                self.problem(error.diagnostic(panel.notation), stage);
            }
        }
    }

    /// The part files of a socket with a stage.
    fn socket(&mut self, socket: Id<Socket>) {
        // Stages that cannot lie there together were told when the chain was read.
        let Ok(Some(Seated { stages, image })) = seated(self.plan, socket) else { return };
        let seat = &self.plan.machine.sockets[socket];
        match contents(seat, &image, self.plan.machine.panel.notation)
            .and_then(|bytes| part_files(seat, &bytes, PartFormat::IntelHex))
        {
            Ok(files) => {
                let parts = files.into_iter().map(|file| (format!("part-{}.hex", slug(&file.part.name)), file));
                let parts = parts.collect();
                self.made.sockets.push(SocketContents { socket, stages, image, parts });
            }
            Err(problem) => self.problem(problem, stages[0]),
        }
    }

    /// The tapes of a start. One that another start has with the same programs is the same tape.
    fn tapes(&mut self, start: Id<Start>) {
        let plan = self.plan;
        let reels = match reels(plan, &plan.starts[start]) {
            Ok(reels) => reels,
            Err(problems) => return self.problems.append(problems),
        };
        for (place, mut reel) in reels.into_iter().enumerate() {
            let tapes = &mut self.made.tapes;
            if let Some(known) = tapes.iter_mut().find(|known| known.tape == reel.tape && known.bytes == reel.bytes) {
                known.places.push((start, place));
                continue;
            }
            let before = tapes.iter().filter(|other| other.tape == reel.tape).count();
            let name = slug(&plan.tapes[reel.tape].name);
            reel.stem = if before == 0 { format!("tape-{name}") } else { format!("tape-{name}-{}", before + 1) };
            reel.places.push((start, place));
            tapes.push(reel);
        }
    }

    fn disk(&mut self, disk: Id<ChainDisk>) {
        match made_disk::made(self.plan, disk) {
            Ok(made) => {
                let stem = format!("disk-{}", slug(&self.plan.disks[disk].name));
                self.made.disks.push(MadeDisk { stem, ..made });
            }
            Err(problems) => self.problems.append(problems),
        }
    }

    fn recordings(&mut self) {
        for reel in &mut self.made.tapes {
            match record(self.plan, reel) {
                Ok(recording) => reel.recording = recording,
                Err(problem) => self.problems.push(*problem),
            }
        }
    }
}

/// How the sense switches stand where a stage is deposited and started, and nothing where another is started, with the
/// starts.
fn ways(plan: &Plan, stage: Id<Stage>) -> BTreeMap<Option<u8>, Vec<Id<Start>>> {
    let mut ways: BTreeMap<Option<u8>, Vec<Id<Start>>> = BTreeMap::new();
    for (number, start) in plan.starts.numbered().filter(|(_, start)| start.stages.contains(&stage)) {
        ways.entry((start.stages[0] == stage).then_some(start.sense)).or_default().push(number);
    }
    if ways.is_empty() {
        ways.insert(Some(plan.stages[stage].sense.as_ref().map_or(0, |sense| sense.value)), Vec::new());
    }
    ways
}
