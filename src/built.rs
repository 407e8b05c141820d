//! What was built from what: a record beside the files of a build, by which the next one knows what has changed.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::chain::{self, LoadedChain};
use super::files::{input_that_is, look_at, sum};
use super::identity::Identity;
use super::outputs::{self, Outputs, target};
use super::report::Report;
use coldwright::assembler::STDLIB;
use coldwright::source::Diagnostic;

/// The name of the record.
const RECORD: &str = ".built.json";

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
    /// Why what was built is not to be trusted, start by start, in words.
    #[serde(default)]
    pub doubted: Vec<String>,
    /// Whether it was built under watch, with a page that follows.
    #[serde(default)]
    pub watched: bool,
}

/// How a chain is built.
#[derive(Clone, Debug)]
pub struct How {
    /// Whether it is rehearsed.
    pub rehearsed: bool,
    /// Whether it is built anew whenever a file is saved.
    pub watched: bool,
    /// Why it is not to be trusted, as a [`Record`] keeps it.
    pub doubted: Vec<String>,
    /// What was kept of its faults, and read or looked for, as the inputs of a [`Record`].
    pub kept: Vec<(PathBuf, Option<u64>)>,
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
        serde_json::from_slice(&look_at(&place.out.join(RECORD))?).ok()
    }

    fn new(place: &Place, chain: &LoadedChain, files: &[(&str, &[u8])], how: &How) -> Record {
        let folder = chain::folder(&place.chain);
        let inputs = chain.inputs.iter().chain(&how.kept).map(|(path, sum)| {
            let path = path.strip_prefix(&folder).unwrap_or(path);
            (path.to_owned(), *sum)
        });
        Record {
            program: program(),
            inputs: inputs.collect(),
            outputs: files.iter().map(|(name, bytes)| ((*name).to_owned(), sum(bytes))).collect(),
            warned: chain.warnings > 0,
            rehearsed: how.rehearsed,
            doubted: how.doubted.clone(),
            watched: how.watched,
        }
    }
}

/// Writes what differs from what is there, and takes away what the last build made and this one does not; gives the names
/// of the files that were written.
///
/// # Errors
/// A diagnostic if something cannot be written, is an input, or was not made by a build as it stands there; all of it is
/// left as it was then.
pub fn write<'a>(
    place: &Place,
    chain: &LoadedChain,
    files: &[(&'a str, &[u8])],
    how: &How,
    report: &mut Report,
) -> Result<Vec<&'a str>, Diagnostic> {
    let before = Record::last(place);
    let mut outputs = Outputs::default();
    let mut written = Vec::new();
    let mut foreign = Foreign::new(place, before.as_ref());
    for (name, bytes) in files {
        let path = place.out.join(name);
        if look_at(&path).is_some_and(|there| there == *bytes) {
            // It would not be changed today, but by the next build.
            target(&path)?;
            continue;
        }
        foreign.look(name);
        written.push(*name);
        outputs.add(path, *bytes);
    }
    if before.is_none() {
        foreign.look(RECORD);
    }
    foreign.finish()?;
    // The record comes last: until it is in place, nothing counts as built.
    if let Ok(text) = serde_json::to_vec(&Record::new(place, chain, files, how)) {
        outputs.add(place.out.join(RECORD), text);
    }
    let stale = before.into_iter().flat_map(|record| record.outputs);
    stale
        .filter(|(name, sum)| !files.iter().any(|(made, _)| made == name) && is_stale(place, name, *sum))
        .for_each(|(name, _)| outputs.discard(place.out.join(name)));
    outputs.commit_in(&place.out, report)?;
    Ok(written)
}

/// What stands in the way of a build and was not made by one, or was changed since: it is somebody's own.
struct Foreign<'a> {
    place: &'a Place,
    /// What builds have put there, with the sums of its bytes: the last one, and one that was killed meanwhile.
    built: Vec<(PathBuf, u64)>,
    /// What is in the way, and whether a build has made it once.
    found: Vec<(PathBuf, bool)>,
}

impl<'a> Foreign<'a> {
    fn new(place: &'a Place, before: Option<&Record>) -> Foreign<'a> {
        let last = before.into_iter().flat_map(|record| &record.outputs);
        let last = last.map(|(name, sum)| (place.out.join(name), *sum));
        let built = last.chain(outputs::put_in_place_by_killed(&place.out)).collect();
        Foreign { place, built, found: Vec::new() }
    }

    /// Looks at what stands where a file is to go. What is no file is refused as any output is.
    fn look(&mut self, name: &str) {
        let path = self.place.out.join(name);
        let Some(sum) = sum_of(&path) else { return };
        let mut made = self.built.iter().filter(|(built, _)| *built == path).peekable();
        let is_known = made.peek().is_some();
        if !made.any(|(_, built)| *built == sum) {
            self.found.push((path, is_known));
        }
    }

    fn finish(self) -> Result<(), Diagnostic> {
        let [(first, was_built), others @ ..] = self.found.as_slice() else { return Ok(()) };
        let why = match was_built {
            true => "it was changed since it was built",
            false => "no build has made what stands there",
        };
        let problem = outputs::refuse(first, &io::Error::other(why), 0);
        let problem = match others {
            [] => problem,
            others => {
                let names =
                    others.iter().map(|(path, _)| format!("`{}`", path.display())).collect::<Vec<_>>().join(", ");
                problem.with_note(format!("not as a build has left them either: {names}"))
            }
        };
        Err(problem.with_help("move or rename what you want to keep, delete what you do not, and build again; or build into another folder with `-o`"))
    }
}

/// Whether a file of the last build may be taken away: it has not been changed since, is one of the folder's own, and
/// nothing was read from it.
fn is_stale(place: &Place, name: &str, sum: u64) -> bool {
    let path = place.out.join(name);
    let is_input = || Identity::at(&path).is_ok_and(|file| input_that_is(&file).is_some());
    Path::new(name).file_name() == Some(name.as_ref()) && sum_of(&path) == Some(sum) && !is_input()
}

/// The program and the library that is built into it.
fn program() -> String {
    let library: Vec<u8> = STDLIB.iter().flat_map(|file| file.text.bytes()).collect();
    format!("{} {:016x}", env!("CARGO_PKG_VERSION"), sum(&library))
}

fn sum_of(path: &Path) -> Option<u64> {
    look_at(path).map(|bytes| sum(&bytes))
}
