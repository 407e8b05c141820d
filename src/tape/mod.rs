//! Tapes: any declared framing, encoded and decoded from one description, and the tape as a picture.
//!
//! A tape is a list of bytes, one a frame. This floor knows nothing of sound, serial lines or files.

pub mod framing;
pub mod geometry;
pub mod lettering;
pub mod picture;
pub mod summary;
