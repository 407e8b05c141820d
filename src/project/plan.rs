//! The checked plan of a chain: stages with their images, tapes, and the ways to start.

use super::audit;
use super::chain_file::{self, ChainFile, HomeEntry, Placed, Program, StageEntry};
use super::machine::Machine;
use crate::assembler::{self, Assembly, Loader, Options};
use crate::audio::Preset;
use crate::image::Image;
use crate::image::format::{self, Format};
use crate::notation::{Address, Notation};
use crate::panel;
use crate::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceId, SourceMap, Span, nearest};
use crate::tape::framing::{self, Framing};

/// A chain, ready to be built or rehearsed.
pub struct Plan {
    /// Its name.
    pub name: String,
    /// The machine it runs on.
    pub machine: Machine,
    /// Seconds of the machine's time after which a stage counts as endless.
    pub limit: u32,
    /// Stages, in the order of the file.
    pub stages: Vec<Stage>,
    /// Tapes, in the order in which stages name them.
    pub tapes: Vec<Tape>,
    /// Formats in which the image of every stage is wanted.
    pub formats: Vec<Format>,
    /// Ways to start; at least one.
    pub starts: Vec<Start>,
}

/// One program of the chain.
pub struct Stage {
    /// Its name.
    pub name: String,
    /// The file it is made from, as shown.
    pub file: String,
    /// Where its name stands in the chain file.
    pub span: Span,
    /// Where it comes from.
    pub home: Home,
    /// Its bytes.
    pub image: Image,
    /// Where it starts.
    pub entry: Address,
    /// Which of its bytes are instructions; none if it is made from a bare image.
    pub code: Option<CodeMap>,
    /// The assembly behind it; none if it is made from a bare image.
    pub assembly: Option<Assembly>,
    /// How it expects the sense switches to stand.
    pub sense: Option<Placed<u8>>,
    /// Stages, by number, over which it may be loaded while they load it.
    pub over: Vec<usize>,
    /// Machine cycles of the lights sheet that is wanted of it.
    pub lights: Option<u64>,
}

/// Where a stage comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Home {
    /// It is deposited by hand; at most so many bytes.
    Panel(Option<usize>),
    /// It lies in a socket, by number.
    Socket(usize),
    /// It is read from a tape.
    Tape {
        /// Which tape, by number.
        tape: usize,
        /// How it is written there.
        framing: Box<Framing>,
    },
}

/// A tape of the chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Tape {
    /// Its name.
    pub name: String,
    /// The serial interface through which it is read, by number.
    pub serial: usize,
    /// Seconds from the start of the stage that reads it to the first character.
    pub after: f64,
    /// How it is recorded, if that is wanted.
    pub sound: Option<&'static Preset>,
}

/// A way to start.
#[derive(Clone, Debug, PartialEq)]
pub struct Start {
    /// What it is called; empty if there is only one.
    pub name: String,
    /// Its stages, by number, in the order in which they run; never empty.
    pub stages: Vec<usize>,
    /// Sockets, by number, that are empty.
    pub empty: Vec<usize>,
    /// How the sense switches stand.
    pub sense: u8,
}

/// Which addresses, at run time, hold instructions.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CodeMap {
    /// First bytes of instructions, rising.
    pub opcodes: Vec<u16>,
    /// Ports that an `IN` reads or an `OUT` writes, with the places of the instructions.
    pub ports: Vec<PortUse>,
}

/// An instruction that names a port.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PortUse {
    /// The port.
    pub port: u8,
    /// Whether it is an `OUT`.
    pub output: bool,
    /// Where it stands.
    pub span: Span,
}

/// Where a plan's files come from.
pub trait Files: Loader {
    /// The name under which the file is shown, and its bytes; `path` is relative to the chain file.
    ///
    /// # Errors
    /// A diagnostic if it cannot be read.
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic>;
}

/// Reads a chain file and everything it names, and checks the whole. There is a plan only if nothing is wrong; warnings
/// may be among the problems.
pub fn load(sources: &mut SourceMap, chain: SourceId, files: &mut dyn Files) -> (Option<Plan>, Diagnostics) {
    let mut problems = Diagnostics::default();
    let Some(file) = chain_file::read(sources, chain, &mut problems) else { return (None, problems) };
    let mut planner = Planner { sources, files, problems };
    let plan = planner.plan(file);
    let mut problems = planner.problems;
    if let Some(plan) = plan.as_ref().filter(|_| !problems.has_errors()) {
        audit::audit(plan, &mut problems);
    }
    (plan.filter(|_| !problems.has_errors()), problems)
}

struct Planner<'a> {
    sources: &'a mut SourceMap,
    files: &'a mut dyn Files,
    problems: Diagnostics,
}

impl Planner<'_> {
    fn plan(&mut self, file: ChainFile) -> Option<Plan> {
        audit::unique(file.stages.iter().map(|stage| &stage.name), "stage", &mut self.problems);
        audit::unique(file.tapes.iter().map(|tape| &tape.name), "tape", &mut self.problems);
        audit::unique(file.starts.iter().map(|start| &start.name), "start", &mut self.problems);
        let machine = self.machine(&file.machine)?;
        let tapes = self.tapes(&file, &machine);
        let names: Vec<_> = file.stages.iter().map(|stage| stage.name.value.clone()).collect();
        let stages: Vec<_> =
            file.stages.iter().filter_map(|entry| self.stage(entry, &machine, &tapes, &names)).collect();
        if stages.len() < file.stages.len() || stages.is_empty() {
            return None;
        }
        let starts = self.starts(&file, &machine, &stages, &names);
        let ChainFile { name, limit, formats, .. } = file;
        Some(Plan { name, machine, limit, stages, tapes, formats, starts })
    }

    fn machine(&mut self, path: &Placed<String>) -> Option<Machine> {
        let id = self.text(path)?;
        match Machine::read(self.sources, id) {
            Ok(machine) => Some(machine),
            Err(problems) => {
                self.problems.append(problems);
                None
            }
        }
    }

    /// A file beside the chain file, as a source of the run.
    fn text(&mut self, path: &Placed<String>) -> Option<SourceId> {
        let (name, bytes) = self.bytes(path)?;
        Some(self.sources.add(name, bytes, Origin::Given))
    }

    fn bytes(&mut self, path: &Placed<String>) -> Option<(String, Vec<u8>)> {
        self.files.read(&path.value).map_err(|problem| self.problems.push(problem.at(path.span, "named here"))).ok()
    }

    /// Every tape that a stage names, with what the file says of it.
    fn tapes(&mut self, file: &ChainFile, machine: &Machine) -> Vec<Tape> {
        let mut tapes: Vec<Tape> = Vec::new();
        for stage in &file.stages {
            let HomeEntry::Tape { tape, .. } = &stage.home.value else { continue };
            if tapes.iter().any(|known| known.name == tape.value) {
                continue;
            }
            let entry = file.tapes.iter().find(|entry| entry.name.value == tape.value);
            let line = entry.and_then(|entry| entry.line.as_ref());
            let serial = self.serial(line, tape.span, machine);
            let after = entry.map_or(chain_file::USUAL_DELAY, |entry| entry.after);
            tapes.push(Tape {
                name: tape.value.clone(),
                serial: serial.unwrap_or(0),
                after,
                sound: entry.and_then(|entry| entry.sound),
            });
        }
        for entry in file.tapes.iter().filter(|entry| !tapes.iter().any(|tape| tape.name == entry.name.value)) {
            let headline = format!("no stage is on the tape `{}`", entry.name.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(entry.name.span, "this tape");
            self.problems.push(suggest(problem, &entry.name.value, tapes.iter().map(|tape| tape.name.as_str())));
        }
        tapes
    }

    /// The interface of a tape: the one named, or the only one with a line.
    fn serial(&mut self, name: Option<&Placed<String>>, tape: Span, machine: &Machine) -> Option<usize> {
        let lines: Vec<_> = machine.serial.iter().enumerate().filter(|(_, serial)| serial.line.is_some()).collect();
        let names = || lines.iter().map(|(_, serial)| serial.name.as_str());
        let Some(name) = name else {
            if let [(only, _)] = lines.as_slice() {
                return Some(*only);
            }
            let headline = "it is not known through which interface this tape is read".to_owned();
            let help = match lines.is_empty() {
                true => "the machine file needs a `[[serial]]` with a `line`".into(),
                false => format!("add `[[tape]]` with `line`, one of: {}", names().collect::<Vec<_>>().join(", ")),
            };
            self.problems.push(Diagnostic::error(Code::LineUnknown, headline).at(tape, "this tape").with_help(help));
            return None;
        };
        let found = lines.iter().find(|(_, serial)| serial.name == name.value).map(|(number, _)| *number);
        if found.is_none() {
            let headline = format!("the machine has no interface `{}` with a line", name.value);
            let problem = Diagnostic::error(Code::LineUnknown, headline).at(name.span, "named here");
            self.problems.push(suggest(problem, &name.value, names()));
        }
        found
    }

    fn stage(&mut self, entry: &StageEntry, machine: &Machine, tapes: &[Tape], names: &[String]) -> Option<Stage> {
        let home = self.home(entry, machine, tapes);
        let made = self.make(entry)?;
        let start = entry.entry.or(made.image.entry);
        if start.is_none() {
            let headline = format!("it is not known where the stage `{}` starts", entry.name.value);
            let problem = Diagnostic::error(Code::EntryMissing, headline).at(entry.name.span, "this stage");
            self.problems
                .push(problem.with_help("end its source with `END` and the label, or give the stage an `entry`"));
        }
        let over = entry.over.iter().filter_map(|name| self.known(name, names, "stage")).collect();
        let mut image = made.image;
        image.entry = start;
        Some(Stage {
            name: entry.name.value.clone(),
            file: made.file,
            span: entry.name.span,
            home: home?,
            image,
            entry: start?,
            code: made.code,
            assembly: made.assembly,
            sense: entry.sense.clone(),
            over,
            lights: entry.lights,
        })
    }

    fn home(&mut self, entry: &StageEntry, machine: &Machine, tapes: &[Tape]) -> Option<Home> {
        match &entry.home.value {
            HomeEntry::Panel(limit) => Some(Home::Panel(*limit)),
            HomeEntry::Socket(name) => {
                let names: Vec<_> = machine.sockets.iter().map(|socket| socket.name.clone()).collect();
                self.known(name, &names, "socket").map(Home::Socket)
            }
            HomeEntry::Tape { tape, framing } => {
                let number = tapes.iter().position(|known| known.name == tape.value)?;
                Some(Home::Tape { tape: number, framing: Box::new(self.framing(framing)?) })
            }
        }
    }

    fn framing(&mut self, name: &Placed<String>) -> Option<Framing> {
        if !name.value.ends_with(".toml") {
            let found = framing::bundled(&name.value);
            if found.is_none() {
                self.problems.push(framing::unknown(&name.value).at(name.span, "named here"));
            }
            return found;
        }
        let id = self.text(name)?;
        framing::load(self.sources, id, &mut self.problems)
    }

    /// The number of a name among those that are known.
    fn known(&mut self, name: &Placed<String>, names: &[String], what: &str) -> Option<usize> {
        let found = names.iter().position(|known| *known == name.value);
        if found.is_none() {
            let headline = format!("there is no {what} `{}`", name.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(name.span, "named here");
            self.problems.push(suggest(problem, &name.value, names.iter().map(String::as_str)));
        }
        found
    }

    fn make(&mut self, entry: &StageEntry) -> Option<Made> {
        match &entry.program.value {
            Program::Source(path) => self.assemble(entry, path),
            Program::Image(path) => self.read_image(entry, path),
        }
    }

    fn assemble(&mut self, entry: &StageEntry, path: &str) -> Option<Made> {
        let root = self.text(&Placed { value: path.to_owned(), span: entry.program.span })?;
        let options = Options { definitions: entry.definitions.clone(), warn_unused: false, keep_lines: true };
        let mut assembly = assembler::assemble(self.sources, root, &options, self.files);
        assembly.export_symbols();
        let problems = std::mem::take(&mut assembly.diagnostics);
        let failed = problems.has_errors();
        self.problems.append(problems);
        let code = code_map(&assembly);
        let image = assembly.image.clone();
        let file = self.sources.get(root).name().to_owned();
        (!failed).then_some(Made { file, image, code: Some(code), assembly: Some(assembly) })
    }

    fn read_image(&mut self, entry: &StageEntry, path: &str) -> Option<Made> {
        let (name, bytes) = self.bytes(&Placed { value: path.to_owned(), span: entry.program.span })?;
        let format = format::recognise(&bytes, &name);
        let format = format.map_err(|problem| self.problems.push(problem.at(entry.program.span, "named here"))).ok()?.0;
        let reading = format.read(bytes, &name, None, self.sources);
        let failed = reading.problems.has_errors();
        self.problems.append(reading.problems);
        (!failed).then_some(Made { file: name, image: reading.image, code: None, assembly: None })
    }

    fn starts(&mut self, file: &ChainFile, machine: &Machine, stages: &[Stage], names: &[String]) -> Vec<Start> {
        let sockets: Vec<_> = machine.sockets.iter().map(|socket| socket.name.clone()).collect();
        let mut starts = Vec::new();
        for entry in &file.starts {
            let list: Vec<_> = entry.stages.iter().filter_map(|name| self.known(name, names, "stage")).collect();
            let empty = entry.empty.iter().filter_map(|name| self.known(name, &sockets, "socket")).collect();
            if list.is_empty() {
                let headline = format!("the start `{}` has no stage", entry.name.value);
                self.problems.push(Diagnostic::error(Code::HomeUnknown, headline).at(entry.name.span, "this start"));
                continue;
            }
            let sense = audit::sense(&list, stages, machine, &mut self.problems);
            starts.push(Start { name: entry.name.value.clone(), stages: list, empty, sense });
        }
        if file.starts.is_empty() {
            let all: Vec<_> = (0..stages.len()).collect();
            let sense = audit::sense(&all, stages, machine, &mut self.problems);
            starts.push(Start { name: String::new(), stages: all, empty: Vec::new(), sense });
        }
        starts
    }
}

/// What a stage is made of, once it is made.
struct Made {
    file: String,
    image: Image,
    code: Option<CodeMap>,
    assembly: Option<Assembly>,
}

fn suggest<'a>(problem: Diagnostic, name: &str, known: impl Iterator<Item = &'a str>) -> Diagnostic {
    let known: Vec<_> = known.collect();
    match nearest(name, known.iter().copied()) {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None if known.is_empty() => problem.with_help("there are none"),
        None => problem.with_help(format!("known: {}", known.join(", "))),
    }
}

/// Where an assembly's instructions lie when they run, and which ports they name.
fn code_map(assembly: &Assembly) -> CodeMap {
    let mut map = CodeMap::default();
    for statement in &assembly.statements {
        let Some(mnemonic) = statement.instruction() else { continue };
        map.opcodes.push(statement.location);
        let output = match mnemonic.form().pattern {
            crate::isa::Pattern::Port => mnemonic == crate::isa::Mnemonic::Out,
            _ => continue,
        };
        let place = Address(statement.deposit()).wrapping_add(1);
        if let Some(port) = assembly.image.byte(place) {
            map.ports.push(PortUse { port, output, span: statement.span() });
        }
    }
    map.opcodes.sort_unstable();
    map.opcodes.dedup();
    map
}

impl CodeMap {
    /// Whether an address holds the first byte of an instruction.
    pub fn is_opcode(&self, address: Address) -> bool {
        self.opcodes.binary_search(&address.0).is_ok()
    }
}

impl Stage {
    /// The stage with what its source says beside each instruction.
    pub fn program(&self, sources: &SourceMap) -> panel::Program {
        match self.assembly {
            Some(_) => panel::Program::from_source(self.name.clone(), self.image.clone(), sources),
            None => panel::Program::from_bytes(self.name.clone(), self.image.clone(), Notation::default()),
        }
    }

    /// The place in a source that made the byte at an address.
    pub fn made_by(&self, address: Address) -> Option<Position> {
        self.image.made_by(address)
    }
}
