//! Which file is which, by whatever name it goes.

use std::fs::File;
use std::io;
use std::path::Path;

/// A file as the system knows it: two names of one file give equal identities.
#[derive(Debug, PartialEq, Eq, Hash)]
pub struct Identity(Known);

/// Device and inode. They are there for whatever can be named, without opening it: a pipe would wait for its other end.
#[cfg(unix)]
type Known = (u64, u64);

/// Volume and index of an open file.
#[cfg(not(unix))]
type Known = same_file::Handle;

impl Identity {
    /// Of an open file.
    ///
    /// # Errors
    /// If the system does not tell.
    pub fn of(file: &File) -> io::Result<Identity> {
        #[cfg(unix)]
        return file.metadata().map(|kind| Self::from_metadata(&kind));
        #[cfg(not(unix))]
        return same_file::Handle::from_file(file.try_clone()?).map(Identity);
    }

    /// Of what stands at a path, links followed.
    ///
    /// # Errors
    /// If nothing stands there.
    pub fn at(path: &Path) -> io::Result<Identity> {
        #[cfg(unix)]
        return std::fs::metadata(path).map(|kind| Self::from_metadata(&kind));
        #[cfg(not(unix))]
        return same_file::Handle::from_path(path).map(Identity);
    }

    #[cfg(unix)]
    fn from_metadata(kind: &std::fs::Metadata) -> Identity {
        use std::os::unix::fs::MetadataExt;
        Identity((kind.dev(), kind.ino()))
    }
}

/// Standard input as a file of its own.
///
/// # Errors
/// If there is none.
pub fn standard_input() -> io::Result<File> {
    own(&io::stdin())
}

/// Standard output as a file of its own.
///
/// # Errors
/// If there is none.
pub fn standard_output() -> io::Result<File> {
    own(&io::stdout())
}

#[cfg(unix)]
fn own(stream: &impl std::os::fd::AsFd) -> io::Result<File> {
    stream.as_fd().try_clone_to_owned().map(File::from)
}

#[cfg(not(unix))]
fn own(stream: &impl std::os::windows::io::AsHandle) -> io::Result<File> {
    stream.as_handle().try_clone_to_owned().map(File::from)
}
