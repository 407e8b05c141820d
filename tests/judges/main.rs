//! Checks against outside judges: programs and libraries that do a part of this job independently.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

mod audio;
mod audio_commands;
mod booklet;
mod cpu;
mod drawing;
mod eyes;
mod images;
mod isa;
mod iz80_board;
mod language_server;
#[path = "../support/modem.rs"]
mod modem;
mod parts;
mod scan;
mod sheet;
mod shortening;
mod tape;
mod tool;
