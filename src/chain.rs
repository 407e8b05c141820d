//! Chains from files: what every command about a chain shares.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::files;
use super::report::Report;
use super::shared_sources::{could_save_of, whole};
use super::source_file::{Disk, shown};
use coldwright::assembler::{LoadError, Loaded, Loader};
use coldwright::project::{self, Files, Plan};
use coldwright::source::{Diagnostic, Diagnostics, Origin, SourceMap};

/// The chain file of a folder.
pub const CHAIN_FILE: &str = "coldwright.toml";

/// The chain file that an argument means: a folder's, or the file itself.
pub fn chain_file(path: &Path) -> PathBuf {
    let file = if path.is_dir() { path.join(CHAIN_FILE) } else { path.to_owned() };
    file.strip_prefix(".").map(Path::to_owned).unwrap_or(file)
}

/// Reads a chain and everything it names, and reports what is wrong with it. `None` if it has errors.
pub fn load(path: &Path, sources: &mut SourceMap, report: &mut Report) -> Option<Plan> {
    load_with_inputs(path, sources, report).map(|loaded| loaded.plan)
}

/// A chain with what it was read from.
pub struct LoadedChain {
    /// The chain.
    pub plan: Plan,
    /// Every file that was read, with the sum of its bytes, and every one that was looked for and is not there.
    pub inputs: Vec<Input>,
    /// How many things in it were warned of.
    pub warnings: usize,
}

/// A file that was read with the sum of its bytes, or that was looked for in vain.
pub type Input = (PathBuf, Option<u64>);

/// Like [`load`], with every file on which the chain depends. Where programs do not fit, it is said how much could be saved.
pub fn load_with_inputs(path: &Path, sources: &mut SourceMap, report: &mut Report) -> Option<LoadedChain> {
    let draft = draft(path, sources, BTreeMap::new(), report)?;
    let (plan, mut problems) = (draft.plan, draft.problems);
    let warnings = problems.len();
    let plan = match plan {
        Some(plan) if problems.has_errors() => {
            problems.extend(could_save_of(&plan, path, &folder(&chain_file(path)), sources));
            None
        }
        plan => plan,
    };
    report.problems(problems, sources);
    plan.map(|plan| LoadedChain { plan, inputs: draft.inputs, warnings })
}

/// A chain that may have programs that do not fit.
pub struct Draft {
    /// The chain; it is there if nothing else is wrong.
    pub plan: Option<Plan>,
    /// What is wrong, and what is warned of.
    pub problems: Diagnostics,
    /// As those of a [`LoadedChain`].
    inputs: Vec<Input>,
}

/// Reads a chain and everything it names; texts in `instead`, by their whole paths, stand for those of the files.
pub fn draft(
    path: &Path,
    sources: &mut SourceMap,
    instead: BTreeMap<PathBuf, String>,
    report: &mut Report,
) -> Option<Draft> {
    let file = chain_file(path);
    let text = files::read(&file).map_err(|problem| report.problem(with_hint(problem, path))).ok()?;
    let inputs = vec![(file.clone(), Some(files::sum(&text)))];
    let id = sources.add(shown(&file), text, Origin::Given);
    let mut beside = Beside { folder: folder(&file), inputs, instead };
    let (plan, problems) = project::draft(sources, id, &mut beside);
    Some(Draft { plan, problems, inputs: beside.inputs })
}

/// The folder of a chain file.
pub fn folder(file: &Path) -> PathBuf {
    file.parent().unwrap_or(Path::new("")).to_owned()
}

fn with_hint(problem: Diagnostic, path: &Path) -> Diagnostic {
    if path.is_dir() { problem.with_help("`coldwright new NAME` makes a chain to start from") } else { problem }
}

/// The files beside a chain file.
struct Beside {
    folder: PathBuf,
    inputs: Vec<Input>,
    /// Texts that stand for those of files, by whole paths.
    instead: BTreeMap<PathBuf, String>,
}

impl Beside {
    fn instead_of(&self, path: &Path) -> Option<Vec<u8>> {
        if self.instead.is_empty() {
            return None;
        }
        self.instead.get(&whole(path)).map(|text| text.clone().into_bytes())
    }

    fn note(&mut self, path: PathBuf, sum: Option<u64>) {
        if !self.inputs.iter().any(|(known, _)| *known == path) {
            self.inputs.push((path, sum));
        }
    }
}

impl Files for Beside {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let path = self.folder.join(path);
        let bytes = files::read(&path)?;
        self.note(path.clone(), Some(files::sum(&bytes)));
        let bytes = self.instead_of(&path).unwrap_or(bytes);
        Ok((shown(&path), bytes))
    }
}

impl Loader for Beside {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        let loaded = Disk { folders: std::slice::from_ref(&self.folder) }.load(name, from)?;
        // A file that is put where this one was looked for first, or before a built-in one, would take its place.
        let beside = Path::new(from).parent().unwrap_or(Path::new(""));
        for path in [beside.join(name), self.folder.join(name)] {
            if shown(&path) == loaded.name {
                self.note(path, Some(files::sum(&loaded.bytes)));
                break;
            }
            self.note(path, None);
        }
        let instead = self.instead_of(Path::new(&loaded.name));
        Ok(match instead {
            Some(bytes) => Loaded { bytes, ..loaded },
            None => loaded,
        })
    }
}
