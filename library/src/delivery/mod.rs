//! What a chain is delivered as: the files for paper, parts, tapes and the screen.
//!
//! A run card says what a rehearsal saw, so this room stands above [`rehearsal`](crate::rehearsal).

mod memory_map;
mod card;
mod drawn;
mod build;

pub use build::{Artefact, Built, Of, files, files_of};
pub use card::card;
pub use drawn::{Drawn, DrawnCard, sheet_title};
