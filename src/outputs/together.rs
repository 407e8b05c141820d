//! Outputs that belong together. One file is moved into its place at once, several are not: while they are moved, a record
//! in their yard says which they are. A run that is killed leaves it, and the next one tells what it finds.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf, absolute};

use super::target::{Plain, folder};
use super::yard::Left;
use crate::files::{look_at, sum};
use coldwright::source::{Code, Diagnostic};

/// The most names that are told.
const MOST_NAMES: usize = 3;

/// The record for the yard in a folder: what the outputs of the run are. Nothing if one move does it.
pub fn record(outputs: &[(&Plain, &[u8])], beside: &Path) -> Option<String> {
    let listed = outputs.iter().filter_map(|(place, bytes)| Some((named(&place.path, beside)?, sum(bytes))));
    let listed: Vec<_> = listed.collect();
    (listed.len() > 1).then(|| serde_json::to_string(&listed).ok())?
}

/// A path as a record in a folder names it, if it is text: without the folder, or from the root on.
fn named(path: &Path, beside: &Path) -> Option<String> {
    let path = if folder(path) == beside { path.file_name()?.into() } else { absolute(path).ok()? };
    path.into_os_string().into_string().ok()
}

/// Takes away the yards that killed runs have left, and tells which outputs do not belong together because of them.
/// `written` are those that this run has made anew.
pub fn settle<'a>(left: Vec<Left>, written: impl Iterator<Item = &'a Path>) -> Vec<Diagnostic> {
    let written: BTreeSet<_> = written.filter_map(|path| absolute(path).ok()).collect();
    let mut told = Vec::new();
    for yard in left {
        let listed = listed(&yard);
        let there = listed.iter().filter(|(path, _)| absolute(path).is_ok_and(|path| !written.contains(&path)));
        let there: Vec<_> = there.filter_map(|(path, wanted)| Some((path, sum(&look_at(path)?) == *wanted))).collect();
        let of =
            |moved| there.iter().filter(|(_, is_moved)| *is_moved == moved).map(|(path, _)| path.as_path()).collect();
        let (moved, earlier): (Vec<_>, Vec<_>) = (of(true), of(false));
        if !moved.is_empty() && !earlier.is_empty() {
            told.push(mixed(&moved, &earlier));
        }
        yard.remove();
    }
    told
}

/// What a killed run has put in place, or was about to, with the sums of its bytes.
pub fn listed(yard: &Left) -> Vec<(PathBuf, u64)> {
    // A run that was killed before its record was whole has moved nothing.
    let listed: Vec<(PathBuf, u64)> = serde_json::from_str(&yard.record).unwrap_or_default();
    listed.into_iter().map(|(path, sum)| (yard.folder().join(path), sum)).collect()
}

fn mixed(moved: &[&Path], earlier: &[&Path]) -> Diagnostic {
    let headline = "outputs do not belong together: the run that made them was killed while it put them in place";
    Diagnostic::warning(Code::OutputsMixed, headline)
        .with_note(format!("of that run: {}", names(moved)))
        .with_note(format!("not of that run: {}", names(earlier)))
        .with_help("make them again")
}

fn names(paths: &[&Path]) -> String {
    let shown = |path: &&Path| format!("`{}`", path.strip_prefix(".").unwrap_or(path).display());
    let shown = paths.iter().take(MOST_NAMES).map(shown);
    let shown = shown.collect::<Vec<_>>().join(", ");
    match paths.len() - paths.len().min(MOST_NAMES) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
