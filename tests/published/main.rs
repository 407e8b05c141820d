//! Checks against published documents. Each names its source.

mod cpu;
mod images;
mod isa;
mod lights;
mod parts;
