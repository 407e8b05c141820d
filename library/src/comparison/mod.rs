//! Two programs compared: where they differ, and why.
//!
//! A reason is judged by how short the second side can be told with it ([`explain`]): what the reason itself costs, what it
//! leaves open, and each byte that it does not explain. So a data line that is stuck goes before bits that went one way, of
//! which it is a kind, and two faults are told only where one is not enough.
//!
//! Invariants: a reason says how many differing bytes it explains and what it leaves; it knows nothing of how the sides were
//! read, or of what their bytes mean to a person.

mod change;
mod sides;
mod estimate;
mod version;
mod candidates;
mod reason;
mod set;
mod search;
mod under;
mod explain;
mod dump;
mod told;

pub use change::Change;
pub use dump::read_dump;
pub use explain::{Explanation, Ranked, explain};
pub use reason::Reason;
pub use sides::{Difference, Side, differences};
pub use version::Edit;
