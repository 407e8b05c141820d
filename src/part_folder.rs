//! A folder of part files, one for each part, named after the socket, or as `build` names them.

use std::path::{Path, PathBuf};

use super::files;
use coldwright::project::slug;
use coldwright::rom::{PartFormat, PartImage, Socket};
use coldwright::source::{Code, Diagnostic, Diagnostics, SourceMap};

/// The parts of a socket with their files; none if one could not be read, which is among the problems then.
pub(super) fn read(
    folder: &Path,
    socket: &Socket,
    sources: &mut SourceMap,
    problems: &mut Diagnostics,
) -> Option<Vec<(PathBuf, PartImage)>> {
    let mut parts = Vec::new();
    let names: Vec<_> = socket.seat_names().collect();
    for name in &names {
        let found = file_of(folder, name).and_then(|(path, format)| Ok((files::read(&path)?, path, format)));
        match found {
            Ok((bytes, path, format)) => {
                let (part, said) = format.read(name, &path.display().to_string(), bytes, sources);
                let sound = !said.has_errors();
                problems.append(said);
                parts.extend(sound.then_some((path, part)));
            }
            Err(problem) => problems.push(problem),
        }
    }
    (parts.len() == names.len()).then_some(parts)
}

/// The file of a part, in whichever format it is there.
fn file_of(folder: &Path, name: &str) -> Result<(PathBuf, PartFormat), Diagnostic> {
    let candidates = PartFormat::ALL.map(|format| (folder.join(format!("{name}.{}", format.extension())), format));
    let as_built = PartFormat::ALL.map(|format| {
        let file = format!("part-{}.{}", slug(name), format.extension());
        (folder.join(file), format)
    });
    let mut there: Vec<_> = candidates.iter().chain(&as_built).filter(|(path, _)| path.exists()).cloned().collect();
    if there.len() > 1 {
        let headline =
            format!("part `{name}` has two files: `{}` and `{}`", there[0].0.display(), there[1].0.display());
        return Err(Diagnostic::error(Code::PartFileWrong, headline).with_help("take the stale one away"));
    }
    let [first, ..] = candidates;
    Ok(there.pop().unwrap_or(first))
}
