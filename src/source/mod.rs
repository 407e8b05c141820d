//! Files, spans and diagnostics: every text that the tool reads, where things stand in it, and how a problem is told.
//!
//! This floor knows nothing of assembly: a machine file, a hex file and a macro expansion are all sources.

mod code;
mod diagnostic;
mod json;
mod map;
mod near;
mod parity;
mod render;
mod table;

pub use code::Code;
pub use diagnostic::{Diagnostic, Diagnostics, Label, Severity};
pub use json::to_json_line;
pub use map::{Origin, Position, Source, SourceId, SourceMap, Span};
pub use near::nearest;
pub use parity::CharacterParity;
pub use render::{Renderer, Style};
pub use table::{Table, TomlText, Value};
