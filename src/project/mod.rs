//! The chain file and the machine file, read and checked into a plan.

mod audit;
mod chain_file;
mod check;
mod machine;
mod machine_file;
mod plan;
mod build;
mod memory_map;
mod reel;
mod scaffold;
mod table;
mod wired;

pub use build::{Artefact, artefacts};
pub use chain_file::Placed;
pub use machine::{Chip, Machine, Memory, Serial, UartBit, UartBits};
pub use machine_file::{KeyName, MachineFile, MemoryEntry, PanelEntry, PortEntry, SerialEntry};
pub use plan::{CodeMap, Files, Home, Plan, PortUse, Stage, Start, Tape, load};
pub use reel::{Reel, Written, recording, reels};
pub use scaffold::{NewChip, NewFraming, Wish, scaffold};
