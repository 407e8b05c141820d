//! Files, spans and diagnostics: every text that the tool reads, where things stand in it, and how a problem is told.
//!
//! This floor knows nothing of assembly: a machine file, a hex file and a macro expansion are all sources.

mod brief;
mod code;
mod diagnostic;
mod diagnostics;
mod json;
mod map;
mod near;
mod parity;
mod place;
mod render;
mod table;

pub use brief::to_brief_line;
pub use code::Code;
pub use diagnostic::{Diagnostic, Label, Severity};
pub use diagnostics::Diagnostics;
pub use json::to_json_line;
pub use map::{Body, Origin, Source, SourceMap};
pub use near::nearest;
pub use parity::CharacterParity;
pub use place::{Position, SourceId, Span};
pub use render::{Renderer, Style};
pub use table::{Table, TomlText, Value};
