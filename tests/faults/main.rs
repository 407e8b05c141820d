//! The faults of the bundled chains: every row of the table is true when its fault is played by itself from power-on, no
//! fault is called harmless that a rehearsal finds, and kinds of faults end as they must. And how far each thing of a start may
//! go: both sides of each figure, played.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

mod ends;
mod failures;
mod limits;
mod pairs;
mod stage;
mod truth;
#[path = "../support/folder.rs"]
mod folder;
