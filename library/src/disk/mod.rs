//! Disks: a declared layout of sectors, disk files written and read by it, and the disk as a picture.
//!
//! A [`Layout`] says how a disk turns, where its sectors begin, which fields a sector has, how sectors are numbered and
//! which stretches of them hold programs. [`write`](mod@write) puts images on a [`Disk`], [`read`](mod@read) gives a verdict for every
//! sector and takes programs off again, [`picture`] draws it to scale, [`cells`] has
//! its tracks as they pass a head.
//! [`Times`] and [`Wires`] describe a drive and how it is wired to ports. A sector is a [`Record`](crate::record::Record):
//! its fields and checks are those of the tape's blocks.

pub mod cells;
pub mod picture;
pub mod read;
pub mod write;

mod bundled;
mod chip_wires;
mod file;
mod layout;
mod lint;
mod load;
mod numbering;
mod times;
mod turn;
mod wires;

pub use bundled::{BUNDLED, bundled, unknown};
pub use cells::Cell;
pub use chip_wires::{ChipWires, Line, Requests};
pub use file::{Disk, Form};
pub use layout::{Area, Fill, Layout, Plan, Sectoring};
pub use load::load;
pub use numbering::Numbering;
pub use times::Times;
pub use turn::Turn;
pub use wires::{Act, Deed, Shown, Signal, Wire, Wires};
