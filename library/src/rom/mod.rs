//! Parts, sockets, the fit to the byte, and part files.
//!
//! A [`Socket`] is one description with two directions: [`contents`] and [`split`] turn an image into what each part
//! is to hold, [`join`] turns parts back into what the machine reads. [`fit`] measures an image against a socket map
//! and names every byte that lies in none. This floor knows nothing of files or of how an image was made.

mod outputs;
mod part;
mod table;
mod wiring;
mod check;
mod entry;
mod socket;
mod split;
mod part_file;
mod routine;
mod figures;
mod fit;
mod budget;
mod compare;
mod render;
mod text;

pub use check::Check;
pub use compare::{Change, changes};
pub use entry::{CheckEntry, FillEntry, SYNTAX, SocketEntry};
pub use figures::{Fit, SocketFit};
pub use fit::fit;
pub use outputs::{Level, Width};
pub use part::{Part, PartEntry, Parts};
pub use part_file::{PartFile, PartFormat, part_files};
pub use render::{changes_text, fit_text, is_labels_page, label, labels_page, wiring_lines};
pub use routine::{Routine, largest, routines};
pub use socket::{Clash, Fault, Fill, Seat, Socket, clashes};
pub use split::{PartImage, contents, difference, join, join_as_read, split, verify};
pub use table::{Kind, Known, PARTS, cautions, to_markdown, to_text};
pub use wiring::{Lines, Wiring};
