//! The bundled chains, ready to be played.

use std::path::{Path, PathBuf};

use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::faults::Theatre;
use coldwright::project::{Artefacts, Files, Id, Plan, Recordings, Start, load};
use coldwright::source::{Code, Diagnostic, Origin, SourceMap};

/// The folder of a chain.
struct Folder(PathBuf);

impl Files for Folder {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let bytes = std::fs::read(self.0.join(path));
        let bytes = bytes.map_err(|error| Diagnostic::error(Code::FileUnreadable, error.to_string()))?;
        Ok((path.to_owned(), bytes))
    }
}

impl Loader for Folder {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        match std::fs::read(self.0.join(name)) {
            Ok(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            Err(_) => built_in(name).ok_or_else(|| LoadError { reason: "no such file".into(), tried: Vec::new() }),
        }
    }
}

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
