//! Statements to an image with symbols and a listing, in two passes.
//!
//! Pass one reads every line: it expands macros, decides conditionals, gives labels their addresses and keeps one
//! [`Statement`] for whatever pass two has to look at. Pass two knows all names; it evaluates operands and puts bytes into the
//! image. Nothing here opens a file: included texts come through a [`Loader`].
//!
//! Invariants: a statement has the same size in both passes; a byte of the image knows the line that made it; every
//! bound on nesting and expansion is a named constant and its error says it.

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
mod macros;
mod pass_one;
mod pass_two;
mod regions;
mod reports;
mod statement;
mod stdlib;
mod symbols;
mod trouble;

pub use listing::{cross_reference, listing};
pub use loader::{LoadError, Loaded, Loader, StdlibOnly};
pub use statement::{ListedLine, Statement};
pub use stdlib::{STDLIB, StdlibFile, built_in};
pub use symbols::{Entry, Meaning, Symbols, Worth};

use crate::image::{Image, Symbol, SymbolKind};
use crate::source::{Diagnostics, SourceId, SourceMap};
use crate::syntax::{Names, Program};

/// What the user asked for besides the source itself.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Constants defined before the first line, as by EQU.
    pub definitions: Vec<(String, u16)>,
    /// Whether to warn of labels that nothing uses.
    pub warn_unused: bool,
    /// Whether every line is kept for a listing.
    pub keep_lines: bool,
}

/// The result of assembling a source. The image is complete only if the diagnostics hold no error.
pub struct Assembly {
    /// The bytes, with the entry; the symbols come with [`Assembly::export_symbols`].
    pub image: Image,
    /// All problems found.
    pub diagnostics: Diagnostics,
    /// All names with what they stand for.
    pub symbols: Symbols,
    /// The spelling of the names.
    pub names: Names,
    /// Every line that was read or generated, in that order, if they were to be kept.
    pub lines: Vec<ListedLine>,
    /// What pass two looked at.
    pub statements: Vec<Statement>,
    /// The operands of the statements.
    pub program: Program,
}

/// Assembles a source that has been added to `sources`; included and expanded texts are added as they are met.
pub fn assemble(sources: &mut SourceMap, root: SourceId, options: &Options, loader: &mut dyn Loader) -> Assembly {
    let first = pass_one::run(sources, root, options, loader);
    let mut second = pass_two::run(first);
    if !second.diagnostics.has_errors() {
        flow::check(&mut second, options);
    }
    second
}

impl Assembly {
    /// Gives the image its symbols, in the order of their first sight. It is a step of its own because not every
    /// output has a place for them.
    pub fn export_symbols(&mut self) {
        let symbol = |name| {
            let entry = self.symbols.get(name)?;
            let kind = match entry.meaning {
                Meaning::Label => SymbolKind::Label,
                Meaning::Constant | Meaning::Variable => SymbolKind::Constant,
                _ => return None,
            };
            let Worth::Known(value) = entry.worth else { return None };
            Some(Symbol { name: self.names.text(name).to_owned(), value, kind })
        };
        self.image.symbols = self.names.all().filter_map(symbol).collect();
    }
}
