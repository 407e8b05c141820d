//! What a chain is delivered as: the files for paper, parts, tapes and the screen.
//!
//! A run card says what a rehearsal saw, so this room stands above [`rehearsal`](crate::rehearsal).

mod memory_map;
mod card;
mod drawn;
mod booklet;
mod build;

pub use booklet::{Booklet, Entry, booklet};
pub use build::{Artefact, BOOKLET, Built, Of, files};
pub use card::card;
pub use drawn::Drawn;
