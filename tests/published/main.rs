//! Checks against published documents. Each names its source.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

mod assembler;
mod audio;
mod audio_requirements;
#[path = "../support/audio_table.rs"]
mod audio_table;
mod checks;
mod cpu;
mod disks;
mod drives;
mod fd1771;
#[path = "../support/damage.rs"]
mod damage;
mod images;
mod isa;
mod lights;
mod media;
mod parts;
mod serial_chips;
mod serial_lines;
