//! Checks against published documents. Each names its source.

#![allow(clippy::unwrap_used)]
#[path = "../support/damage.rs"]
#[path = "../support/audio_table.rs"]
mod assembler;
mod audio;
mod audio_requirements;
mod audio_table;
mod damage;
mod cpu;
mod images;
mod isa;
mod lights;
mod parts;
