//! What stands where an output is to go, and whether it may go there.

use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Path, PathBuf};

use super::stream::Way;
use crate::files::STREAM;
use crate::identity::{self, Identity};

/// Where the bytes of an output go.
pub enum Target {
    /// Into a device, a pipe or standard output, as they are.
    Stream(Way),
    /// Into a file of their own that is moved into its place, whatever stands there now.
    Plain(Plain),
}

/// The place of a file.
pub struct Plain {
    /// Its path, no link itself.
    pub path: PathBuf,
    /// What stands there.
    pub earlier: Option<Box<Metadata>>,
}

/// How many links are followed to a file that is not there yet.
const MOST_LINKS: usize = 40;

impl Target {
    /// Looks at what a path names.
    ///
    /// # Errors
    /// The reason why no output may go there.
    pub fn of(path: &Path) -> io::Result<Target> {
        if path == Path::new(STREAM) {
            return standard();
        }
        if is_device_name(path) {
            return Ok(Target::Stream(Way::Named(path.to_owned())));
        }
        match fs::metadata(path) {
            Ok(kind) if kind.is_dir() => Err(io::Error::new(io::ErrorKind::IsADirectory, "it is a directory")),
            Ok(_) if is_standard_output(path) => standard(),
            Ok(kind) if kind.is_file() => existing(path, kind),
            Ok(kind) if is_disk(&kind) => Err(io::Error::other("it is a disk, whose files would be lost")),
            Ok(_) => Ok(Target::Stream(Way::Named(path.to_owned()))),
            Err(error) if is_absent(&error) => new(path),
            Err(error) => Err(error),
        }
    }

    /// The file that the output would change, if it is one.
    pub fn identity(&self) -> Option<Identity> {
        match self {
            Target::Plain(Plain { path, earlier }) => earlier.as_ref().and_then(|_| Identity::at(path).ok()),
            Target::Stream(Way::Standard) => identity::standard_output().and_then(|file| Identity::of(&file)).ok(),
            Target::Stream(Way::Named(_)) => None,
        }
    }

    /// The place of a file.
    pub fn plain(&self) -> Option<&Plain> {
        match self {
            Target::Plain(place) => Some(place),
            Target::Stream(_) => None,
        }
    }
}

/// Nothing stands there, or nothing that is a folder stands above it.
fn is_absent(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

/// A file that is to be replaced, in the place to which links lead.
fn existing(path: &Path, kind: Metadata) -> io::Result<Target> {
    if kind.permissions().readonly() {
        return Err(io::Error::new(io::ErrorKind::PermissionDenied, "it may only be read"));
    }
    may_be_written(path)?;
    let is_link = fs::symlink_metadata(path)?.is_symlink();
    let path = if is_link { fs::canonicalize(path)? } else { path.to_owned() };
    Ok(Target::Plain(Plain { path, earlier: Some(Box::new(kind)) }))
}

/// A file that is not there yet; a link may lead to its place.
fn new(path: &Path) -> io::Result<Target> {
    let mut path = path.to_owned();
    for _ in 0..MOST_LINKS {
        let Ok(to) = fs::read_link(&path) else {
            let is_folder =
                path.as_os_str().as_encoded_bytes().last().is_some_and(|&last| std::path::is_separator(last.into()));
            return match folder(&path).is_dir() {
                true if is_folder => Err(io::Error::new(io::ErrorKind::NotADirectory, "it is named as a directory")),
                true => Ok(Target::Plain(Plain { path, earlier: None })),
                false => Err(io::Error::new(io::ErrorKind::NotFound, "its folder does not exist")),
            };
        };
        path = folder(&path).join(to);
    }
    Err(io::Error::other("too many links lead to it"))
}

/// The folder in which a file stands.
pub fn folder(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

impl Plain {
    /// Gives a file the mode and the owner of the one that it is to replace.
    ///
    /// # Errors
    /// If it may not have them.
    pub fn keep(&self, file: &File) -> io::Result<()> {
        let Some(earlier) = &self.earlier else { return Ok(()) };
        keep_owner(file, earlier)?;
        // Where a file system has one mode for all, it may not be set.
        if file.metadata()?.permissions() != earlier.permissions() {
            file.set_permissions(earlier.permissions())?;
        }
        Ok(())
    }
}

/// Standard output, unless it is closed.
fn standard() -> io::Result<Target> {
    match identity::standard_output() {
        Ok(file) if !is_closed(&file) => Ok(Target::Stream(Way::Standard)),
        _ => Err(io::Error::other("it is closed, or is the null device, open for reading as well")),
    }
}

/// Whether a path leads to where standard output goes: `-` does, a link as `/dev/stdout` does, and so does the name of a
/// file that the shell opened for it, which must not be moved away below it.
pub fn is_standard_output(path: &Path) -> bool {
    if path == Path::new(STREAM) {
        return true;
    }
    // The null device is named for itself, whether standard output goes there or not.
    let is_link = || fs::symlink_metadata(path).is_ok_and(|kind| kind.is_symlink());
    identity::standard_output()
        .and_then(|file| Ok((Identity::of(&file)?, is_null(&file))))
        .is_ok_and(|(out, is_null)| Identity::at(path).is_ok_and(|here| here == out) && (!is_null || is_link()))
}

#[cfg(unix)]
fn is_null(file: &File) -> bool {
    Identity::of(file).is_ok_and(|here| Identity::at(Path::new("/dev/null")).is_ok_and(|null| here == null))
}

/// Where standard output is closed, the language's runtime has opened the null device in its place before the program
/// begins, for reading and writing. A shell's `>/dev/null` is for writing alone.
#[cfg(unix)]
fn is_closed(file: &File) -> bool {
    use rustix::fs::OFlags;
    is_null(file) && rustix::fs::fcntl_getfl(file).is_ok_and(|flags| flags & OFlags::RWMODE == OFlags::RDWR)
}

#[cfg(unix)]
fn may_be_written(path: &Path) -> io::Result<()> {
    Ok(rustix::fs::access(path, rustix::fs::Access::WRITE_OK)?)
}

#[cfg(unix)]
fn is_disk(kind: &Metadata) -> bool {
    std::os::unix::fs::FileTypeExt::is_block_device(&kind.file_type())
}

#[cfg(unix)]
fn is_device_name(_: &Path) -> bool {
    false
}

#[cfg(unix)]
fn keep_owner(file: &File, earlier: &Metadata) -> io::Result<()> {
    use std::os::unix::fs::{MetadataExt, fchown};
    let now = file.metadata()?;
    let other = |mine: u32, theirs: u32| (mine != theirs).then_some(theirs);
    let (user, group) = (other(now.uid(), earlier.uid()), other(now.gid(), earlier.gid()));
    if user.is_none() && group.is_none() {
        return Ok(());
    }
    fchown(file, user, group).map_err(|_| {
        io::Error::new(io::ErrorKind::PermissionDenied, "it belongs to another user or group, and would not any more")
    })
}

#[cfg(not(unix))]
fn is_null(_: &File) -> bool {
    false
}

#[cfg(not(unix))]
fn is_closed(_: &File) -> bool {
    false
}

#[cfg(not(unix))]
fn may_be_written(path: &Path) -> io::Result<()> {
    fs::OpenOptions::new().write(true).open(path).map(drop)
}

#[cfg(not(unix))]
fn is_disk(_: &Metadata) -> bool {
    false
}

/// The names that mean a device in every folder.
#[cfg(not(unix))]
fn is_device_name(path: &Path) -> bool {
    let name = path.file_stem().unwrap_or_default().to_string_lossy().to_ascii_uppercase();
    let numbered = name.len() == 4 && (name.starts_with("COM") || name.starts_with("LPT"));
    matches!(&*name, "CON" | "PRN" | "AUX" | "NUL") || numbered && name.ends_with(|last: char| last.is_ascii_digit())
}

#[cfg(not(unix))]
fn keep_owner(_: &File, _: &Metadata) -> io::Result<()> {
    Ok(())
}
