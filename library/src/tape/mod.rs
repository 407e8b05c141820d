//! Tapes: any declared framing, encoded and decoded from one description, and the tape as a picture.
//!
//! A tape is a list of bytes, one a frame. Only [`doubt`], [`recording`], [`splice`](mod@splice) and [`sound_picture`] know that it may come as sound.

pub mod doubt;
pub mod framing;
pub mod geometry;
pub mod lettering;
pub mod picture;
pub mod recording;
pub mod sound_picture;
mod sound_strip;
pub mod splice;
pub mod summary;
pub mod wrong_bit;
