//! Every file of the library, run on the simulated machine. What its header states is what is measured here.

#![allow(clippy::unwrap_used, reason = "a test that cannot set up its own machine fails")]

mod bench;
mod characters;
mod checks;
mod fd1771;
#[allow(dead_code, reason = "the checks of the data sheet need the rest")]
#[path = "../support/fd1771_bench.rs"]
mod fd1771_bench;
mod fd1771_machine;
mod keyin;
mod loaders;
mod memory;
mod numbers;
mod output;
mod second;
mod shorter;
mod small;
mod wired;
