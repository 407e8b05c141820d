//! Old bytes back to source: judged on programs whose sources are known, and on bytes that are none.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test that cannot read its programs fails")]

mod corpus;
mod found;
mod hints;
mod read_back;
mod round_trip;
