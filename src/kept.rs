//! What was found by many plays, kept beside what is built, until something changes from which it was made.

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::chain::{self, LoadedChain};
use crate::files::{look_at, sum};
use crate::outputs::Outputs;
use crate::report::Report;
use coldwright::project::slug;
use coldwright::source::Diagnostic;

/// Where something of a start is kept, and from what it is made.
pub struct Place<'a> {
    path: PathBuf,
    folder: PathBuf,
    chain: &'a LoadedChain,
    start: &'a str,
}

/// The file.
#[derive(Deserialize)]
struct Kept<T> {
    made_from: String,
    plays: T,
}

/// The same, to be written.
#[derive(Serialize)]
struct Keeps<'a, T> {
    made_from: String,
    plays: &'a T,
}

impl<'a> Place<'a> {
    /// The place of what a command, `what`, finds of a start of a chain.
    pub fn new(path: &Path, chain: &'a LoadedChain, what: &str, start: &'a str) -> Place<'a> {
        let folder = chain::folder(&chain::chain_file(path));
        let name = if start.is_empty() { what.to_owned() } else { format!("{what}-{}", slug(start)) };
        let path = folder.join("out").join(format!(".{name}.json"));
        Place { path, folder, chain, start }
    }

    /// What was kept, if it was made from what is there now.
    pub fn read<T: DeserializeOwned>(&self) -> Option<T> {
        let kept: Kept<T> = serde_json::from_slice(&look_at(&self.path)?).ok()?;
        (kept.made_from == self.word()).then_some(kept.plays)
    }

    /// Notes which program plays, before it does: its file may be replaced meanwhile.
    pub fn before_play(&self) {
        LazyLock::force(&PROGRAM);
    }

    /// The file, with the sum of its bytes if it is there.
    pub fn file(self) -> (PathBuf, Option<u64>) {
        let sum = look_at(&self.path).map(|bytes| sum(&bytes));
        (self.path, sum)
    }

    /// Keeps it.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn keep<T: Serialize>(&self, plays: &T, report: &mut Report) -> Result<(), Diagnostic> {
        let Ok(text) = serde_json::to_vec(&Keeps { made_from: self.word(), plays }) else { return Ok(()) };
        let mut outputs = Outputs::default();
        outputs.add(&self.path, text);
        outputs.commit_in(self.path.parent().unwrap_or(Path::new("")), report)
    }

    /// A sum over all from which it is made: the program that plays, every file of the chain and those that were looked for
    /// in vain, and the start.
    fn word(&self) -> String {
        let mut all = format!("{}\n{}\n", env!("CARGO_PKG_VERSION"), self.start).into_bytes();
        all.extend(PROGRAM.into_iter().flat_map(u64::to_le_bytes));
        for (path, sum) in &self.chain.inputs {
            let path = path.strip_prefix(&self.folder).unwrap_or(path);
            all.extend(format!("{} {sum:?}\n", path.display()).bytes());
        }
        sum(&all).to_string()
    }
}

/// The sum of this program's own file, if it can be read. It is long, and wanted only where something is kept.
static PROGRAM: LazyLock<Option<u64>> =
    LazyLock::new(|| std::env::current_exe().ok().and_then(|path| look_at(&path)).map(|program| sum(&program)));
