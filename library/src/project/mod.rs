//! The chain file and the machine file, read and checked into a plan.

mod entries;
mod listed;
mod chain_file;
mod disk_drive;
mod machine;
mod machine_file;
mod front_panel;
mod wired;
mod chip_drive;
mod drives;
mod seats;
mod seated;
mod sound;
mod plan;
mod planner;
mod program;
mod seating;
mod tapes;
mod disks;
mod audit;
mod reel;
mod made_disk;
mod artefacts;
mod scaffold;

pub use artefacts::{Artefacts, DepositSheet, Recordings, SocketContents, slug};
pub use disk_drive::{DiskDrive, DriveController};
pub use entries::Placed;
pub use listed::{Id, Listed};
pub use machine::{Chip, Machine, MachineSound, Memory, Serial, UartBit, UartBits};
pub use made_disk::MadeDisk;
pub use plan::{ChainDisk, CodeMap, Files, Home, Plan, PortUse, Stage, Start, Tape};
pub use planner::{draft, is_misfit, load};
pub use reel::{Recording, Reel, Written};
pub use scaffold::{NewChip, NewFraming, Wish, scaffold};
pub use seating::Seating;
