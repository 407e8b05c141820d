//! Bytes to sound and back; knows nothing of framings.
pub mod preset;
mod wavetable;
mod keying;
mod write;
mod riff;
mod wav;
mod fir;
mod fft;
mod phasor;
mod front;
mod lines;
mod speed;
mod warp;
mod correlate;
mod levels;
mod framing;
mod refine;
mod block;
mod window;
mod reading;
mod read;

pub use preset::{Modulation, ModulationFault, PRESETS, Pauses, Preset, Tone};
pub use read::{Progress, ReadError, read};
pub use reading::{Carrier, HeardByte, Quality, Reading};
pub use wav::WavFacts;
pub use wavetable::Shape;
pub use write::{Channels, Depth, Sound, WriteError, Written, write};
