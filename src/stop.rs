//! Requests to stop: Ctrl-C, SIGTERM, a terminal that is closed.
//!
//! Work that takes long heeds them: it looks whether one came, ends, and cleans up behind itself. At any other time the
//! process ends as it would have, but takes its temporary files along.

use std::fs;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, Once, PoisonError};

use coldwright::source::{Code, Diagnostic};

/// Whether a stop was asked for.
static ASKED: AtomicBool = AtomicBool::new(false);

/// How much work is going on that looks at [`ASKED`].
static HEEDED: AtomicUsize = AtomicUsize::new(0);

/// Folders that are to be gone when the process ends.
static PASSING: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

/// Held by what must not end in its middle.
static WHOLE: Mutex<()> = Mutex::new(());

/// While it lives, a request to stop is noted and does not end the process.
#[must_use]
pub struct Heed(());

/// Takes requests to stop as something to look at, with [`is_stopped`].
pub fn heed() -> Heed {
    HEEDED.fetch_add(1, Ordering::SeqCst);
    watch();
    Heed(())
}

impl Drop for Heed {
    fn drop(&mut self) {
        HEEDED.fetch_sub(1, Ordering::SeqCst);
    }
}

/// While it lives, a folder is taken away if a request to stop ends the process.
pub struct Passing(PathBuf);

impl Passing {
    /// Notes a folder that is to be gone when the process ends.
    pub fn new(path: &Path) -> Passing {
        watch();
        lock(&PASSING).push(path.to_owned());
        Passing(path.to_owned())
    }
}

impl Drop for Passing {
    fn drop(&mut self) {
        lock(&PASSING).retain(|path| *path != self.0);
    }
}

/// Does something that no request to stop ends in its middle.
pub fn undisturbed<T>(work: impl FnOnce() -> T) -> T {
    let _whole = lock(&WHOLE);
    work()
}

/// A thread that failed has left these values as good as they were.
fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Takes a request; `end` ends the process if nobody looks at requests.
fn take(end: impl FnOnce()) {
    ASKED.store(true, Ordering::SeqCst);
    if HEEDED.load(Ordering::SeqCst) == 0 {
        let _whole = lock(&WHOLE);
        for path in lock(&PASSING).iter() {
            // One that cannot be taken away is left to the next run.
            let _ = fs::remove_dir_all(path);
        }
        end();
    }
}

/// Sees to it that requests are taken.
fn watch() {
    static ONCE: Once = Once::new();
    // Where they cannot be, a request ends the process as it always did.
    ONCE.call_once(|| drop(watch_signals()));
}

#[cfg(unix)]
fn watch_signals() -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    use signal_hook::{iterator::Signals, low_level::emulate_default_handler};
    let ignored = ignored();
    let mut signals =
        Signals::new([SIGHUP, SIGINT, SIGTERM].into_iter().filter(|signal| ignored >> (signal - 1) & 1 == 0))?;
    std::thread::Builder::new().spawn(move || {
        for signal in signals.forever() {
            take(|| drop(emulate_default_handler(signal)));
        }
    })?;
    Ok(())
}

/// The signals that are ignored from the start, as `nohup` does with the one of a closed terminal: bit 0 is signal 1.
/// Only Linux tells.
#[cfg(unix)]
fn ignored() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let mask = status.lines().find_map(|line| line.strip_prefix("SigIgn:"));
    mask.and_then(|mask| u64::from_str_radix(mask.trim(), 16).ok()).unwrap_or(0)
}

#[cfg(not(unix))]
fn watch_signals() -> Result<(), ctrlc::Error> {
    ctrlc::set_handler(|| take(|| std::process::exit(1)))
}

/// Whether a stop was asked for.
pub fn is_stopped() -> bool {
    ASKED.load(Ordering::SeqCst)
}

/// What to say of work that was stopped.
pub fn stopped() -> Diagnostic {
    Diagnostic::error(Code::TransferStopped, "stopped before the end")
}

/// An input or output that fails once a stop was asked for, so that whatever works on it ends and cleans up behind itself.
pub struct Stoppable<T>(pub T);

impl<T> Stoppable<T> {
    fn go_on(&mut self) -> io::Result<&mut T> {
        if is_stopped() { Err(io::Error::other("stopped")) } else { Ok(&mut self.0) }
    }
}

impl<T: Read> Read for Stoppable<T> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        self.go_on()?.read(buffer)
    }
}

impl<T: Write> Write for Stoppable<T> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.go_on()?.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.go_on()?.flush()
    }
}

impl<T: Seek> Seek for Stoppable<T> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.go_on()?.seek(to)
    }
}
