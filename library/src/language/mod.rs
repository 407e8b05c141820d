//! What an editor asks of a source, a chain file or another file of a chain, answered from what the assembler, the reader
//! of chains and the table of the processor know of it.
//!
//! A [`View`] is what was made of a chain, or of a file by itself. Every answer is a function of a view and of a place in
//! it. Nothing here reads a text a second time in another way: words come from the lexer of the assembler, names and bytes
//! from its result, keys and what may stand at them from the readers of the files themselves.
//!
//! This floor knows no protocol: places are offsets in bytes, and texts are Markdown at most.

mod words;
mod described;
mod view;
mod scopes;
mod rows;
mod headers;
mod hover;
mod names;
mod outline;
mod coloured;
mod lenses;
mod mends;
mod pages;
mod completion;
mod keys;

pub use coloured::{Colour, Coloured, coloured};
pub use completion::{Item, ItemKind, completion};
pub use described::{SENTENCES, described};
pub use hover::{Hover, hover};
pub use keys::key_completion;
pub use lenses::{Lens, hints, lenses};
pub use mends::{Mend, mends};
pub use names::{NoRename, definition, references, rename};
pub use outline::{Fold, Outlined, OutlinedKind, folds, outline};
pub use view::{Kind, View};
pub use words::{Around, word_at};
