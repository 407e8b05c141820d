//! Ctrl-C as a request to stop cleanly.

use std::io::{self, Read, Seek, SeekFrom, Write};
use std::sync::atomic::{AtomicBool, Ordering};

use crate::source::{Code, Diagnostic};

static STOPPED: AtomicBool = AtomicBool::new(false);

/// Takes Ctrl-C as a request to stop cleanly.
pub fn heed_ctrl_c() {
    // A second handler is refused; then the first one is there already.
    let _ = ctrlc::set_handler(|| STOPPED.store(true, Ordering::SeqCst));
}

/// Whether a stop was asked for.
pub fn is_stopped() -> bool {
    STOPPED.load(Ordering::SeqCst)
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
