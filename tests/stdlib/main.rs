//! Every file of the library, run on the simulated machine. What its header states is what is measured here.

#![allow(clippy::unwrap_used, reason = "a test that cannot set up its own machine fails")]

mod bench;
mod characters;
mod checks;
mod keyin;
mod loaders;
mod memory;
mod numbers;
mod output;
mod second;
mod small;
