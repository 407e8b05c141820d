//! Statements to an image with symbols and a listing, in two passes.
//!
//! Pass one reads every line: it expands macros, decides conditionals, gives labels their addresses and keeps one
//! [`Statement`] for whatever pass two has to look at. Pass two knows all names; it evaluates operands and puts bytes into the
//! image. Nothing here opens a file: included texts come through a [`Loader`].
//!
//! Invariants: a statement has the same size in both passes; a byte of the image knows the line that made it; every
//! bound on nesting and expansion is a named constant and its error says it.

mod arguments;
mod assembly;
mod bounds;
mod conditionals;
mod directives;
mod emit;
mod evaluate;
mod expand;
mod files;
mod flow;
mod foreign;
mod frames;
mod habits;
mod layout;
mod lines;
mod listing;
mod loader;
mod location;
mod macros;
mod pass_one;
mod pass_two;
mod regions;
mod reports;
mod state;
mod statement;
mod stdlib;
mod symbols;
mod trouble;

pub use assembly::{Assembly, Options};
pub use listing::{cross_reference, listing};
pub use loader::{LoadError, Loaded, Loader};
pub use statement::{ListedLine, Statement};
pub use stdlib::{STDLIB, StdlibFile, StdlibOnly, built_in};
pub use symbols::{Entry, Meaning, Symbols, Worth};

use crate::source::{SourceId, SourceMap};

/// Assembles a source that has been added to `sources`; included and expanded texts are added as they are met.
pub fn assemble(sources: &mut SourceMap, root: SourceId, options: &Options, loader: &mut dyn Loader) -> Assembly {
    let first = pass_one::run(sources, root, options, loader);
    let mut second = pass_two::run(first);
    if !second.diagnostics.has_errors() {
        flow::check(&mut second, options);
    }
    second
}
