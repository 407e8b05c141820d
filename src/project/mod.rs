//! The chain file and the machine file, read and checked into a plan.

mod entries;
mod chain_file;
mod machine;
mod machine_file;
mod front_panel;
mod wired;
mod seats;
mod seated;
mod sound;
mod plan;
mod planner;
mod program;
mod tapes;
mod audit;
mod reel;
mod scaffold;

pub use entries::Placed;
pub use machine::{Chip, Machine, Memory, Serial, UartBit, UartBits};
pub use plan::{CodeMap, Files, Home, Plan, PortUse, Stage, Start, Tape};
pub use planner::load;
pub use reel::{Reel, Written, recording, reels};
pub use scaffold::{NewChip, NewFraming, Wish, scaffold};
pub use seated::{Seated, seated};
pub use sound::MachineSound;
