//! Everything that a chain is built into: the files for paper, parts, tapes and the screen.

use std::collections::BTreeMap;
use std::ops::Range;

use super::{card, memory_map};
use crate::assembler;
use crate::disk::picture as disk_picture;
use crate::disk::{Disk, Layout, read};
use crate::drawing::{Drawing, PageSize, html, pdf, svg};
use crate::image::raw::Gaps;
use crate::panel::Paper;
use crate::panel::card::{Card, Doubt};
use crate::panel::lights::{self, Lights};
use crate::project::{
    Artefacts, ChainDisk, DiskDrive, Id, MadeDisk, Plan, Recording, Reel, SocketContents, Stage, Start, Tape, slug,
};
use crate::rehearsal::{Outcome, Stepping, live_ports, taken_for_granted};
use crate::rom::{self, Socket};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};
use crate::tape::picture;

/// A file that a chain is built into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Artefact {
    /// Whose it is.
    pub of: Of,
    /// Under what it is listed: a stage, a socket, a tape, the chain.
    pub group: String,
    /// What it is, in a few words.
    pub title: String,
    /// The name of its file, which no other has.
    pub file: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// What a file is made from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// A stage.
    Stage(Id<Stage>),
    /// All that lies in a socket.
    Socket(Id<Socket>),
    /// All that stands on a tape.
    Tape(Id<Tape>),
    /// All that stands on a disk.
    Disk(Id<ChainDisk>),
    /// The chain as a whole.
    Chain,
}

impl Of {
    fn group(self, plan: &Plan) -> String {
        match self {
            Of::Stage(stage) => format!("Stage {}", plan.stages[stage].name),
            Of::Socket(socket) => format!("Socket {}", plan.machine.sockets[socket].name),
            Of::Tape(tape) => format!("Tape {}", plan.tapes[tape].name),
            Of::Disk(disk) => format!("Disk {}", plan.disks[disk].name),
            Of::Chain => "The chain".into(),
        }
    }
}

/// What a ROM reads where an image has a gap, in a raw binary.
const GAP: u8 = 0;

/// What a chain is built into.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Built {
    /// The files.
    pub artefacts: Vec<Artefact>,
    /// Starts of which the card says that they are not to be trusted, by their names, and why.
    pub doubts: Vec<(String, Doubt)>,
    /// The cards of the starts that have one, as they stand among the files.
    pub cards: Vec<(Id<Start>, Card)>,
}

/// The files of a chain, from what was made of it; `rehearsed` is what came of its starts, in their order.
///
/// # Errors
/// What cannot be written in a format or drawn, and files that would have one name.
pub fn files(
    plan: &Plan,
    made: &Artefacts,
    sources: &SourceMap,
    rehearsed: Option<&[Outcome]>,
) -> Result<Built, Diagnostics> {
    let (Built { artefacts, doubts, cards }, problems) = (Built::default(), Diagnostics::default());
    let mut builder = Builder { plan, made, sources, rehearsed, artefacts, doubts, cards, problems, of: Of::Chain };
    plan.stages.numbered().for_each(|(number, stage)| builder.stage(number, stage));
    made.sockets.iter().for_each(|seated| builder.socket(seated));
    made.tapes.iter().for_each(|reel| builder.tape(reel));
    made.disks.iter().for_each(|disk| builder.disk(disk));
    builder.chain();
    builder.names();
    let Builder { artefacts, doubts, cards, problems, .. } = builder;
    if problems.has_errors() { Err(problems) } else { Ok(Built { artefacts, doubts, cards }) }
}

struct Builder<'a> {
    plan: &'a Plan,
    made: &'a Artefacts,
    sources: &'a SourceMap,
    rehearsed: Option<&'a [Outcome]>,
    artefacts: Vec<Artefact>,
    doubts: Vec<(String, Doubt)>,
    cards: Vec<(Id<Start>, Card)>,
    problems: Diagnostics,
    /// What the next files are made from.
    of: Of,
}

impl Builder<'_> {
    fn add(&mut self, title: &str, file: String, bytes: impl Into<Vec<u8>>) {
        let (of, group, title) = (self.of, self.of.group(self.plan), title.to_owned());
        self.artefacts.push(Artefact { of, group, title, file, bytes: bytes.into() });
    }

    /// The same pages for the screen and for a printer, the first of them as a picture, and as text.
    fn add_pages(&mut self, title: &str, stem: &str, drawing: &Drawing, text: Option<String>) {
        self.add(title, format!("{stem}.html"), html::write(drawing));
        if let Some(page) = drawing.pages.first() {
            self.add(&format!("{title}, first page"), format!("{stem}.svg"), svg::write_page(page, &drawing.title));
        }
        self.add(&format!("{title}, to print"), format!("{stem}.pdf"), pdf::write(drawing));
        if let Some(text) = text {
            self.add(&format!("{title}, as text"), format!("{stem}.txt"), text);
        }
    }

    /// Two files of one name: the second would be written over the first. Told once for each two that make them.
    fn names(&mut self) {
        let mut owners: BTreeMap<String, &Artefact> = BTreeMap::new();
        let mut told: Vec<(Of, Of)> = Vec::new();
        let mut problems = Vec::new();
        for made in &self.artefacts {
            // Some file systems know no difference between capitals and small letters.
            let Some(first) = owners.insert(made.file.to_lowercase(), made) else { continue };
            let pair = (first.of, made.of);
            if told.contains(&pair) {
                continue;
            }
            told.push(pair);
            let headline = format!("two things would be written to `{}`", made.file);
            let problem = Diagnostic::error(Code::NameTwice, headline)
                .with_note(format!("{}: {}; {}: {}", first.group, first.title, made.group, made.title))
                .with_help("names of files keep letters, digits and hyphens only: give one of the two another name");
            let stage = |of: Of| if let Of::Stage(stage) = of { Some(&self.plan.stages[stage]) } else { None };
            let problem = match (stage(first.of), stage(made.of)) {
                (Some(first), Some(second)) => problem.at(second.span, "this stage").and_at(first.span, "and this one"),
                (Some(one), None) | (None, Some(one)) => problem.at(one.span, "one of them is this stage"),
                (None, None) => problem,
            };
            problems.push(problem);
        }
        self.problems.extend(problems);
    }

    fn problem(&mut self, problem: Diagnostic, stage: &Stage) {
        let placed = problem.primary.is_some();
        self.problems.push(if placed { problem } else { problem.at(stage.span, "this stage") });
    }

    fn stage(&mut self, number: Id<Stage>, stage: &Stage) {
        self.of = Of::Stage(number);
        let (stem, notation) = (slug(&stage.name), self.plan.machine.panel.notation);
        if let Some(assembly) = &stage.assembly {
            self.add("Listing", format!("{stem}.lst"), assembler::listing(self.sources, assembly, notation));
        }
        for format in &self.plan.formats {
            match format.write(&stage.image, Gaps::Fill(GAP)) {
                Ok(bytes) => {
                    self.add(&format!("Image as {}", format.title()), format!("{stem}.{}", format.word()), bytes)
                }
                Err(problem) => self.problem(problem, stage),
            }
        }
        self.sheets(number);
        if let Some(cycles) = stage.lights {
            self.lights(number, &stem, cycles);
        }
    }

    /// The sheets of a stage.
    fn sheets(&mut self, stage: Id<Stage>) {
        let sheets: Vec<_> = self.made.sheets.iter().filter(|made| made.stage == stage).collect();
        for made in &sheets {
            let names = made.starts.iter().map(|&start| self.plan.starts[start].name.as_str());
            let starts = names.collect::<Vec<_>>().join(" or ");
            let title = match made.sense {
                _ if sheets.len() == 1 => "Deposit sheet".to_owned(),
                None => format!("Deposit sheet to add it to {starts}"),
                Some(sense) => {
                    let byte = self.plan.machine.panel.notation.byte(sense);
                    format!("Deposit sheet to start {starts}, sense {byte}")
                }
            };
            self.add_pages(&title, &made.stem, &made.sheet.draw(Paper::A4), Some(made.sheet.text()));
        }
    }

    /// The disk of the chain that lies in a drive.
    fn disk_in(&self, drive: Id<DiskDrive>) -> Option<(Layout, Disk)> {
        let made = self.made.disks.iter().find(|made| self.plan.disks[made.disk].drive == drive)?;
        Some((self.plan.disks[made.disk].layout.clone(), made.file.clone()))
    }

    fn lights(&mut self, stage: Id<Stage>, stem: &str, cycles: u64) {
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
        let drawing = lights.draw(program, &machine.ports, Paper::A4);
        let text = lights.text(program, &machine.ports);
        self.add_pages("Lights of a stepped run", &format!("{stem}-lights"), &drawing, Some(text));
    }

    /// The files of a socket's parts, and their labels with what is to be minded of each part.
    fn socket(&mut self, seated: &SocketContents) {
        self.of = Of::Socket(seated.socket);
        let (socket, notation) = (&self.plan.machine.sockets[seated.socket], self.plan.machine.panel.notation);
        let names = seated.stages.iter().map(|&stage| self.plan.stages[stage].name.as_str());
        let names = names.collect::<Vec<_>>().join(", ");
        for (name, file) in &seated.parts {
            let sum = notation.word(file.part.sum());
            let title = format!("Part {} with {names}, sum {sum}", file.part.name);
            self.add(&title, name.clone(), file.bytes.clone());
        }
        let files = seated.parts.iter().map(|(_, file)| file);
        let labels = rom::labels_page(&names, socket, files, notation);
        self.add("Labels and cautions of its parts", format!("labels-{}.txt", slug(&socket.name)), labels);
    }

    /// A tape as bytes, as a picture, and as a recording if one is wanted.
    fn tape(&mut self, reel: &Reel) {
        self.of = Of::Tape(reel.tape);
        let (tape, stem) = (&self.plan.tapes[reel.tape], &reel.stem);
        self.add(&format!("Frames, {}", reel.bytes.len()), format!("{stem}.bin"), reel.bytes.clone());
        let punched = [tape.lettering.as_slice(), &reel.bytes].concat();
        self.picture(reel, &punched);
        if !tape.lettering.is_empty() {
            let title = format!("Frames to punch, lettering first, {}", punched.len());
            self.add(&title, format!("{stem}-punch.bin"), punched);
        }
        if let Some(Recording { wav, seconds }) = &reel.recording {
            self.add(&format!("Recording, {seconds:.0} s"), format!("{stem}.wav"), wav.clone());
        }
    }

    fn picture(&mut self, reel: &Reel, punched: &[u8]) {
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
        match picture::to_read(punched, &title, &labels, PageSize::A4, self.plan.machine.panel.notation) {
            Ok(drawing) => self.add_pages("Picture", &format!("{}-picture", reel.stem), &drawing, None),
            Err(problem) => self.problems.push(problem),
        }
    }

    /// A disk as a file and as a picture.
    fn disk(&mut self, made: &MadeDisk) {
        self.of = Of::Disk(made.disk);
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
        let drawing = disk_picture::draw(&subject, PageSize::A4);
        let bytes = made.file.clone().into_bytes();
        self.add(&format!("Sectors, whole, {} bytes", bytes.len()), format!("{}.disk", made.stem), bytes);
        self.add_pages("Picture", &format!("{}-picture", made.stem), &drawing, None);
    }

    /// What concerns the chain as a whole: run cards, the map of memory.
    fn chain(&mut self) {
        self.of = Of::Chain;
        for (number, start) in self.plan.starts.numbered() {
            self.card(number, start);
        }
        let map = memory_map::draw(self.plan);
        if let Some(page) = map.pages.first() {
            self.add("Map of memory, to scale", "memory.svg".into(), svg::write_page(page, &map.title));
        }
        self.add("Map of memory, to print", "memory.pdf".into(), pdf::write(&map));
    }

    fn card(&mut self, number: Id<Start>, start: &Start) {
        let rehearsed = self.rehearsed.and_then(|outcomes| outcomes.get(number.place()));
        let Some(card) = card::card(self.plan, self.made, number, self.sources, rehearsed) else { return };
        self.doubts.extend(card.doubts.iter().map(|doubt| (start.name.clone(), doubt.clone())));
        let (title, stem) = match start.name.as_str() {
            "" => ("Run card".to_owned(), "card".to_owned()),
            name => (format!("Run card {name}"), format!("card-{}", slug(name))),
        };
        self.add_pages(&title, &stem, &card.draw(Paper::A4), Some(card.text()));
        self.cards.push((number, card));
    }
}
