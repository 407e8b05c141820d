//! Checks against published documents. Each names its source.

#![allow(clippy::unwrap_used)]

mod assembler;
mod checks;
mod cpu;
mod images;
mod isa;
mod lights;
mod media;
mod parts;
