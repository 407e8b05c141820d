//! The chain file and the machine file, read and checked into a plan.

mod check;
mod machine;
mod machine_file;
mod table;

pub use machine::{Machine, Memory};
pub use machine_file::{KeyName, MachineFile, MemoryEntry, PanelEntry, PortEntry, SerialEntry};
