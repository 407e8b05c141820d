//! Where outputs are made: a folder under a temporary name beside their places, so that they only have to be moved. It is
//! locked as long as whoever made it lives; by that a later run knows what a killed one has left.

use std::fs::{self, File, TryLockError};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use tempfile::TempDir;

use super::target::{Plain, folder};
use crate::stop::Passing;

/// How the names of yards begin.
const PREFIX: &str = ".coldwright-";

/// How many letters and digits follow.
const RANDOM: usize = 6;

/// The file in a yard that is locked. It holds a record of the outputs once they are moved.
const RECORD: &str = "record.json";

/// Where no lock tells, a yard of this age has been left.
const ABANDONED: Duration = Duration::from_secs(600);

/// No record is longer, in bytes.
const LONGEST_RECORD: u64 = 16 << 20;

/// A folder in which outputs are made. It goes, with all that is in it, when it is dropped.
pub struct Yard {
    record: File,
    folder: TempDir,
    made: usize,
    _passing: Passing,
}

impl Yard {
    /// Makes a yard in a folder.
    ///
    /// # Errors
    /// If none can be made there.
    pub fn new(folder: &Path) -> io::Result<Yard> {
        loop {
            // The kind alone: the whole error would show the temporary name.
            let made = tempfile::Builder::new().prefix(PREFIX).rand_bytes(RANDOM).tempdir_in(folder);
            let made = made.map_err(|error| io::Error::from(error.kind()))?;
            let passing = Passing::new(made.path());
            let path = made.path().join(RECORD);
            let record = match File::create_new(&path) {
                Ok(record) => record,
                Err(error) if error.kind() == io::ErrorKind::NotFound => continue,
                Err(error) => return Err(error),
            };
            // Some file systems know no locks.
            let _ = record.lock();
            // Before it was locked, another run may have taken it for one that was left: then again.
            if path.exists() {
                return Ok(Yard { record, folder: made, made: 0, _passing: passing });
            }
        }
    }

    /// Begins an output, with the mode and the owner of what stands in its place.
    ///
    /// # Errors
    /// If it cannot be made.
    pub fn begin(&mut self, place: &Plain) -> io::Result<(PathBuf, File)> {
        let path = self.folder.path().join(self.made.to_string());
        self.made += 1;
        let file = File::options().read(true).write(true).create_new(true).open(&path)?;
        place.keep(&file)?;
        Ok((path, file))
    }

    /// Writes the record.
    ///
    /// # Errors
    /// If it cannot be written.
    pub fn note(&mut self, text: &str) -> io::Result<()> {
        self.record.write_all(text.as_bytes())
    }
}

/// Takes away what killed runs have left in a folder; yards with a record stay, and are given back.
pub fn sweep(folder: &Path) -> Vec<Left> {
    let mut left = Vec::new();
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let is_ours =
            entry.file_name().to_str().is_some_and(is_name) && entry.file_type().is_ok_and(|kind| kind.is_dir());
        if !is_ours {
            continue;
        }
        // One in which nothing was begun yet goes as it is; one in which something was does not.
        let _ = fs::remove_dir(entry.path());
        match Left::new(entry.path()) {
            Some(yard) if yard.record.is_empty() => yard.remove(),
            yard => left.extend(yard),
        }
    }
    left
}

fn is_name(name: &str) -> bool {
    name.strip_prefix(PREFIX)
        .is_some_and(|rest| rest.len() == RANDOM && rest.bytes().all(|it| it.is_ascii_alphanumeric()))
}

/// Whether a file is the user's own: in a folder for everybody, others may say what they like.
#[cfg(unix)]
fn is_own(kind: &fs::Metadata) -> bool {
    std::os::unix::fs::MetadataExt::uid(kind) == rustix::process::geteuid().as_raw()
}

#[cfg(not(unix))]
fn is_own(_: &fs::Metadata) -> bool {
    true
}

/// A yard that a killed run has left, locked so that no other run meddles with it.
pub struct Left {
    /// What the run said of its outputs; nothing if it has moved none.
    pub record: String,
    path: PathBuf,
    _lock: File,
}

impl Left {
    /// Nothing if whoever made it lives, or it is none of ours.
    fn new(path: PathBuf) -> Option<Left> {
        let record = path.join(RECORD);
        let kind = fs::symlink_metadata(&record).ok().filter(|kind| kind.is_file() && is_own(kind))?;
        let lock = File::options().read(true).write(true).open(&record).ok()?;
        let is_left = match lock.try_lock() {
            Ok(()) => true,
            Err(TryLockError::WouldBlock) => false,
            Err(TryLockError::Error(_)) => {
                kind.modified().ok().and_then(|time| time.elapsed().ok()).is_some_and(|age| age > ABANDONED)
            }
        };
        let mut record = String::new();
        // What is no text is no record.
        let read = (&lock).take(LONGEST_RECORD).read_to_string(&mut record);
        (is_left && read.is_ok()).then_some(Left { record, path, _lock: lock })
    }

    /// Where it stands.
    pub fn folder(&self) -> &Path {
        folder(&self.path)
    }

    /// Takes it away.
    pub fn remove(self) {
        // One that cannot be taken away does no harm.
        let _ = fs::remove_dir_all(&self.path);
    }
}
