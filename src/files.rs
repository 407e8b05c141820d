//! The files that a run reads. What is read is bounded, and known by its identity afterwards, so that no output of the
//! run replaces it.

use std::collections::{BTreeSet, HashMap};
use std::fs::{self, File};
use std::io::{self, Read, Seek};
use std::path::{Path, PathBuf};
use std::sync::{LazyLock, Mutex, MutexGuard, PoisonError};

use super::identity::{self, Identity};
use coldwright::source::{Code, Diagnostic};

/// The most that is read of a file at once, and the most that is taken from a pipe or a device, in bytes.
pub const LARGEST: u64 = 256 << 20;

/// The name that stands for standard input or output.
pub const STREAM: &str = "-";

/// The inputs of this run with their names. Every command reads through this module, so that none can forget one.
static INPUTS: LazyLock<Mutex<HashMap<Identity, String>>> = LazyLock::new(Mutex::default);

/// The paths under which they were read.
static PATHS: Mutex<BTreeSet<PathBuf>> = Mutex::new(BTreeSet::new());

/// Forgets what was read: a run of its own begins, and gives what the earlier one read.
pub fn begin_anew() -> BTreeSet<PathBuf> {
    inputs().clear();
    std::mem::take(&mut *PATHS.lock().unwrap_or_else(PoisonError::into_inner))
}

fn inputs() -> MutexGuard<'static, HashMap<Identity, String>> {
    INPUTS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Reads a file whole; `-` is standard input. A pipe is read to its end.
///
/// # Errors
/// A diagnostic if it cannot be read, is a directory, or is larger than [`LARGEST`].
pub fn read(path: &Path) -> Result<Vec<u8>, Diagnostic> {
    read_open(path, source(path)?)
}

/// Reads the rest of an open file.
///
/// # Errors
/// As [`read`].
pub fn read_open(path: &Path, file: File) -> Result<Vec<u8>, Diagnostic> {
    let length = file.metadata().map_or(0, |kind| kind.len());
    let mut bytes = Vec::with_capacity(length.min(LARGEST) as usize);
    file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| unreadable(path, &error))?;
    match bytes.len() as u64 > LARGEST {
        true => Err(too_large(path)),
        false => Ok(bytes),
    }
}

/// Opens a file of any size, to be read piece by piece and from any place on; `-` is standard input. What comes from a
/// pipe or a device is kept in a file that has no name.
///
/// # Errors
/// A diagnostic if it cannot be read or is a directory, or more than [`LARGEST`] comes from a pipe or a device.
pub fn open(path: &Path) -> Result<File, Diagnostic> {
    let file = source(path)?;
    let refuse = |error: io::Error| unreadable(path, &error);
    // Not every system tells a pipe at standard input from a file.
    if path != Path::new(STREAM) && file.metadata().map_err(refuse)?.is_file() {
        return Ok(file);
    }
    let mut kept = tempfile::tempfile().map_err(refuse)?;
    let length = io::copy(&mut file.take(LARGEST + 1), &mut kept).map_err(refuse)?;
    if length > LARGEST {
        return Err(too_large(path));
    }
    kept.rewind().map_err(refuse)?;
    Ok(kept)
}

/// A file to be read, noted as an input of the run.
fn source(path: &Path) -> Result<File, Diagnostic> {
    let refuse = |error: io::Error| unreadable(path, &error);
    let file = match path == Path::new(STREAM) {
        true => identity::standard_input(),
        false => File::open(path),
    };
    let directory = || unreadable(path, &"it is a directory");
    // Some systems open a directory, and some do not.
    let file = file.map_err(|error| if path.is_dir() { directory() } else { refuse(error) })?;
    let kind = file.metadata().map_err(refuse)?;
    if kind.is_dir() {
        return Err(directory());
    }
    if kind.is_file()
        && let Ok(identity) = Identity::of(&file)
    {
        PATHS.lock().unwrap_or_else(PoisonError::into_inner).insert(path.to_owned());
        let name = if path == Path::new(STREAM) { "standard input".into() } else { format!("`{}`", path.display()) };
        inputs().entry(identity).or_insert(name);
    }
    Ok(file)
}

/// The name of the input of this run that a file is, if it is one.
pub fn input_that_is(file: &Identity) -> Option<String> {
    inputs().get(file).cloned()
}

/// The bytes of a plain file that is looked at and is no input: what an earlier run wrote. Nothing if there is none.
pub fn look_at(path: &Path) -> Option<Vec<u8>> {
    let kind = fs::metadata(path).ok()?;
    // A pipe would wait for somebody to write to it.
    (kind.is_file() && kind.len() <= LARGEST).then(|| fs::read(path).ok())?
}

/// Whether what a file begins with says that it is a WAV file.
pub fn is_recording(head: &[u8]) -> bool {
    let kinds: [&[u8]; 3] = [b"RIFF", b"RIFX", b"RF64"];
    kinds.iter().any(|kind| head.starts_with(kind)) && head.get(8..12) == Some(b"WAVE".as_slice())
}

/// What is said of a recording or a tape where a program is wanted, be it a source or an image.
pub fn no_program(path: &Path, bytes: &[u8]) -> Option<Diagnostic> {
    let is_tape = path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("tape"));
    let (what, way) = match is_recording(bytes) {
        true => ("a recording", "audio"),
        false if is_tape => ("a tape", "tape"),
        false => return None,
    };
    let shown = path.display();
    let problem =
        Diagnostic::error(Code::FormatUnknown, format!("`{shown}` is {what}, and neither a source nor an image"));
    let image = path.with_extension("hex");
    Some(problem.with_help(format!(
        "read the program from it: `coldwright {way} read {shown} --framing FRAMING -o {}`",
        image.display()
    )))
}

/// A sum by which files are told apart.
pub fn sum(bytes: &[u8]) -> u64 {
    crc::Crc::<u64, crc::Table<16>>::new(&crc::CRC_64_XZ).checksum(bytes)
}

/// What to say of a file that cannot be read.
pub fn unreadable(path: &Path, why: &dyn std::fmt::Display) -> Diagnostic {
    Diagnostic::error(Code::FileUnreadable, format!("cannot read `{}`: {why}", path.display()))
}

fn too_large(path: &Path) -> Diagnostic {
    unreadable(path, &format_args!("it is larger than {} MiB", LARGEST >> 20))
}
