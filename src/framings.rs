//! Framings as options name them.

use std::path::Path;

use super::named::load_named;
use super::report::Report;
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic};
use coldwright::tape::framing::{self, Framing, Reading, bundled, unknown};

/// The framing that an option names: a bundled one, or a file whose name ends with `.toml`. Its problems are reported,
/// bytes in `notation`.
pub fn load_framing(name: &str, notation: Notation, report: &mut Report) -> Option<Framing> {
    let load = |sources: &_, source, problems: &mut _| framing::load(sources, source, notation, problems);
    load_named(name, bundled, unknown, load, report)
}

/// A warning that a tape is not whole as a framing has it, to whoever passes it on by its blocks.
pub fn not_whole(tape: &Path, framing: &Framing, reading: &Reading) -> Option<Diagnostic> {
    if reading.is_whole() {
        return None;
    }
    let (tape, name) = (tape.display(), &framing.name);
    let nothing = reading.programs.is_empty();
    let headline = match nothing {
        true => format!("no block of `{name}` was found on `{tape}`"),
        false => format!("`{tape}` is not whole as `{name}` has it"),
    };
    let problem = Diagnostic::warning(Code::TapeDamaged, headline);
    Some(match nothing {
        true => problem
            .with_note("nothing rests where blocks should end")
            .with_help("is it this framing? `coldwright tape framing` lists them"),
        false => problem
            .with_note("it goes out as it is")
            .with_help(format!("`coldwright tape read` with this framing says what is wrong with `{tape}`")),
    })
}
