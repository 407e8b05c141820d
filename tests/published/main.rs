//! Checks against published documents. Each names its source.

mod isa;
