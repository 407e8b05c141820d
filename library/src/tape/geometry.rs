//! The geometry of 8-track punched tape of one inch.
//!
//! Sources: ECMA-10 (Data interchange on punched tape, 1965/1970), ISO 1154:1975 (dimensions and location of feed holes
//! and code holes), ANSI X3.18. Their catalogue entries give the width; the other figures are those of a punch
//! maker's specification that follows them. Tracks are counted from the reference edge, the one nearest the three-track
//! side; bit 1 of a character is in track 1.

/// Millimetres across the tape.
pub const WIDTH: f64 = 25.40;

/// Millimetres from frame to frame and from track to track: ten frames to the inch.
pub const PITCH: f64 = 2.54;

/// Frames to the inch.
pub const FRAMES_AN_INCH: u32 = 10;

/// Millimetres from the reference edge to the axis of the feed holes.
pub const FEED_AXIS: f64 = 9.96;

/// Diameter of a code hole, millimetres.
pub const CODE_HOLE: f64 = 1.83;

/// Diameter of a feed hole, millimetres.
pub const FEED_HOLE: f64 = 1.17;

/// Millimetres from the reference edge to the middle of a track, 1 to 8; the feed holes run between tracks 3 and 4.
pub fn track(track: u8) -> f64 {
    debug_assert!((1..=8).contains(&track));
    let steps = if track <= 3 { f64::from(track) - 4.0 } else { f64::from(track) - 3.0 };
    FEED_AXIS + steps * PITCH
}

/// The length of a tape of so many frames, millimetres.
pub fn length(frames: usize) -> f64 {
    frames as f64 * PITCH
}
