//! Checks against published documents. Each names its source.

mod cpu;
mod isa;
mod images;
mod parts;
