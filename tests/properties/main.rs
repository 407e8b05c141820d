//! What must hold for any input.
#![allow(clippy::unwrap_used, reason = "a test that cannot write its own files fails")]
//! Properties that hold for any input.
mod assembler;
mod audio;
mod drawing;
mod images;
mod pages;
mod panel;
mod rom;
mod sheet;
