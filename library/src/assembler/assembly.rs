//! What is asked of the assembler, and what comes of it.

use super::statement::{ListedLine, Statement};
use super::symbols::{Meaning, Symbols, Worth};
use crate::image::{Image, Symbol, SymbolKind};
use crate::notation::Address;
use crate::source::Diagnostics;
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

impl Assembly {
    /// The bytes that a statement put into the image.
    pub fn bytes_of(&self, statement: &Statement) -> Vec<u8> {
        let deposit = Address(statement.deposit());
        let addresses = (0..=u16::MAX).map(|at| deposit.wrapping_add(at));
        let own = addresses.take_while(|&at| self.image.made_by(at) == Some(statement.position()));
        own.filter_map(|at| self.image.byte(at)).collect()
    }

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
