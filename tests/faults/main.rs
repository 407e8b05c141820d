//! The faults of the bundled chains: every row of the table is true when its fault is played by itself from power-on, no
//! fault is called harmless that a rehearsal finds, and kinds of faults end as they must.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

mod ends;
mod pairs;
mod stage;
mod truth;
#[path = "../support/folder.rs"]
mod folder;
