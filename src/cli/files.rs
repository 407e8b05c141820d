//! Files in and out. Reading refuses what is not a plain file and what is too large; outputs appear whole or not at
//! all, and only once every one of them could be written.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::report::Report;
use crate::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// The largest file that is read, in bytes.
pub const LARGEST: u64 = 256 << 20;

/// The name that stands for standard input or output.
pub const STREAM: &str = "-";

/// How the temporary names of outputs begin.
pub const TEMPORARY: &str = ".coldwright-";

/// Reads a file whole; `-` is standard input.
///
/// # Errors
/// A diagnostic if it cannot be read, is a directory or a device, or is larger than [`LARGEST`].
pub fn read(path: &Path) -> Result<Vec<u8>, Diagnostic> {
    let refuse = |why: &dyn std::fmt::Display| unreadable(path, why);
    let mut bytes = Vec::new();
    if path == Path::new(STREAM) {
        io::stdin().lock().take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| refuse(&error))?;
    } else {
        let file = open(path)?;
        bytes.reserve(file.metadata().map_or(0, |kind| kind.len()).min(LARGEST) as usize);
        file.take(LARGEST + 1).read_to_end(&mut bytes).map_err(|error| refuse(&error))?;
    }
    if bytes.len() as u64 > LARGEST {
        return Err(refuse(&format_args!("it is larger than {} MiB", LARGEST >> 20)));
    }
    Ok(bytes)
}

/// A sum by which files are told apart.
pub fn sum(bytes: &[u8]) -> u64 {
    crc::Crc::<u64, crc::Table<16>>::new(&crc::CRC_64_XZ).checksum(bytes)
}

/// Opens a plain file of any size, to be read piece by piece.
///
/// # Errors
/// A diagnostic if it cannot be read, or is a directory or a device.
pub fn open(path: &Path) -> Result<File, Diagnostic> {
    let refuse = |why: &dyn std::fmt::Display| unreadable(path, why);
    let kind = fs::metadata(path).map_err(|error| refuse(&error))?;
    if kind.is_dir() {
        return Err(refuse(&"it is a directory"));
    }
    if !kind.is_file() {
        return Err(refuse(&"it is not a plain file"));
    }
    File::open(path).map_err(|error| refuse(&error))
}

fn unreadable(path: &Path, why: &dyn std::fmt::Display) -> Diagnostic {
    Diagnostic::error(Code::FileUnreadable, format!("cannot read `{}`: {why}", path.display()))
}

/// The outputs of a run, held back until all of them are known to be right.
#[derive(Default)]
pub struct Outputs {
    files: Vec<(PathBuf, Vec<u8>)>,
}

impl Outputs {
    /// Adds an output; `-` is standard output.
    pub fn add(&mut self, path: impl Into<PathBuf>, bytes: impl Into<Vec<u8>>) {
        self.files.push((path.into(), bytes.into()));
    }

    /// Reports what came up in a run, and puts its outputs in place only if none of it is an error.
    pub fn finish(self, mut problems: Diagnostics, sources: &SourceMap, report: &mut Report) {
        if !problems.has_errors()
            && let Err(problem) = self.commit()
        {
            problems.push(problem);
        }
        report.problems(problems, sources);
    }

    /// Writes every output beside its place first, then moves each into it, so that an earlier good file survives a
    /// full disk or a killed process. Standard output comes last.
    ///
    /// # Errors
    /// A diagnostic for the first output that failed; none has been put in place then, unless a move itself failed or
    /// the output is standard output. It says which.
    pub fn commit(self) -> Result<(), Diagnostic> {
        let (streams, files): (Vec<_>, Vec<_>) =
            self.files.into_iter().partition(|(path, _)| path == Path::new(STREAM));
        let mut ready = Vec::new();
        for (path, bytes) in &files {
            let mut staged = Staged::new(path)?;
            staged.file.write_all(bytes).map_err(|error| refuse(path, &error, 0))?;
            ready.push(staged);
        }
        for (placed, Staged { path, file }) in ready.into_iter().enumerate() {
            file.persist(&path).map_err(|error| refuse(&path, &error.error, placed))?;
        }
        let mut out = io::stdout().lock();
        for (path, bytes) in streams {
            let written = out.write_all(&bytes).and_then(|()| out.flush());
            written.map_err(|error| refuse(&path, &error, files.len()))?;
        }
        Ok(())
    }
}

/// Says which output failed; `placed` files of the run were put in place before it.
fn refuse(path: &Path, error: &io::Error, placed: usize) -> Diagnostic {
    // The error of a temporary file goes on to name that file, which the user did not ask for.
    let error = error.to_string();
    let error = error.split_once(" at path ").map_or(&*error, |(said, _)| said);
    let name = if path == Path::new(STREAM) { "standard output".into() } else { format!("`{}`", path.display()) };
    let problem = Diagnostic::error(Code::FileUnwritable, format!("cannot write {name}: {error}"));
    match placed {
        0 => problem.with_note("no output of this run was put in place; what stood there before is untouched"),
        placed => problem.with_note(format!("outputs of this run that were put in place before: {placed}")),
    }
}

/// A file too large to be held: written under a temporary name in the folder where it belongs, then moved into place.
pub struct Staged {
    path: PathBuf,
    file: NamedTempFile,
}

impl Staged {
    /// Begins the file that is to stand at `path`.
    ///
    /// # Errors
    /// A diagnostic if no file can be made there.
    pub fn new(path: &Path) -> Result<Staged, Diagnostic> {
        let file = stage(path).map_err(|error| refuse(path, &error, 0))?;
        Ok(Staged { path: path.to_owned(), file })
    }

    /// Where its bytes go.
    pub fn writer(&mut self) -> &mut File {
        self.file.as_file_mut()
    }

    /// What to say when writing it failed.
    pub fn refuse(&self, error: &io::Error) -> Diagnostic {
        refuse(&self.path, error, 0)
    }

    /// Moves the file into its place; a file that is dropped instead leaves nothing behind.
    ///
    /// # Errors
    /// A diagnostic if it cannot be moved.
    pub fn place(self) -> Result<(), Diagnostic> {
        self.file.persist(&self.path).map_err(|error| refuse(&self.path, &error.error, 0))?;
        Ok(())
    }
}

/// Makes a file under a temporary name in the folder where it belongs.
fn stage(path: &Path) -> io::Result<NamedTempFile> {
    if path.is_dir() {
        return Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a directory"));
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(TEMPORARY);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    if !folder.is_dir() {
        return Err(io::Error::new(io::ErrorKind::NotFound, "its folder does not exist"));
    }
    // The kind alone: the whole error would show the temporary name.
    builder.tempfile_in(folder).map_err(|error| io::Error::from(error.kind()))
}
