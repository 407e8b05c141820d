//! Everything that a chain is built into: the files for paper, parts, tapes and the screen.

use std::collections::BTreeMap;

use super::drawn::{Drawn, DrawnCard, sheet_title};
use crate::assembler;
use crate::drawing::{Drawing, html, pdf, svg};
use crate::image::raw::Gaps;
use crate::panel::Paper;
use crate::panel::card::{Card, Doubt};
use crate::project::{
    Artefacts, ChainDisk, Id, MadeDisk, Plan, Recording, Reel, SocketContents, Stage, Start, Tape, slug,
};
use crate::rehearsal::Outcome;
use crate::rom::{self, Socket};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

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

/// The files of a chain, drawn on A4; `rehearsed` is what came of its starts, in their order.
///
/// # Errors
/// As [`Drawn::make`] and [`files_of`].
pub fn files(
    plan: &Plan,
    made: &Artefacts,
    sources: &SourceMap,
    rehearsed: Option<&[Outcome]>,
) -> Result<Built, Diagnostics> {
    files_of(plan, made, &Drawn::make(plan, made, sources, rehearsed, Paper::A4)?, sources)
}

/// The files of a chain, from what was made and drawn of it.
///
/// # Errors
/// What cannot be written in a format or drawn, and files that would have one name.
pub fn files_of(plan: &Plan, made: &Artefacts, drawn: &Drawn, sources: &SourceMap) -> Result<Built, Diagnostics> {
    let (Built { artefacts, doubts, cards }, problems) = (Built::default(), Diagnostics::default());
    let mut builder = Builder { plan, made, sources, drawn, artefacts, doubts, cards, problems, of: Of::Chain };
    plan.stages.numbered().for_each(|(number, stage)| builder.stage(number, stage));
    made.sockets.iter().for_each(|seated| builder.socket(seated));
    made.tapes.iter().zip(&drawn.tapes).for_each(|(reel, picture)| builder.tape(reel, picture));
    made.disks.iter().zip(&drawn.disks).for_each(|(disk, picture)| builder.disk(disk, picture));
    builder.chain();
    builder.names();
    let Builder { artefacts, doubts, cards, problems, .. } = builder;
    if problems.has_errors() { Err(problems) } else { Ok(Built { artefacts, doubts, cards }) }
}

struct Builder<'a> {
    plan: &'a Plan,
    made: &'a Artefacts,
    sources: &'a SourceMap,
    drawn: &'a Drawn,
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
        for lights in self.drawn.lights.iter().filter(|lights| lights.stage == number) {
            let text = Some(lights.text.clone());
            self.add_pages("Lights of a stepped run", &format!("{stem}-lights"), &lights.drawing, text);
        }
    }

    /// The sheets of a stage.
    fn sheets(&mut self, stage: Id<Stage>) {
        let (plan, drawn) = (self.plan, self.drawn);
        for (made, drawing) in self.made.sheets.iter().zip(&drawn.sheets).filter(|(made, _)| made.stage == stage) {
            let title = sheet_title(plan, self.made, made);
            self.add_pages(&title, &made.stem, drawing, Some(made.sheet.text()));
        }
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
    fn tape(&mut self, reel: &Reel, picture: &Drawing) {
        self.of = Of::Tape(reel.tape);
        let (tape, stem) = (&self.plan.tapes[reel.tape], &reel.stem);
        self.add(&format!("Frames, {}", reel.bytes.len()), format!("{stem}.bin"), reel.bytes.clone());
        self.add_pages("Picture", &format!("{stem}-picture"), picture, None);
        if !tape.lettering.is_empty() {
            let punched = [tape.lettering.as_slice(), &reel.bytes].concat();
            let title = format!("Frames to punch, lettering first, {}", punched.len());
            self.add(&title, format!("{stem}-punch.bin"), punched);
        }
        if let Some(Recording { wav, seconds }) = &reel.recording {
            self.add(&format!("Recording, {seconds:.0} s"), format!("{stem}.wav"), wav.clone());
        }
    }

    /// A disk as a file and as a picture.
    fn disk(&mut self, made: &MadeDisk, picture: &Drawing) {
        self.of = Of::Disk(made.disk);
        let bytes = made.file.clone().into_bytes();
        self.add(&format!("Sectors, whole, {} bytes", bytes.len()), format!("{}.disk", made.stem), bytes);
        self.add_pages("Picture", &format!("{}-picture", made.stem), picture, None);
    }

    /// What concerns the chain as a whole: run cards, the map of memory.
    fn chain(&mut self) {
        self.of = Of::Chain;
        let drawn = self.drawn;
        drawn.cards.iter().for_each(|card| self.card(card));
        let map = &drawn.map;
        if let Some(page) = map.pages.first() {
            self.add("Map of memory, to scale", "memory.svg".into(), svg::write_page(page, &map.title));
        }
        self.add("Map of memory, to print", "memory.pdf".into(), pdf::write(map));
    }

    fn card(&mut self, DrawnCard { start, card, drawing }: &DrawnCard) {
        let name = &self.plan.starts[*start].name;
        self.doubts.extend(card.doubts.iter().map(|doubt| (name.clone(), doubt.clone())));
        let (title, stem) = match name.as_str() {
            "" => ("Run card".to_owned(), "card".to_owned()),
            name => (format!("Run card {name}"), format!("card-{}", slug(name))),
        };
        self.add_pages(&title, &stem, drawing, Some(card.text()));
        self.cards.push((*start, card.clone()));
    }
}
