//! The bundled chains, read from their folders.

use std::path::Path;

use coldwright::project::{Files, Plan, load};
use coldwright::source::{Origin, SourceMap};

#[path = "../../tests/support/folder.rs"]
mod folder;

use folder::Folder;

/// The chain of a name, with its sources.
pub fn chain(name: &str) -> (Plan, SourceMap) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    let mut sources = SourceMap::default();
    let mut files = Folder(folder);
    let (name, text) = files.read("coldwright.toml").expect("the example is there");
    let id = sources.add(name, text, Origin::Given);
    let (plan, _) = load(&mut sources, id, &mut files);
    (plan.expect("the example is well"), sources)
}
