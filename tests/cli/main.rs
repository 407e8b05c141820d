//! The command line as a user meets it: the process, its files and its exit code.

#![allow(clippy::unwrap_used, reason = "a test that cannot set up its own files fails")]

mod bench;
mod booklet;
mod build;
#[cfg(unix)]
mod captures;
mod cards;
mod chain;
mod compared;
mod diagnose;
#[cfg(unix)]
mod ends;
#[cfg(unix)]
mod far_end;
mod faults;
mod limits;
mod format;
mod help;
mod image_pages;
mod inputs;
mod interleave;
mod language_server;
mod mistakes;
mod new;
mod outputs;
#[cfg(unix)]
mod places;
mod played;
mod rehearse;
#[cfg(unix)]
mod serial;
mod sheets;
mod shorten;
mod sockets;
mod streams;
mod tapes;
mod watch;
