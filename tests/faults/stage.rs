//! The bundled chains, ready to be played.

use std::path::Path;

use coldwright::faults::Theatre;
use coldwright::project::{Artefacts, Files, Id, Plan, Recordings, Start, load};
use coldwright::source::{Origin, SourceMap};

use super::folder::Folder;

/// A chain with all that is made of it.
pub struct Chain {
    pub plan: Plan,
    pub sources: SourceMap,
    pub made: Artefacts,
}

impl Chain {
    pub fn new(name: &str) -> Chain {
        let mut folder = Folder(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name));
        let mut sources = SourceMap::default();
        let (name, text) = folder.read("coldwright.toml").unwrap();
        let id = sources.add(name, text, Origin::Given);
        let plan = load(&mut sources, id, &mut folder).0.unwrap();
        let made = Artefacts::make(&plan, &sources, Recordings::Left).unwrap();
        Chain { plan, sources, made }
    }

    pub fn starts(&self) -> Vec<Id<Start>> {
        self.plan.starts.numbered().map(|(start, _)| start).collect()
    }

    pub fn theatre(&self, start: Id<Start>) -> Theatre {
        Theatre::new(&self.plan, &self.made, start).unwrap()
    }
}
