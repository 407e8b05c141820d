//! Tapes from outside: bytes as they are, recordings as they are heard.

use std::fs::File;
use std::io::{self, Read, Seek};
use std::path::Path;

use crate::audio::listen::{cut_short, listen};
use crate::files;
use crate::report::Report;
use coldwright::project::Tape;
use coldwright::rehearsal::Given;
use coldwright::source::{Code, Diagnostic};

/// Reads what is to be played for a tape: a recording if the file is a WAV file or named as one, else its bytes.
///
/// # Errors
/// A diagnostic if it cannot be read, or is a recording and the chain file does not say how the tape sounds.
pub fn read(tape: &Tape, path: &Path, report: &mut Report) -> Result<Given, Diagnostic> {
    // It is opened once: what comes from a pipe comes once.
    let mut file = files::open(path)?;
    let refuse = |error: io::Error| files::unreadable(path, &error);
    if !is_recording(path, &mut file).map_err(refuse)? {
        return files::read_open(path, file).map(Given::Frames);
    }
    let Some(sound) = &tape.sound else {
        let headline = format!("it is not known how the tape `{}` sounds", tape.name);
        return Err(Diagnostic::error(Code::SoundUnfit, headline)
            .with_note(format!("`{}` is a recording", path.display()))
            .with_help(
                "say `sound` under `[[tape]]` in the chain file, with the name of the preset, or of the `[[sound]]` of the machine file, that it was recorded with",
            ));
    };
    let heard = listen(path, file, &sound.modulation, report)?;
    cut_short(path, &heard.facts).into_iter().for_each(|problem| report.problem(problem));
    Ok(Given::Recording(heard))
}

/// Whether a file says of itself that it is a WAV file, or is named as one.
fn is_recording(path: &Path, file: &mut File) -> io::Result<bool> {
    if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("wav")) {
        return Ok(true);
    }
    let mut head = Vec::new();
    file.take(12).read_to_end(&mut head)?;
    file.rewind()?;
    Ok(files::is_recording(&head))
}
