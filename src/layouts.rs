//! Layouts as options name them.

use super::named::load_named;
use super::report::Report;
use coldwright::disk::{self, Layout, bundled, unknown};
use coldwright::notation::Notation;

/// The layout that an option names: a bundled one, or a file whose name ends with `.toml`. Its problems are reported,
/// numbers in `notation`.
pub fn load_layout(name: &str, notation: Notation, report: &mut Report) -> Option<Layout> {
    let load = |sources: &_, source, problems: &mut _| disk::load(sources, source, notation, problems);
    load_named(name, bundled, unknown, load, report)
}
