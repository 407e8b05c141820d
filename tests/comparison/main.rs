//! Two programs compared: faults that were put in are named.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot read its programs fails")]

#[path = "../disassembly/corpus.rs"]
#[allow(dead_code, reason = "what each byte is, only the other test asks")]
mod corpus;
mod any;
mod faults;
mod seeded;
