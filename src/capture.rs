//! What comes in slowly and comes once: it is written as it comes, and kept whatever happens.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use super::outputs::{Plain, Stream, Target, refuse, target};
use super::stop::{is_stopped, stopped, undisturbed};
use coldwright::notation::counted;
use coldwright::source::Diagnostic;

/// The most parts of one name that are kept beside each other.
const MOST_PARTS: usize = 1000;

/// A capture under way.
pub struct Capture {
    shown: PathBuf,
    count: u64,
    /// Whether it could not be kept whole: then what stands in its place stays there.
    is_cut: bool,
    to: To,
}

/// Where it goes.
enum To {
    /// Beside its place, under a name of its own.
    Part { part: PathBuf, file: File, place: Plain },
    /// On, to whoever reads it.
    Stream(Stream),
}

impl Capture {
    /// Begins a capture that is to stand at `path` in the end; `-` is standard output.
    ///
    /// # Errors
    /// A diagnostic if nothing can be kept there.
    pub fn begin(path: &Path) -> Result<Capture, Diagnostic> {
        let to = match target(path)? {
            Target::Plain(place) => new_part(&place).map(|(part, file)| To::Part { part, file, place }),
            Target::Stream(way) => way.open().map(To::Stream),
        };
        match to {
            Ok(to) => Ok(Capture { shown: path.to_owned(), count: 0, is_cut: false, to }),
            Err(_) if is_stopped() => Err(stopped()),
            Err(error) => Err(refuse(path, &error, 0)),
        }
    }

    /// The file in which it is kept until its end.
    pub fn part(&self) -> Option<&Path> {
        match &self.to {
            To::Part { part, .. } => Some(part),
            To::Stream(_) => None,
        }
    }

    /// How many bytes are kept.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Keeps what has come.
    ///
    /// # Errors
    /// A diagnostic if it cannot be written.
    pub fn keep(&mut self, bytes: &[u8]) -> Result<(), Diagnostic> {
        let mut rest = bytes;
        while !rest.is_empty() {
            let written = match &mut self.to {
                To::Part { file, .. } => file.write(rest),
                To::Stream(stream) => stream.write(rest),
            };
            match written {
                Ok(0) => return Err(self.cut(&io::Error::from(ErrorKind::WriteZero), rest)),
                Ok(count) => {
                    self.count += count as u64;
                    rest = &rest[count..];
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(self.cut(&error, rest)),
            }
        }
        match &mut self.to {
            To::Part { .. } => Ok(()),
            To::Stream(stream) => stream.flush().map_err(|error| refuse(&self.shown, &error, 0)),
        }
    }

    fn cut(&mut self, error: &io::Error, rest: &[u8]) -> Diagnostic {
        self.is_cut = true;
        let lost = format!("{} more had come, and could not be kept", counted(rest.len(), "byte"));
        refuse(&self.shown, error, 0).with_note(lost)
    }

    /// Ends the capture: moves what has come into its place, and says where it is. Nothing stays if nothing came.
    ///
    /// # Errors
    /// A diagnostic if it cannot be moved; it stays where it was kept.
    pub fn end(self) -> Result<String, Diagnostic> {
        let To::Part { part, place, .. } = self.to else { return Ok("what it was written to".into()) };
        if self.count > 0 && self.is_cut {
            return Ok(format!("`{}`", part.display()));
        }
        let moved = undisturbed(|| match self.count {
            0 => fs::remove_file(&part),
            _ => fs::rename(&part, &place.path),
        });
        match moved {
            Ok(()) => Ok(format!("`{}`", self.shown.display())),
            Err(error) => {
                Err(refuse(&self.shown, &error, 0).with_note(format!("what came is in `{}`", part.display())))
            }
        }
    }
}

/// Makes a file beside a place, under a name that no earlier capture has left.
fn new_part(place: &Plain) -> io::Result<(PathBuf, File)> {
    for number in 1..=MOST_PARTS {
        let mut part = OsString::from(&place.path);
        part.push(if number == 1 { ".part".into() } else { format!(".part-{number}") });
        match File::create_new(&part) {
            Ok(file) => {
                return place
                    .keep(&file)
                    .map(|()| (PathBuf::from(&part), file))
                    .inspect_err(|_| drop(fs::remove_file(&part)));
            }
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    Err(io::Error::other("too many parts of it are kept already"))
}
