//! Tapes: any declared framing, encoded and decoded from one description, and the tape as a picture.
//!
//! A tape is a list of bytes, one a frame. Only [`recording`] and [`sound_picture`] know that it may come as sound.

pub mod framing;
pub mod geometry;
pub mod lettering;
pub mod picture;
pub mod recording;
pub mod sound_picture;
pub mod summary;
