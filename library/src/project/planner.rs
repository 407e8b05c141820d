//! From the chain file to the plan: every file that it names is read, every name in it looked up.
//!
//! Nothing stops at the first mistake: what can still be looked up is, so that one run tells all mistakes of all files.

use super::audit;
use super::chain_file::{self, ChainFile, HomeEntry, StageEntry};
use super::entries::Placed;
use super::listed::{Id, Listed};
use super::machine::Machine;
use super::machine_file::{self, MachineFile};
use super::plan::{ChainDisk, Files, Home, Plan, Stage, Start};
use super::survey::{Survey, Surveyed};
use crate::image::entry_outside;
use crate::notation::{Both, Notation};
use crate::rom::Socket;
use crate::source::{Code, Diagnostic, Diagnostics, Origin, Severity, SourceId, SourceMap, Span, nearest};
use crate::tape::framing::{self, Framing};

/// Reads a chain file and everything it names, and checks the whole. There is a plan only if nothing is wrong; warnings
/// may be among the problems.
pub fn load(sources: &mut SourceMap, chain: SourceId, files: &mut dyn Files) -> (Option<Plan>, Diagnostics) {
    let (plan, problems) = draft(sources, chain, files);
    (plan.filter(|_| !problems.has_errors()), problems)
}

/// As [`load`], but the plan is there too if all that is wrong is that programs do not fit where they belong.
pub fn draft(sources: &mut SourceMap, chain: SourceId, files: &mut dyn Files) -> (Option<Plan>, Diagnostics) {
    let Survey { plan, problems, .. } = survey(sources, chain, files);
    (plan, problems)
}

/// As [`draft`], with what there is of the chain where it is wrong: its machine, and what became of every source.
pub fn survey(sources: &mut SourceMap, chain: SourceId, files: &mut dyn Files) -> Survey {
    let mut problems = Diagnostics::default();
    let Some(file) = chain_file::read(sources, chain, &mut problems) else {
        return Survey { plan: None, machine: None, stages: Vec::new(), problems };
    };
    let mut planner = Planner { sources, files, problems, machine: None, assembled: Vec::new() };
    let plan = planner.plan(file);
    let Planner { mut problems, machine, assembled: stages, .. } = planner;
    if let Some(plan) = &plan {
        audit::audit(plan, &mut problems);
    }
    let is_wrong = |it: &Diagnostic| it.severity == Severity::Error && !is_misfit(it);
    Survey { plan: plan.filter(|_| !problems.iter().any(is_wrong)), machine, stages, problems }
}

/// Whether all that is wrong is that a program has too many bytes.
pub fn is_misfit(problem: &Diagnostic) -> bool {
    matches!(problem.code, Code::SocketOverflow | Code::PanelLimit | Code::LimitExceeded | Code::PastTop)
}

/// Puts a plan together and collects what is wrong.
pub(super) struct Planner<'a> {
    pub(super) sources: &'a mut SourceMap,
    pub(super) files: &'a mut dyn Files,
    pub(super) problems: Diagnostics,
    /// The machine, as far as its file is right.
    machine: Option<Machine>,
    /// What became of the sources, in the order of the stages.
    pub(super) assembled: Vec<Surveyed>,
}

impl Planner<'_> {
    fn plan(&mut self, file: ChainFile) -> Option<Plan> {
        audit::unique(file.stages.iter().map(|stage| &stage.name), "stage", &mut self.problems);
        audit::unique(file.tapes.iter().map(|tape| &tape.name), "tape", &mut self.problems);
        audit::unique(file.disks.iter().map(|disk| &disk.name), "disk", &mut self.problems);
        audit::unique(file.starts.iter().map(|start| &start.name), "start", &mut self.problems);
        let (machine, machine_file, sound) = self.machine(&file);
        let tapes = self.tapes(&file, machine.as_ref());
        let disks = self.disks(&file, machine.as_ref());
        self.disks_used(&file);
        let names: Vec<_> = file.stages.iter().map(|stage| stage.name.value.clone()).collect();
        let tape_names: Vec<_> = tapes.iter().map(|tape| tape.name.as_str()).collect();
        let mut stages = Vec::new();
        for entry in &file.stages {
            let home = self.home(entry, machine.as_ref(), &tape_names, (&file, &disks));
            stages.extend(self.stage(entry, home, &names));
        }
        let checked = machine.as_ref().filter(|_| sound).map(|file| &file.machine);
        let starts = self.starts(&file, machine.as_ref(), checked, &names);
        if stages.len() < file.stages.len() || stages.is_empty() || !sound {
            return None;
        }
        let disks: Option<Vec<_>> = disks.into_iter().collect();
        let ChainFile { name, limit, formats, .. } = file;
        Some(Plan {
            name,
            machine: machine?.machine,
            machine_file,
            limit,
            stages: stages.into(),
            tapes: tapes.into(),
            disks: disks?.into(),
            formats,
            starts,
        })
    }

    /// The machine file, if it can be read, its name as shown, and whether all of it is right.
    fn machine(&mut self, file: &ChainFile) -> (Option<MachineFile>, String, bool) {
        let named = file.machine.as_ref().and_then(|path| self.text(&path.value, path.span));
        let Some(id) = named else { return (None, String::new(), false) };
        let mut own = Diagnostics::default();
        let machine = machine_file::read(self.sources, id, &mut own);
        let sound = !own.has_errors();
        self.problems.append(own);
        self.machine = machine.as_ref().map(|file| file.machine.clone());
        (machine, self.sources.get(id).name().to_owned(), sound)
    }

    /// A file beside the chain file, as a source of the run; `spot` is where it is named.
    pub(super) fn text(&mut self, path: &str, spot: Span) -> Option<SourceId> {
        let (name, bytes) = self.bytes(path, spot)?;
        Some(self.sources.add(name, bytes, Origin::Given))
    }

    /// The name and the bytes of a file beside the chain file.
    pub(super) fn bytes(&mut self, path: &str, spot: Span) -> Option<(String, Vec<u8>)> {
        self.files.read(path).map_err(|problem| self.problems.push(problem.at(spot, "named here"))).ok()
    }

    fn stage(&mut self, entry: &StageEntry, home: Option<Home>, names: &[String]) -> Option<Stage> {
        let over = entry.over.iter().filter_map(|name| self.known(name, names, "stage")).map(Id::new).collect();
        let made = self.make(entry, home.as_ref())?;
        let start = entry.entry.or(made.image.entry);
        if start.is_none() {
            let headline = format!("it is not known where the stage `{}` starts", entry.name.value);
            let problem = Diagnostic::error(Code::EntryMissing, headline).at(entry.name.span, "this stage");
            self.problems
                .push(problem.with_help("end its source with `END` and the label, or give the stage an `entry`"));
        }
        let outside = entry.entry.and_then(|at| entry_outside(&made.image, at));
        self.problems.extend(outside.map(|problem| problem.at(entry.name.span, "the `entry` of this stage")));
        let begins = start.zip(made.code.as_ref()).and_then(|(at, code)| code.begins_before(&made.image, at));
        if let (Some(at), Some(begins)) = (start, begins) {
            let name = &entry.name.value;
            let headline = format!("the stage `{name}` starts at {}, the middle of an instruction", Both(at));
            let problem = Diagnostic::warning(Code::JumpInside, headline).at(entry.name.span, "this stage");
            let place = made.image.made_by(begins).map(|place| place.span());
            let problem = place.into_iter().fold(problem, |it, span| it.and_at(span, "it is inside this one"));
            self.problems.push(problem.with_help(format!("this one begins at {}", Both(begins))));
        }
        let mut image = made.image;
        image.entry = start;
        Some(Stage {
            name: entry.name.value.clone(),
            file: made.file,
            root: made.root,
            definitions: entry.constants(),
            span: entry.name.span,
            home: home?,
            image,
            entry: start?,
            entry_given: entry.entry.is_some(),
            code: made.code,
            assembly: made.assembly,
            sense: entry.sense.clone(),
            over,
            lights: entry.lights,
        })
    }

    fn home(
        &mut self,
        entry: &StageEntry,
        machine: Option<&MachineFile>,
        tapes: &[&str],
        (file, disks): (&ChainFile, &[Option<ChainDisk>]),
    ) -> Option<Home> {
        match entry.home.as_ref()? {
            HomeEntry::Panel(limit) => Some(Home::Panel(*limit)),
            HomeEntry::Sockets(names) => {
                audit::once(names, &format!("the stage `{}`", entry.name.value), "socket", &mut self.problems);
                let found: Vec<_> = names.iter().filter_map(|name| self.socket(name, machine?)).collect();
                (found.len() == names.len()).then_some(Home::Sockets(found))
            }
            HomeEntry::Tape { tape, framing } => {
                let notation = machine.map_or_else(Notation::default, |file| file.machine.panel.notation);
                let framing = Box::new(self.framing(framing.as_ref()?, notation)?);
                let tape = Id::new(tapes.iter().position(|known| *known == tape.value)?);
                Some(Home::Tape { tape, framing })
            }
            HomeEntry::Disk { disk, area } => self.disk_home(disk, area.as_ref()?, file, disks),
        }
    }

    fn socket(&mut self, name: &Placed<String>, machine: &MachineFile) -> Option<Id<Socket>> {
        let names: Vec<_> = machine.sockets.iter().map(|socket| socket.value.clone()).collect();
        self.known(name, &names, "socket").map(Id::new)
    }

    fn framing(&mut self, name: &Placed<String>, notation: Notation) -> Option<Framing> {
        if !name.value.ends_with(".toml") {
            let found = framing::bundled(&name.value);
            if found.is_none() {
                self.problems.push(framing::unknown(&name.value).at(name.span, "named here"));
            }
            return found;
        }
        let id = self.text(&name.value, name.span)?;
        framing::load(self.sources, id, notation, &mut self.problems)
    }

    /// The number of a name among those that are known.
    pub(super) fn known(&mut self, name: &Placed<String>, names: &[String], what: &str) -> Option<usize> {
        let found = names.iter().position(|known| *known == name.value);
        if found.is_none() {
            let headline = format!("there is no {what} `{}`", name.value);
            let problem = Diagnostic::error(Code::HomeUnknown, headline).at(name.span, "named here");
            self.problems.push(suggest(problem, &name.value, names.iter().map(String::as_str)));
        }
        found
    }

    /// The ways to start; `checked` is the machine if all of its file is right.
    fn starts(
        &mut self,
        file: &ChainFile,
        machine: Option<&MachineFile>,
        checked: Option<&Machine>,
        names: &[String],
    ) -> Listed<Start> {
        let mut starts = Vec::new();
        for entry in &file.starts {
            let whose = format!("the start `{}`", entry.name.value);
            audit::once(&entry.stages, &whose, "stage", &mut self.problems);
            audit::once(&entry.empty, &whose, "empty socket", &mut self.problems);
            audit::empty(entry, &file.stages, &mut self.problems);
            let known = |name| self.known(name, names, "stage");
            let stages: Vec<_> = entry.stages.iter().filter_map(known).map(Id::new).collect();
            let empty = entry.empty.iter().filter_map(|name| self.socket(name, machine?)).collect();
            starts.push((entry.name.value.clone(), stages, empty));
        }
        if file.starts.is_empty() {
            starts.push((String::new(), (0..names.len()).map(Id::new).collect(), Vec::new()));
        }
        let start = |(name, stages, empty): (_, Vec<Id<Stage>>, _)| {
            let list: Vec<_> = stages.iter().map(|&number| &file.stages[number.place()]).collect();
            let sense = audit::sense(&list, checked, &mut self.problems);
            Start { name, stages, empty, sense }
        };
        starts.into_iter().map(start).collect()
    }
}

/// Adds the names that would have been right.
pub(super) fn suggest<'a>(problem: Diagnostic, name: &str, known: impl Iterator<Item = &'a str>) -> Diagnostic {
    let known: Vec<_> = known.filter(|known| !known.is_empty()).collect();
    let problem = problem.with_known(known.iter().copied());
    match nearest(name, known.iter().copied()) {
        Some(near) => problem.with_near(near),
        None if known.is_empty() => problem.with_help("there are none"),
        None => problem.with_help(format!("known: {}", known.join(", "))),
    }
}
