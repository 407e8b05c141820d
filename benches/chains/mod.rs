//! The bundled chains, read from their folders.

use std::path::{Path, PathBuf};

use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::project::{Files, Plan, load};
use coldwright::source::{Code, Diagnostic, Origin, SourceMap};

struct Disk(PathBuf);

impl Files for Disk {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let bytes = std::fs::read(self.0.join(path));
        let bytes = bytes.map_err(|error| Diagnostic::error(Code::FileUnreadable, error.to_string()))?;
        Ok((path.to_owned(), bytes))
    }
}

impl Loader for Disk {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        match std::fs::read(self.0.join(name)) {
            Ok(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            Err(_) => built_in(name).ok_or_else(|| LoadError { reason: "no such file".into(), tried: Vec::new() }),
        }
    }
}

/// The chain of a name, with its sources.
pub fn chain(name: &str) -> (Plan, SourceMap) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let mut sources = SourceMap::default();
    let mut disk = Disk(folder);
    let (name, text) = disk.read("coldwright.toml").expect("the example is there");
    let id = sources.add(name, text, Origin::Given);
    let (plan, _) = load(&mut sources, id, &mut disk);
    (plan.expect("the example is well"), sources)
}
