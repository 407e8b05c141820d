//! Framings and layouts as options name them: bundled ones, and files.

use std::path::Path;

use super::files;
use super::report::Report;
use coldwright::source::{Diagnostic, Diagnostics, Origin, SourceId, SourceMap};

/// What an option names: a bundled thing, or a file whose name ends with `.toml`. Its problems are reported.
pub fn load_named<T>(
    name: &str,
    bundled: fn(&str) -> Option<T>,
    unknown: fn(&str) -> Diagnostic,
    load: impl FnOnce(&SourceMap, SourceId, &mut Diagnostics) -> Option<T>,
    report: &mut Report,
) -> Option<T> {
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
    let loaded = load(&sources, source, &mut problems);
    report.problems(problems, &sources);
    loaded
}
