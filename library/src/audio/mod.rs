//! Bytes to sound and back; knows nothing of framings.
//!
//! Writing: `modulation` says what a tape sounds like and [`preset`] which sounds are published, `keying` turns bytes into bits and bits into a phase-continuous
//! tone on integer time, `wavetable` shapes it, [`write`](fn@write) and `track` store it as WAV.
//!
//! Reading goes through these in order, for every window of some thirty seconds by itself:
//!
//! | module | what it does |
//! | --- | --- |
//! | `riff`, `wav` | the file as samples, whatever its header claims |
//! | `fir`, `front` | down to a working rate, everything but the band of the tones stopped |
//! | `fft`, `lines`, `speed` | how fast the tape ran, from the spectrum; which channel is the better one |
//! | `warp` | clock time to tape time: from here on every bit has the same length |
//! | `correlate`, `level`, `levels` | both tones in every possible bit, as log-likelihoods |
//! | `framing`, `lattice` | where the characters are: the likeliest explanation of the whole window |
//! | `grid`, `bridge` | runs of equal bytes held to where they began; what a drop-out took, counted |
//! | `refine` | the speed again, from the phase of decided bits; then `warp` to `framing` once more |
//! | `phase`, `trellis`, `block` | doubtful bits decided by the phase that runs through all of them |
//! | `window`, `stitch`, `read`, [`reading`](Reading) | windows put together; bytes with time, doubt and speed, and the carriers they came on |
//!
//! [`picture`] gives what a drawing of the signal needs. `docs/audio.md` has the measurements.
//!
//! Invariants: tape time has a whole number of samples in a bit; soft values are natural log-odds, so that they add; a
//! window's bytes do not depend on the number of threads, nor on any other window but that a run of equal bytes goes on as
//! the window before had it.

mod modulation;
pub mod preset;
mod progress;
mod wavetable;
mod keying;
mod track;
mod write;
mod read_error;
mod riff;
mod wav;
mod fir;
mod fft;
mod phasor;
mod band;
mod clicks;
mod front;
mod lines;
mod speed;
mod warp;
mod correlate;
mod bits;
mod level;
mod levels;
mod lattice;
mod framing;
mod grid;
mod bridge;
mod refine;
mod phase;
mod trellis;
mod block;
mod decision;
mod window;
mod reading;
mod stitch;
mod read;
pub mod picture;

pub use modulation::{Modulation, ModulationFault, Tone};
pub use preset::{PRESETS, Pauses, Preset};
pub use progress::Progress;
pub use read::read;
pub use read_error::ReadError;
pub use reading::{Carrier, HeardByte, Quality, Reading};
pub use track::{Channels, Depth, Sound};
pub use wav::WavFacts;
pub use wavetable::Shape;
pub use write::{WriteError, Written, write};
