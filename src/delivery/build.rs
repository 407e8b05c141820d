//! Everything that a chain is built into: the files for paper, parts, tapes and the screen.

use std::collections::BTreeMap;
use std::ops::Range;

use super::{card, memory_map};
use crate::assembler;
use crate::drawing::{Drawing, PageSize, html, pdf, svg};
use crate::image::raw::Gaps;
use crate::panel::Paper;
use crate::panel::lights::{self, Lights};
use crate::panel::sheet::Sheet;
use crate::project::{Home, MachineSound, Plan, Reel, Seated, Stage, Start, recording, reels, seated};
use crate::rom::{self, PartFile, PartFormat, Socket, contents, part_files};
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};
use crate::tape::picture;

/// A file that a chain is built into.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Artefact {
    /// Under what it is listed: a stage, a socket, a tape, the chain.
    pub group: String,
    /// What it is, in a few words.
    pub title: String,
    /// The name of its file.
    pub file: String,
    /// What is in it.
    pub bytes: Vec<u8>,
}

/// What a ROM reads where an image has a gap, in a raw binary.
const GAP: u8 = 0;

/// Builds a chain.
///
/// # Errors
/// What cannot be put on paper, on a tape or into a part.
pub fn artefacts(plan: &Plan, sources: &SourceMap) -> Result<Vec<Artefact>, Diagnostics> {
    let mut builder =
        Builder { plan, sources, artefacts: Vec::new(), problems: Diagnostics::default(), group: String::new() };
    plan.stages.iter().for_each(|stage| builder.stage(stage));
    builder.sockets();
    builder.tapes();
    builder.chain();
    builder.names();
    let Builder { artefacts, problems, .. } = builder;
    if problems.has_errors() { Err(problems) } else { Ok(artefacts) }
}

struct Builder<'a> {
    plan: &'a Plan,
    sources: &'a SourceMap,
    artefacts: Vec<Artefact>,
    problems: Diagnostics,
    group: String,
}

/// A name as part of a file name.
fn slug(name: &str) -> String {
    name.chars().map(|letter| if letter.is_alphanumeric() || letter == '-' { letter } else { '-' }).collect()
}

impl Builder<'_> {
    fn add(&mut self, title: &str, file: String, bytes: impl Into<Vec<u8>>) {
        let (group, title) = (self.group.clone(), title.to_owned());
        self.artefacts.push(Artefact { group, title, file, bytes: bytes.into() });
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
        let mut told: Vec<(&str, &str)> = Vec::new();
        let mut problems = Vec::new();
        for made in &self.artefacts {
            // Some file systems know no difference between capitals and small letters.
            let Some(first) = owners.insert(made.file.to_lowercase(), made) else { continue };
            let pair = (first.group.as_str(), made.group.as_str());
            if told.contains(&pair) {
                continue;
            }
            told.push(pair);
            let headline = format!("two things would be written to `{}`", made.file);
            let problem = Diagnostic::error(Code::NameTwice, headline)
                .with_note(format!("{}: {}; {}: {}", first.group, first.title, made.group, made.title))
                .with_help("names of files keep letters, digits and hyphens only: give one of the two another name");
            let stage = |group: &str| self.plan.stages.iter().find(|stage| group == format!("Stage {}", stage.name));
            let problem = match (stage(&first.group), stage(&made.group)) {
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

    fn stage(&mut self, stage: &Stage) {
        self.group = format!("Stage {}", stage.name);
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
        if matches!(stage.home, Home::Panel(_)) {
            self.sheet(stage, &stem);
        }
        if let Some(cycles) = stage.lights {
            self.lights(stage, &stem, cycles);
        }
    }

    fn sheet(&mut self, stage: &Stage, stem: &str) {
        let (program, panel) = (stage.program(self.sources), &self.plan.machine.panel);
        let settings = self.settings(stage);
        for (sense, starts) in &settings {
            let sheet = match sense {
                Some(sense) => Sheet::new(&program, panel, Some(stage.entry), *sense),
                None => Sheet::of_deposits(&program, panel, Some(stage.entry)),
            };
            let sheet = match sheet {
                Ok(sheet) => sheet,
                Err(error) => return self.problem(error.diagnostic(panel.notation), stage),
            };
            let (title, stem) = match sense {
                _ if settings.len() == 1 => ("Deposit sheet".to_owned(), format!("{stem}-sheet")),
                None => (format!("Deposit sheet to add it to {}", starts.join(" or ")), format!("{stem}-sheet-added")),
                Some(sense) => {
                    let byte = panel.notation.byte(*sense);
                    (
                        format!("Deposit sheet to start {}, sense {byte}", starts.join(" or ")),
                        format!("{stem}-sheet-sense-{byte}"),
                    )
                }
            };
            self.add_pages(&title, &stem, &sheet.draw(Paper::A4), Some(sheet.text()));
        }
    }

    /// How the sense switches stand where a stage is deposited and started, and nothing where another is started, with the
    /// names of the starts; there is a sheet for each.
    fn settings(&self, stage: &Stage) -> BTreeMap<Option<u8>, Vec<String>> {
        let number = self.number(stage);
        let mut settings: BTreeMap<Option<u8>, Vec<String>> = BTreeMap::new();
        for start in self.plan.starts.iter().filter(|start| start.stages.contains(&number)) {
            let sense = (start.stages[0] == number).then_some(start.sense);
            settings.entry(sense).or_default().push(start.name.clone());
        }
        if settings.is_empty() {
            settings.insert(Some(stage.sense.as_ref().map_or(0, |sense| sense.value)), Vec::new());
        }
        settings
    }

    fn number(&self, stage: &Stage) -> usize {
        self.plan.stages.iter().position(|other| other.name == stage.name).unwrap_or_default()
    }

    fn lights(&mut self, stage: &Stage, stem: &str, cycles: u64) {
        let (program, machine) = (stage.program(self.sources), &self.plan.machine);
        let (world, step) = (lights::World::Open { idle: machine.idle_inputs() }, machine.panel.step);
        let request = lights::Request { start: stage.entry, cycles, world, step, ..lights::Request::default() };
        let lights = Lights::run(&program, machine.panel.notation, &request);
        let drawing = lights.draw(&program, &machine.ports, Paper::A4);
        let text = lights.text(&program, &machine.ports);
        self.add_pages("Lights of a stepped run", &format!("{stem}-lights"), &drawing, Some(text));
    }

    /// The part files of every socket with a stage.
    fn sockets(&mut self) {
        for (number, socket) in self.plan.machine.sockets.iter().enumerate() {
            self.group = format!("Socket {}", socket.name);
            // Stages that cannot lie there together were told when the chain was read.
            let Ok(Some(seated)) = seated(self.plan, number) else { continue };
            match contents(socket, &seated.image).and_then(|bytes| part_files(socket, &bytes, PartFormat::IntelHex)) {
                Ok(files) => self.parts(socket, &seated, files),
                Err(problem) => self.problem(problem, &self.plan.stages[seated.stages[0]]),
            }
        }
    }

    /// The files of a socket's parts, and their labels with what is to be minded of each part.
    fn parts(&mut self, socket: &Socket, seated: &Seated, files: Vec<PartFile>) {
        let notation = self.plan.machine.panel.notation;
        let names = seated.stages.iter().map(|&stage| self.plan.stages[stage].name.as_str());
        let names = names.collect::<Vec<_>>().join(", ");
        let labels = rom::labels_page(&names, socket, &files, notation);
        for file in files {
            let sum = notation.word(file.part.sum());
            let title = format!("Part {} with {names}, sum {sum}", file.part.name);
            self.add(&title, format!("part-{}.hex", slug(&file.part.name)), file.bytes);
        }
        self.add("Labels and cautions of its parts", format!("labels-{}.txt", slug(&socket.name)), labels);
    }

    /// The tapes of every start, each once.
    fn tapes(&mut self) {
        let mut done: Vec<Reel> = Vec::new();
        for start in &self.plan.starts {
            match reels(self.plan, start, &BTreeMap::new()) {
                Ok(reels) => {
                    for reel in reels {
                        if !done.iter().any(|other| other.tape == reel.tape && other.bytes == reel.bytes) {
                            self.tape(&reel, done.iter().filter(|other| other.tape == reel.tape).count());
                            done.push(reel);
                        }
                    }
                }
                Err(problems) => self.problems.append(problems),
            }
        }
    }

    /// A tape as bytes, as a picture, and as a recording if one is wanted; `before` tapes of the name hold other programs.
    fn tape(&mut self, reel: &Reel, before: usize) {
        let tape = &self.plan.tapes[reel.tape];
        let stem = match before {
            0 => format!("tape-{}", slug(&tape.name)),
            before => format!("tape-{}-{}", slug(&tape.name), before + 1),
        };
        self.group = format!("Tape {}", tape.name);
        self.add(&format!("Frames, {}", reel.bytes.len()), format!("{stem}.bin"), reel.bytes.clone());
        let punched = [tape.lettering.as_slice(), &reel.bytes].concat();
        self.picture(reel, &punched, &stem);
        if !tape.lettering.is_empty() {
            let title = format!("Frames to punch, lettering first, {}", punched.len());
            self.add(&title, format!("{stem}-punch.bin"), punched);
        }
        if let Some(sound) = &tape.sound {
            self.recording(reel, sound, &stem);
        }
    }

    fn picture(&mut self, reel: &Reel, punched: &[u8], stem: &str) {
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
        match picture::to_read(punched, &title, &labels, PageSize::A4) {
            Ok(drawing) => self.add_pages("Picture", &format!("{stem}-picture"), &drawing, None),
            Err(problem) => self.problems.push(problem),
        }
    }

    fn recording(&mut self, reel: &Reel, sound: &MachineSound, stem: &str) {
        match recording(&reel.bytes, sound) {
            Ok((wav, seconds)) => self.add(&format!("Recording, {seconds:.0} s"), format!("{stem}.wav"), wav),
            Err(error) => {
                let headline = format!("the tape `{}` cannot be recorded: {error}", self.plan.tapes[reel.tape].name);
                self.problems.push(Diagnostic::error(Code::TapeUnfit, headline));
            }
        }
    }

    /// What concerns the chain as a whole: run cards, the map of memory.
    fn chain(&mut self) {
        self.group = "The chain".into();
        for start in &self.plan.starts {
            self.card(start);
        }
        let map = memory_map::draw(self.plan);
        if let Some(page) = map.pages.first() {
            self.add("Map of memory, to scale", "memory.svg".into(), svg::write_page(page, &map.title));
        }
        self.add("Map of memory, to print", "memory.pdf".into(), pdf::write(&map));
    }

    fn card(&mut self, start: &Start) {
        let Some(card) = card::card(self.plan, start, self.sources) else { return };
        let (title, stem) = match start.name.as_str() {
            "" => ("Run card".to_owned(), "card".to_owned()),
            name => (format!("Run card {name}"), format!("card-{}", slug(name))),
        };
        self.add_pages(&title, &stem, &card.draw(Paper::A4), Some(card.text()));
    }
}
