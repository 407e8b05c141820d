//! Samples into a WAV file: how loud, how they are stored, and in which channels.

use std::io::{Seek, Write};

use hound::{SampleFormat, WavSpec, WavWriter};

use super::wavetable::Shape;

/// How samples are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Depth {
    /// 8 bits, unsigned.
    Bits8,
    /// 16 bits, signed: what players expect.
    #[default]
    Bits16,
    /// 24 bits, signed.
    Bits24,
    /// 32-bit floating point, full scale 1.
    Float32,
}

/// Which channels there are, and which of them sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Channels {
    /// One channel.
    #[default]
    Mono,
    /// Two channels, the right one silent.
    Left,
    /// Two channels, the left one silent.
    Right,
    /// Two channels with the same sound.
    Both,
}

impl Channels {
    pub(super) fn count(self) -> u16 {
        if self == Channels::Mono { 1 } else { 2 }
    }
}

/// How a recording is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sound {
    /// Samples a second, 4000..=768000; more than twice the higher tone.
    pub sample_rate: u32,
    /// Peak level in dB below full scale, -60..=0. Cassette inputs differ widely: start low.
    pub level_dbfs: f64,
    /// How samples are stored.
    pub depth: Depth,
    /// Which channels sound.
    pub channels: Channels,
    /// Sine, or square with shaped edges.
    pub shape: Shape,
}

impl Default for Sound {
    fn default() -> Sound {
        Sound {
            sample_rate: 44_100,
            level_dbfs: -6.0,
            depth: Depth::default(),
            channels: Channels::default(),
            shape: Shape::default(),
        }
    }
}

/// Bytes of a sample.
pub(super) fn bytes_of(depth: Depth) -> u64 {
    match depth {
        Depth::Bits8 => 1,
        Depth::Bits16 => 2,
        Depth::Bits24 => 3,
        Depth::Float32 => 4,
    }
}

/// A WAV file under way.
pub(super) struct Track<W: Write + Seek> {
    wav: WavWriter<W>,
    channels: Channels,
    depth: Depth,
    /// The stored value of a sample of 1.
    scale: f32,
}

impl<W: Write + Seek> Track<W> {
    pub(super) fn new(out: W, sound: &Sound) -> Result<Track<W>, hound::Error> {
        let spec = WavSpec {
            channels: sound.channels.count(),
            sample_rate: sound.sample_rate,
            bits_per_sample: 8 * bytes_of(sound.depth) as u16,
            sample_format: if sound.depth == Depth::Float32 { SampleFormat::Float } else { SampleFormat::Int },
        };
        let full: f64 = match sound.depth {
            Depth::Bits8 => 127.0,
            Depth::Bits16 => 32_767.0,
            Depth::Bits24 => 8_388_607.0,
            Depth::Float32 => 1.0,
        };
        let scale = (full * 10.0_f64.powf(sound.level_dbfs / 20.0)) as f32;
        Ok(Track { wav: WavWriter::new(out, spec)?, channels: sound.channels, depth: sound.depth, scale })
    }

    pub(super) fn push(&mut self, samples: &[f32]) -> Result<(), hound::Error> {
        let scale = self.scale;
        match self.depth {
            Depth::Bits16 => self.push_16(samples),
            Depth::Float32 => self.push_with(samples, |sample| scale * sample),
            Depth::Bits8 | Depth::Bits24 => self.push_with(samples, |sample| (scale * sample).round() as i32),
        }
    }

    fn push_with<S: hound::Sample + Copy>(
        &mut self,
        samples: &[f32],
        store: impl Fn(f32) -> S,
    ) -> Result<(), hound::Error> {
        let silence = store(0.0);
        for sample in samples {
            for value in placed(self.channels, store(*sample), silence) {
                self.wav.write_sample(value)?;
            }
        }
        Ok(())
    }

    /// The common width has a quicker way through `hound`.
    fn push_16(&mut self, samples: &[f32]) -> Result<(), hound::Error> {
        let count = samples.len() * usize::from(self.channels.count());
        let mut block = self.wav.get_i16_writer(count as u32);
        for sample in samples {
            let stored = self.scale * sample;
            // Adding a signed half and cutting is rounding, without a call for every sample.
            for value in placed(self.channels, (stored + 0.5_f32.copysign(stored)) as i16, 0) {
                block.write_sample(value);
            }
        }
        block.flush()
    }

    pub(super) fn finish(self) -> Result<(), hound::Error> {
        self.wav.finalize()
    }
}

/// The values of one sample in channel order.
fn placed<S: Copy>(channels: Channels, sound: S, silence: S) -> impl Iterator<Item = S> {
    let (pair, count) = match channels {
        Channels::Mono => ([sound, silence], 1),
        Channels::Left => ([sound, silence], 2),
        Channels::Right => ([silence, sound], 2),
        Channels::Both => ([sound, sound], 2),
    };
    pair.into_iter().take(count)
}
