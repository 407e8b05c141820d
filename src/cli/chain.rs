//! Chains from files: what every command about a chain shares.

use std::path::{Path, PathBuf};

use super::files;
use super::report::Report;
use super::source_file::{Disk, shown};
use crate::assembler::{LoadError, Loaded, Loader};
use crate::project::{self, Files, Plan};
use crate::source::{Diagnostic, Origin, SourceMap};

/// The chain file of a folder.
pub const CHAIN_FILE: &str = "coldwright.toml";

/// The chain file that an argument means: a folder's, or the file itself.
pub fn chain_file(path: &Path) -> PathBuf {
    let file = if path.is_dir() { path.join(CHAIN_FILE) } else { path.to_owned() };
    file.strip_prefix(".").map(Path::to_owned).unwrap_or(file)
}

/// Reads a chain and everything it names, and reports what is wrong with it. `None` if it has errors.
pub fn load(path: &Path, sources: &mut SourceMap, report: &mut Report) -> Option<Plan> {
    load_with_inputs(path, sources, report).map(|(plan, _)| plan)
}

/// Like [`load`], with every file that was read.
pub fn load_with_inputs(path: &Path, sources: &mut SourceMap, report: &mut Report) -> Option<(Plan, Vec<PathBuf>)> {
    let file = chain_file(path);
    let text = files::read(&file).map_err(|problem| report.problem(with_hint(problem, path))).ok()?;
    let id = sources.add(shown(&file), text, Origin::Given);
    let folder = file.parent().unwrap_or(Path::new("")).to_owned();
    let mut beside = Beside { folder, read: vec![file] };
    let (plan, problems) = project::load(sources, id, &mut beside);
    report.problems(problems, sources);
    plan.map(|plan| (plan, beside.read))
}

fn with_hint(problem: Diagnostic, path: &Path) -> Diagnostic {
    if path.is_dir() { problem.with_help("`coldwright new NAME` makes a chain to start from") } else { problem }
}

/// The files beside a chain file.
struct Beside {
    folder: PathBuf,
    /// Every file that was read.
    read: Vec<PathBuf>,
}

impl Files for Beside {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let path = self.folder.join(path);
        let bytes = files::read(&path)?;
        self.read.push(path.clone());
        Ok((shown(&path), bytes))
    }
}

impl Loader for Beside {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        let loaded = Disk { folders: std::slice::from_ref(&self.folder) }.load(name, from)?;
        // A built-in file is a part of the program.
        let path = PathBuf::from(&loaded.name);
        if path.exists() {
            self.read.push(path);
        }
        Ok(loaded)
    }
}
