//! The guide of each chain: what it leads through, and that a person who does only what it shows starts the machine.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

mod browser;
mod chains;
mod order;
mod page;
mod questions;
#[path = "../judges/tool.rs"]
mod tool;
#[path = "../support/folder.rs"]
mod folder;
