//! Layouts as options name them.

use std::path::Path;

use super::files;
use super::report::Report;
use coldwright::disk::{self, Layout, bundled, unknown};
use coldwright::notation::Notation;
use coldwright::source::{Diagnostics, Origin, SourceMap};

/// The layout that an option names: a bundled one, or a file whose name ends with `.toml`. Its problems are reported,
/// numbers in `notation`.
pub fn load_layout(name: &str, notation: Notation, report: &mut Report) -> Option<Layout> {
    if !Path::new(name).extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml")) {
        let found = bundled(name);
        if found.is_none() {
            report.problem(unknown(name));
        }
        return found;
    }
    let bytes = files::read(Path::new(name)).map_err(|problem| report.problem(problem)).ok()?;
    let (mut sources, mut problems) = (SourceMap::default(), Diagnostics::default());
    let source = sources.add(name, bytes, Origin::Given);
    let loaded = disk::load(&sources, source, notation, &mut problems);
    report.problems(problems, &sources);
    loaded
}
