//! Files as an editor has them: what is open comes before what is stored.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::super::files;
use super::super::source_file::{reason, shown};
use super::documents::{Documents, tidy};
use coldwright::assembler::{LoadError, Loaded, Loader, built_in};
use coldwright::project::Files;
use coldwright::source::{Code, Diagnostic, SourceMap};

/// The files of a chain, or of a source by itself, with what is open in place of what is stored.
pub struct Desk<'a> {
    /// What is open.
    documents: &'a Documents,
    /// The folder of the chain file, where included files are looked for besides that of the file that includes.
    folder: Option<PathBuf>,
    /// Texts that stand for those of files, whatever is open.
    instead: Option<&'a BTreeMap<String, String>>,
}

impl<'a> Desk<'a> {
    /// The files beside a file.
    pub fn beside(file: &str, is_chain: bool, documents: &'a Documents) -> Desk<'a> {
        let folder = is_chain.then(|| Path::new(file).parent().unwrap_or(Path::new("")).to_owned());
        Desk { documents, folder, instead: None }
    }

    /// The same with texts in place of those of some files.
    pub fn with(mut self, instead: &'a BTreeMap<String, String>) -> Desk<'a> {
        self.instead = Some(instead);
        self
    }

    /// The bytes of a file.
    ///
    /// # Errors
    /// Why it cannot be read.
    pub fn bytes(&mut self, path: &Path) -> Result<(String, Vec<u8>), Diagnostic> {
        let name = shown(&tidy(path));
        let bytes = match self.open(&name) {
            Some(text) => text.as_bytes().to_vec(),
            None => files::read(Path::new(&name))?,
        };
        if bytes.len() > SourceMap::LONGEST {
            return Err(Diagnostic::error(Code::FileUnreadable, format!("`{name}` is too large")));
        }
        Ok((name, bytes))
    }

    fn open(&self, name: &str) -> Option<&str> {
        let instead = self.instead.and_then(|texts| texts.get(name)).map(String::as_str);
        instead.or_else(|| self.documents.get(name).map(|document| document.text.as_str()))
    }

    fn is_there(&self, path: &Path) -> bool {
        self.open(&shown(&tidy(path))).is_some() || path.exists()
    }
}

impl Files for Desk<'_> {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let folder = self.folder.clone().unwrap_or_default();
        self.bytes(&folder.join(path))
    }
}

impl Loader for Desk<'_> {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        let own = Path::new(from).parent().map(Path::to_owned).filter(|_| !is_built_in(from));
        let mut tried = Vec::new();
        for folder in own.into_iter().chain(self.folder.clone()) {
            let path = folder.join(name);
            if !self.is_there(&path) {
                tried.push(shown(&path));
                continue;
            }
            let (name, bytes) =
                self.bytes(&path).map_err(|problem| LoadError { reason: reason(&problem), tried: Vec::new() })?;
            return Ok(Loaded { identity: self.identity(&name), name, bytes });
        }
        built_in(name).ok_or_else(|| {
            tried.push("the built-in library".into());
            LoadError { reason: "no such file".into(), tried }
        })
    }

    fn identity(&self, name: &str) -> String {
        shown(&Path::new(name).canonicalize().unwrap_or_else(|_| PathBuf::from(name)))
    }
}

/// Whether a text is one of the built-in library, which lies in no folder.
pub fn is_built_in(name: &str) -> bool {
    name.starts_with("stdlib/")
}
