//! The folder of a chain, from which everything of it is read.

use std::path::PathBuf;

use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::project::Files;
use coldwright::source::{Code, Diagnostic};

/// A folder; what it has not is looked for in the library.
pub struct Folder(pub PathBuf);

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
