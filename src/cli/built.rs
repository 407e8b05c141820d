//! What was built from what: a record beside the files of a build, by which the next one knows what has changed.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use serde::{Deserialize, Serialize};

use super::chain::{self, LoadedChain};
use super::files::{self, Outputs};
use crate::assembler::STDLIB;
use crate::source::{Code, Diagnostic};

/// The name of the record.
const RECORD: &str = ".built.json";

/// After this time a file under a temporary name belongs to a build that was killed.
const ABANDONED: Duration = Duration::from_secs(600);

/// Where a chain is built.
pub struct Place {
    /// The chain file.
    pub chain: PathBuf,
    /// The folder of what is made.
    pub out: PathBuf,
}

/// What a build was made from and what it made.
#[derive(Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    /// The program that built it, with its library.
    program: String,
    /// Every file that was read, from the folder of the chain file on, with the sum of its bytes; without a sum, those
    /// that were looked for and are not there. The chain file comes first.
    inputs: Vec<(PathBuf, Option<u64>)>,
    /// Every file that was made, with the sum of its bytes.
    outputs: Vec<(String, u64)>,
    /// Whether something was warned of, and is to be again.
    pub warned: bool,
    /// Whether it was rehearsed.
    pub rehearsed: bool,
}

impl Record {
    /// The record of the last build, if nothing has changed since: no file that was read, none that was made.
    pub fn fresh(place: &Place) -> Option<Record> {
        let record = Record::last(place)?;
        let folder = chain::folder(&place.chain);
        let first = record.inputs.first().map(|(path, _)| folder.join(path));
        let is_fresh = record.program == program()
            && first.as_ref() == Some(&place.chain)
            && record.inputs.iter().all(|(path, sum)| sum_of(&folder.join(path)) == *sum)
            && record.outputs.iter().all(|(name, sum)| sum_of(&place.out.join(name)) == Some(*sum));
        is_fresh.then_some(record)
    }

    fn last(place: &Place) -> Option<Record> {
        serde_json::from_slice(&fs::read(place.out.join(RECORD)).ok()?).ok()
    }

    fn new(place: &Place, chain: &LoadedChain, files: &[(&str, &[u8])], rehearsed: bool) -> Record {
        let folder = chain::folder(&place.chain);
        let inputs = chain.inputs.iter().map(|(path, sum)| {
            let path = path.strip_prefix(&folder).unwrap_or(path);
            (path.to_owned(), *sum)
        });
        Record {
            program: program(),
            inputs: inputs.collect(),
            outputs: files.iter().map(|(name, bytes)| ((*name).to_owned(), files::sum(bytes))).collect(),
            warned: chain.warnings > 0,
            rehearsed,
        }
    }
}

/// Writes what differs from what is there, and takes away what the last build made and this one does not; says how many
/// files were written.
///
/// # Errors
/// A diagnostic if something cannot be written; what stood there before is left then.
pub fn write(
    place: &Place,
    chain: &LoadedChain,
    files: &[(&str, &[u8])],
    rehearsed: bool,
) -> Result<usize, Diagnostic> {
    make(&place.out)?;
    sweep(&place.out);
    let before = Record::last(place);
    let mut outputs = Outputs::default();
    let mut written = 0;
    for (name, bytes) in files {
        let path = place.out.join(name);
        if fs::read(&path).is_ok_and(|there| there == *bytes) {
            continue;
        }
        written += 1;
        outputs.add(path, *bytes);
    }
    // The record comes last: until it is in place, nothing counts as built.
    if let Ok(text) = serde_json::to_vec(&Record::new(place, chain, files, rehearsed)) {
        outputs.add(place.out.join(RECORD), text);
    }
    outputs.commit()?;
    let stale = before.into_iter().flat_map(|record| record.outputs);
    stale
        .filter(|(name, _)| !files.iter().any(|(made, _)| made == name))
        .for_each(|(name, sum)| discard(place, &name, sum));
    Ok(written)
}

fn make(folder: &Path) -> Result<(), Diagnostic> {
    fs::create_dir_all(folder).map_err(|error| {
        let headline = format!("cannot make the folder `{}`: {error}", folder.display());
        let problem = Diagnostic::error(Code::FileUnwritable, headline);
        match folder.is_file() {
            true => problem.with_help("a file of that name is in the way: move it, or name another folder with `-o`"),
            false => problem,
        }
    })
}

/// Takes away a file of the last build, unless it has been changed since or is none of the folder's own.
fn discard(place: &Place, name: &str, sum: u64) {
    let path = place.out.join(name);
    if Path::new(name).file_name() == Some(name.as_ref()) && sum_of(&path) == Some(sum) {
        // A file that cannot be taken away does no harm.
        let _ = fs::remove_file(path);
    }
}

/// Takes away what builds that were killed have left under temporary names.
fn sweep(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let is_ours = entry.file_name().to_string_lossy().starts_with(files::TEMPORARY);
        let age = entry.metadata().and_then(|kind| kind.modified()).ok().and_then(|time| time.elapsed().ok());
        if is_ours && age.is_some_and(|age| age > ABANDONED) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// The program and the library that is built into it.
fn program() -> String {
    let library: Vec<u8> = STDLIB.iter().flat_map(|file| file.text.bytes()).collect();
    format!("{} {:016x}", env!("CARGO_PKG_VERSION"), files::sum(&library))
}

fn sum_of(path: &Path) -> Option<u64> {
    files::read(path).ok().map(|bytes| files::sum(&bytes))
}
