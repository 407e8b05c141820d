//! What was made of the files that an editor has open.

use std::sync::Arc;

use crate::assembler::{self, Loader, Options};
use crate::disassembly::Hints;
use crate::disk;
use crate::notation::Notation;
use crate::project::{self, Files, Machine, Plan, Surveyed};
use crate::source::{Diagnostic, Diagnostics, Origin, Position, SourceId, SourceMap};
use crate::tape::framing;

/// What a text by itself is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An assembly source.
    Source,
    /// A machine file.
    Machine,
    /// A framing file.
    Framing,
    /// A layout file.
    Layout,
    /// A hints file.
    Hints,
}

/// A chain, or a file by itself, as it was read.
pub struct View {
    /// All texts of it.
    pub sources: SourceMap,
    /// All that is wrong and what is warned of, in the order of the texts.
    pub problems: Vec<Diagnostic>,
    /// The machine, as far as its file is right.
    pub machine: Option<Machine>,
    /// The chain, if nothing but its size is wrong with it.
    pub plan: Option<Plan>,
    /// Its sources, assembled as its stages have them; a source by itself has no name.
    pub programs: Vec<Surveyed>,
    /// The text that was asked for: the chain file, or the file by itself.
    pub root: SourceId,
    /// What the file is; nothing for a chain.
    pub kind: Option<Kind>,
}

impl View {
    /// A chain with all that it names.
    pub fn of_chain(name: &str, text: impl Into<Vec<u8>>, files: &mut dyn Files) -> View {
        let mut sources = SourceMap::default();
        let root = sources.add(name, text, Origin::Given);
        let survey = project::survey(&mut sources, root, files);
        let problems = survey.problems.sorted(&sources);
        let (machine, plan, programs) = (survey.machine, survey.plan, survey.stages);
        View { sources, problems, machine, plan, programs, root, kind: None }
    }

    /// A source by itself.
    pub fn of_source(name: &str, text: impl Into<Vec<u8>>, loader: &mut dyn Loader) -> View {
        let mut sources = SourceMap::default();
        let root = sources.add(name, text, Origin::Given);
        let options = Options { keep_lines: true, ..Options::default() };
        let mut assembly = assembler::assemble(&mut sources, root, &options, loader);
        assembly.export_symbols();
        let problems = std::mem::take(&mut assembly.diagnostics).sorted(&sources);
        let own = Surveyed {
            name: String::new(),
            root,
            definitions: Vec::new(),
            defined_at: Vec::new(),
            home: None,
            assembly: Arc::new(assembly),
        };
        View { sources, problems, machine: None, plan: None, programs: vec![own], root, kind: Some(Kind::Source) }
    }

    /// A TOML file that no chain names: what it is follows from the reader that refuses least of it.
    pub fn of_toml(name: &str, text: impl Into<Vec<u8>>) -> View {
        let mut sources = SourceMap::default();
        let root = sources.add(name, text, Origin::Given);
        let kinds = [Kind::Machine, Kind::Framing, Kind::Layout, Kind::Hints];
        let read = kinds.map(|kind| (kind, read(kind, &sources, root)));
        let best = read.into_iter().min_by_key(|(_, (_, problems))| problems.len() + problems.dropped());
        let (kind, (machine, problems)) = best.unwrap_or((Kind::Machine, (None, Diagnostics::default())));
        let problems = problems.sorted(&sources);
        View { sources, problems, machine, plan: None, programs: Vec::new(), root, kind: Some(kind) }
    }

    /// How numbers are written for whoever stands at the machine.
    pub fn notation(&self) -> Notation {
        self.machine.as_ref().map(|machine| machine.panel.notation).unwrap_or_default()
    }

    /// The texts of a file: one for every time that it was read.
    pub fn texts<'a>(&'a self, name: &'a str) -> impl Iterator<Item = SourceId> + 'a {
        self.sources.ids().filter(move |&id| {
            let source = self.sources.get(id);
            !matches!(source.origin(), Origin::Expanded(..)) && source.name() == name
        })
    }

    /// The program in which a text was read.
    pub fn program_of(&self, source: SourceId) -> Option<&Surveyed> {
        let root = self.sources.root(Position { source, offset: 0 }).source;
        self.programs.iter().find(|program| program.root == root)
    }

    /// The programs that a place of a file belongs to, each with its own text of that file.
    pub fn programs_at<'a>(&'a self, name: &'a str) -> impl Iterator<Item = (SourceId, &'a Surveyed)> + 'a {
        self.texts(name).filter_map(|id| Some((id, self.program_of(id)?)))
    }

    /// The place in a file at which a place of an expansion was asked for.
    pub fn in_file(&self, position: Position) -> Position {
        let mut position = position;
        while let Origin::Expanded(at, _) = self.sources.get(position.source).origin() {
            position = at.position();
        }
        position
    }
}

/// Reads a TOML text as one kind of file.
fn read(kind: Kind, sources: &SourceMap, id: SourceId) -> (Option<Machine>, Diagnostics) {
    let mut problems = Diagnostics::default();
    let mut machine = None;
    match kind {
        Kind::Machine => match Machine::read(sources, id) {
            Ok(found) => machine = Some(found),
            Err(found) => problems = found,
        },
        Kind::Framing => drop(framing::load(sources, id, Notation::default(), &mut problems)),
        Kind::Layout => drop(disk::load(sources, id, Notation::default(), &mut problems)),
        Kind::Hints | Kind::Source => drop(Hints::read(sources, id, &mut problems)),
    }
    (machine, problems)
}
