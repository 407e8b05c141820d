//! The command line as a user meets it: the process, its files and its exit code.

#![allow(clippy::unwrap_used, reason = "a test that cannot set up its own files fails")]

#[cfg(unix)]
mod far_end;
mod image_pages;
mod outputs;
#[cfg(unix)]
mod serial;
mod sockets;
//! The program as a person runs it.

#![allow(clippy::unwrap_used, reason = "a test that cannot set itself up fails")]

mod chain;
mod mistakes;
mod rehearse;
