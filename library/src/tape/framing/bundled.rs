//! The framings that come with the program, as files in `framings/`.

use super::declared::Framing;
use super::load::load;
use crate::notation::Notation;
use crate::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap, nearest};

/// The names of the bundled framings, each with its file.
pub const BUNDLED: [(&str, &str); 4] = [
    ("bare", include_str!("../../../../framings/bare.toml")),
    ("blocks", include_str!("../../../../framings/blocks.toml")),
    ("intel-hex", include_str!("../../../../framings/intel-hex.toml")),
    ("s-record", include_str!("../../../../framings/s-record.toml")),
];

/// The bundled framing of a name.
pub fn bundled(name: &str) -> Option<Framing> {
    let (_, text) = BUNDLED.iter().find(|(bundled, _)| *bundled == name)?;
    let mut sources = SourceMap::default();
    let source = sources.add(format!("framings/{name}.toml"), *text, Origin::Given);
    load(&sources, source, Notation::default(), &mut Diagnostics::default())
}

/// What is said of a name that no bundled framing has.
pub fn unknown(name: &str) -> Diagnostic {
    let names = BUNDLED.map(|(name, _)| name);
    let problem = Diagnostic::error(Code::FramingUnknown, format!("no framing is named `{name}`"));
    let problem = problem.with_note(format!("bundled: {}; a file is named with its ending `.toml`", names.join(", ")));
    let problem = problem.with_known(names);
    match nearest(name, names) {
        Some(near) => problem.with_near(near),
        None => problem.with_help("docs/tapes.md shows how to describe the tape that a loader reads"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Renderer, Style};

    #[test]
    fn every_bundled_framing_loads_under_its_name() {
        for (name, text) in BUNDLED {
            let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
            let source = sources.add(name, text, Origin::Given);
            let framing = load(&sources, source, Notation::default(), &mut problems);
            let mut renderer = Renderer::new(&sources, Style::default());
            let told: String = problems.iter().map(|problem| renderer.render(problem)).collect();
            assert_eq!(told, "");
            assert_eq!(framing.unwrap().name, name);
        }
    }
}
