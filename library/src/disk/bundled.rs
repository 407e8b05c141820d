//! The layouts that come with the program, as files in `layouts/`.

use super::layout::Layout;
use super::load::load;
use crate::notation::Notation;
use crate::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap, nearest};

/// The names of the bundled layouts, each with its file.
pub const BUNDLED: [(&str, &str); 2] = [
    ("holes-32", include_str!("../../../layouts/holes-32.toml")),
    ("marks-26", include_str!("../../../layouts/marks-26.toml")),
];

/// The bundled layout of a name.
pub fn bundled(name: &str) -> Option<Layout> {
    let (_, text) = BUNDLED.iter().find(|(bundled, _)| *bundled == name)?;
    let mut sources = SourceMap::default();
    let source = sources.add(format!("layouts/{name}.toml"), *text, Origin::Given);
    load(&sources, source, Notation::default(), &mut Diagnostics::default())
}

/// What is said of a name that no bundled layout has.
pub fn unknown(name: &str) -> Diagnostic {
    let names = BUNDLED.map(|(name, _)| name);
    let problem = Diagnostic::error(Code::LayoutUnknown, format!("no layout is named `{name}`"));
    let problem = problem.with_note(format!("bundled: {}; a file is named with its ending `.toml`", names.join(", ")));
    let problem = problem.with_known(names);
    match nearest(name, names) {
        Some(near) => problem.with_near(near),
        None => problem.with_help("docs/disks.md shows how to describe a disk"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Renderer, Style};

    #[test]
    fn every_bundled_layout_loads_under_its_name() {
        for (name, text) in BUNDLED {
            let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
            let source = sources.add(name, text, Origin::Given);
            let layout = load(&sources, source, Notation::default(), &mut problems);
            let mut renderer = Renderer::new(&sources, Style::default());
            let told: String = problems.iter().map(|problem| renderer.render(problem)).collect();
            assert_eq!(told, "");
            assert_eq!(layout.unwrap().name, name);
        }
    }
}
