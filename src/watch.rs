//! A run that is done again whenever what it read has been saved anew.

use std::collections::BTreeSet;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, SystemTime};

use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};

use super::files;
use super::report::Report;
use super::stop::{heed, is_stopped};
use coldwright::source::{Code, Diagnostic};

/// An editor writes a file in several steps: what happens within this time is one change.
const QUIET: Duration = Duration::from_millis(30);

/// How often it is looked whether a stop was asked for.
const LOOK: Duration = Duration::from_millis(100);

/// Does a run, and does it again after every change to what it read, until a stop is asked for. `start` is a file or
/// folder that is watched even if nothing could be read.
pub fn watch(start: &Path, report: &mut Report, mut run: impl FnMut(&mut Report)) {
    let _heed = heed();
    let (send, receive) = channel();
    let mut watcher = match notify::recommended_watcher(send) {
        Ok(watcher) => watcher,
        Err(error) => return report.problem(unwatched(start, &error)),
    };
    let mut watched = BTreeSet::new();
    loop {
        let began = SystemTime::now();
        files::begin_anew();
        report.begin_anew();
        run(report);
        let read = files::begin_anew();
        if let Err(problem) = extend(&mut watcher, &mut watched, start, &read) {
            return report.problem(problem);
        }
        let seen = Seen::now(&watched, &read);
        if read.iter().any(|path| was_saved_since(path, began)) {
            continue;
        }
        report.mention("watching; Ctrl-C ends");
        loop {
            if !wait(&receive) {
                return;
            }
            if Seen::now(&watched, &read) != seen {
                break;
            }
        }
    }
}

/// Whether a file was saved while it may have been read already. A time to come is a clock that was wrong.
fn was_saved_since(path: &Path, began: SystemTime) -> bool {
    let saved = fs::metadata(path).and_then(|facts| facts.modified());
    saved.is_ok_and(|saved| saved > began && saved <= SystemTime::now())
}

/// Waits for something to happen and for it to be over; false if a stop was asked for.
fn wait(events: &Receiver<notify::Result<Event>>) -> bool {
    loop {
        if is_stopped() {
            return false;
        }
        match events.recv_timeout(LOOK) {
            Ok(_) => break,
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => return false,
        }
    }
    while events.recv_timeout(QUIET).is_ok() && !is_stopped() {}
    !is_stopped()
}

/// Watches the folders of what was read, besides those that are watched already.
fn extend(
    watcher: &mut RecommendedWatcher,
    watched: &mut BTreeSet<PathBuf>,
    start: &Path,
    read: &BTreeSet<PathBuf>,
) -> Result<(), Diagnostic> {
    let start = if start.is_dir() { start } else { folder(start) };
    for folder in std::iter::once(start).chain(read.iter().map(|path| folder(path))) {
        if !watched.contains(folder) {
            watcher.watch(folder, RecursiveMode::NonRecursive).map_err(|error| unwatched(folder, &error))?;
            watched.insert(folder.to_owned());
        }
    }
    Ok(())
}

fn folder(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    }
}

fn unwatched(path: &Path, error: &notify::Error) -> Diagnostic {
    Diagnostic::error(Code::FileUnreadable, format!("cannot watch `{}`: {error}", path.display()))
}

/// What a run depends on: the files that it read, and which others there are, since one may take the place of another.
#[derive(PartialEq, Eq)]
struct Seen {
    sums: Vec<Option<u64>>,
    names: Vec<BTreeSet<OsString>>,
}

impl Seen {
    fn now(folders: &BTreeSet<PathBuf>, read: &BTreeSet<PathBuf>) -> Seen {
        let sum = |path: &PathBuf| files::look_at(path).map(|bytes| files::sum(&bytes));
        Seen { sums: read.iter().map(sum).collect(), names: folders.iter().map(|folder| names(folder)).collect() }
    }
}

/// The names in a folder, without those that editors and outputs give to what is not finished.
fn names(folder: &Path) -> BTreeSet<OsString> {
    let Ok(entries) = fs::read_dir(folder) else { return BTreeSet::new() };
    let names = entries.filter_map(|entry| Some(entry.ok()?.file_name()));
    names.filter(|name| !is_passing(&name.to_string_lossy())).collect()
}

fn is_passing(name: &str) -> bool {
    name.starts_with(['.', '#']) || name.ends_with('~')
}
