//! Old bytes back to source.
//!
//! What the bytes are is found out first ([`find`]): what hints say, what the flow from the entries reaches, what runs
//! elsewhere, and what of the rest is plausible. Then what was found is named and written ([`disassemble`]), and what was
//! written is assembled and compared ([`prove`]). All decoding comes from the one table of instructions.
//!
//! Invariants: a byte is marked once, and a hint comes before every guess; what is understood is kept in hints and never
//! in a copy; the source makes the bytes that it was read from, which is proven and not believed.

mod bytes;
mod hints;
mod hints_file;
mod marks;
mod places;
mod text;
mod behind;
mod trial;
mod flow;
mod plausible;
mod tables;
mod moved;
mod find;
mod ports;
mod habits;
mod labels;
mod rows;
mod write;
mod source;
mod merge;

pub use bytes::{Bytes, Decoded};
pub use find::{Found, Known, find};
pub use hints::{Behind, Hint, Hints, Kind};
pub use marks::{Mark, Marks, Uses};
pub use merge::{Merged, Reading, merge};
pub use places::{Moved, Places};
pub use source::{Disassembled, Wish, disassemble, prove};
