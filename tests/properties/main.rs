//! What must hold for any input.

#![allow(clippy::unwrap_used, reason = "a test that cannot write its own files fails")]

mod assembler;
mod audio;
mod audio_wear;
mod bare;
mod chains;
#[path = "../support/damage.rs"]
mod damage;
mod disks;
mod drawing;
mod fd1771;
#[allow(dead_code, reason = "the checks of the data sheet need the rest")]
#[path = "../support/fd1771_bench.rs"]
mod fd1771_bench;
mod forms;
#[path = "../support/folded.rs"]
mod folded;
#[path = "../support/hardships.rs"]
mod hardships;
mod images;
mod language;
mod lights;
mod pages;
mod panel;
mod polling;
mod recording;
mod rom;
mod sheet;
mod shortening;
mod tape;
mod turning;
mod turning_chip;
mod written;
