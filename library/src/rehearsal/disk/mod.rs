//! Drives and their controllers.

pub mod fd1771;

mod controller;
mod diskette;
mod drive;
mod log;
mod mishap;
mod signals;
mod slowness;
mod spindle;
mod station;
mod wired;

pub use controller::{Controller, Trouble};
pub use diskette::Diskette;
pub use drive::{Drive, DriveSetup};
pub use log::SectorLog;
pub use mishap::Mishap;
pub use spindle::{MOST_OFF, Spindle};
pub(super) use station::DiskStation;
pub use station::{ControllerSetup, DiskSetup};
pub use wired::Wired;
