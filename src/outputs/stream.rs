//! Outputs that go into a device, a pipe or standard output, as they are.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// What is written to as it is.
pub enum Way {
    /// Standard output.
    Standard,
    /// A device or a pipe.
    Named(PathBuf),
}

/// An open stream.
pub enum Stream {
    /// Standard output.
    Standard,
    /// A device or a pipe.
    Named(File),
}

impl Way {
    /// Opens it; a pipe waits for whoever reads it.
    ///
    /// # Errors
    /// If it cannot be opened, or a stop was asked for.
    pub fn open(&self) -> io::Result<Stream> {
        match self {
            Way::Standard => Ok(Stream::Standard),
            Way::Named(path) if is_pipe(path) => open_pipe(path).map(Stream::Named),
            Way::Named(path) => open_device(path).map(Stream::Named),
        }
    }
}

fn open_device(path: &Path) -> io::Result<File> {
    OpenOptions::new().write(true).open(path)
}

#[cfg(unix)]
fn is_pipe(path: &Path) -> bool {
    use std::os::unix::fs::FileTypeExt;
    std::fs::metadata(path).is_ok_and(|kind| kind.file_type().is_fifo())
}

/// Opens a pipe as soon as somebody reads it. A plain open would wait deaf to a request to stop.
#[cfg(unix)]
fn open_pipe(path: &Path) -> io::Result<File> {
    use crate::stop::is_stopped;
    use rustix::fs::{OFlags, fcntl_getfl, fcntl_setfl};
    use rustix::io::Errno;
    use std::os::unix::fs::OpenOptionsExt;
    use std::time::Duration;

    loop {
        match OpenOptions::new().write(true).custom_flags(OFlags::NONBLOCK.bits() as i32).open(path) {
            Ok(file) => {
                fcntl_setfl(&file, fcntl_getfl(&file)? - OFlags::NONBLOCK)?;
                return Ok(file);
            }
            Err(error) if error.raw_os_error() == Some(Errno::NXIO.raw_os_error()) && !is_stopped() => {
                std::thread::sleep(Duration::from_millis(20));
            }
            Err(error) => return Err(error),
        }
    }
}

#[cfg(not(unix))]
fn is_pipe(_: &Path) -> bool {
    false
}

#[cfg(not(unix))]
fn open_pipe(path: &Path) -> io::Result<File> {
    open_device(path)
}

impl Write for Stream {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match self {
            Stream::Standard => io::stdout().write(bytes),
            Stream::Named(file) => file.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        match self {
            Stream::Standard => io::stdout().flush(),
            Stream::Named(file) => file.flush(),
        }
    }
}
