//! Bytes at addresses, each knowing where it came from. Every output reads an [`Image`] and nothing else.
//!
//! An image is the whole of an 8080's memory, 64 KiB, with a mark on each byte that is present. It knows nothing of
//! sockets, tapes or sheets.
//!
//! One file per format, with one public function each way; [`format`](mod@format) chooses between them.

pub mod byte_table;
mod bytes;
mod digits;
mod entry;
pub mod elf;
pub mod format;
pub mod intel_hex;
pub mod raw;
mod reading;
mod record;
pub mod s_record;

pub use bytes::{Extent, Image, InsertError, MEMORY, Overlap, Symbol, SymbolKind};
pub use entry::entry_outside;
pub use format::Format;
pub use reading::Reading;
