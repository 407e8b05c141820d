//! From what the panel shows back to the fault. [`seen`] reads what a person tells of lights, lamps, memory, tapes and
//! terminals.

pub mod seen;
