//! Drives and their controllers.

pub mod fd1771;

mod controller;
mod diskette;
mod drive;
mod signals;
mod spindle;
mod times;

pub use controller::{Controller, Trouble};
pub use diskette::Diskette;
pub use drive::{Drive, DriveSetup, Mishap};
pub use signals::Signal;
pub use spindle::{MOST_OFF, Spindle};
pub use times::Times;
