//! What was found by many plays, kept beside what is built, until something changes from which it was made.

use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::chain::{self, LoadedChain};
use crate::files::{look_at, sum};
use crate::outputs::Outputs;
use crate::report::Report;
use coldwright::project::slug;
use coldwright::source::Diagnostic;

/// Where something of a start is kept, and from what it is made.
pub struct Place {
    path: PathBuf,
    made_from: u64,
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

impl Place {
    /// The place of what a command, `what`, finds of a start of a chain.
    pub fn new(path: &Path, chain: &LoadedChain, what: &str, start: &str) -> Place {
        let folder = chain::folder(&chain::chain_file(path));
        let name = if start.is_empty() { what.to_owned() } else { format!("{what}-{}", slug(start)) };
        let path = folder.join("out").join(format!(".{name}.json"));
        Place { path, made_from: made_from(chain, &folder, start) }
    }

    /// What was kept, if it was made from what is there now.
    pub fn read<T: DeserializeOwned>(&self) -> Option<T> {
        let kept: Kept<T> = serde_json::from_slice(&look_at(&self.path)?).ok()?;
        (kept.made_from == self.word()).then_some(kept.plays)
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

    fn word(&self) -> String {
        self.made_from.to_string()
    }
}

/// A sum over all from which it is made: the program that plays, every file of the chain and those
/// that were looked for in vain, and the start.
fn made_from(chain: &LoadedChain, folder: &Path, start: &str) -> u64 {
    let mut all = format!("{}\n{start}\n", env!("CARGO_PKG_VERSION")).into_bytes();
    if let Some(program) = std::env::current_exe().ok().and_then(|path| look_at(&path)) {
        all.extend(sum(&program).to_le_bytes());
    }
    for (path, sum) in &chain.inputs {
        let path = path.strip_prefix(folder).unwrap_or(path);
        all.extend(format!("{} {sum:?}\n", path.display()).bytes());
    }
    sum(&all)
}
