//! A WAV file as blocks of samples, one stream a channel.
//!
//! What is there is read, whatever length the header tells.

use std::io::{Read, Seek, SeekFrom};

use super::read_error::ReadError;
use super::riff;

/// What the header says, and what was found.
#[derive(Clone, Debug, PartialEq)]
pub struct WavFacts {
    /// Samples a second in each channel.
    pub sample_rate: u32,
    /// Number of channels.
    pub channels: u16,
    /// Bits of a sample.
    pub bits: u16,
    /// Samples are floating point.
    pub float: bool,
    /// Samples in each channel as the header tells; none if it cannot be true of any file.
    pub told: Option<u64>,
    /// Samples found in each channel so far.
    pub found: u64,
    /// Samples at full scale so far, over all channels: many of them mean a recording made too loud.
    pub at_full_scale: u64,
}

impl WavFacts {
    /// The length in seconds of what was found.
    pub fn seconds(&self) -> f64 {
        self.found as f64 / f64::from(self.sample_rate)
    }

    /// Whether the file ends before its header says.
    pub fn is_cut_short(&self) -> bool {
        self.told.is_some_and(|told| told > self.found)
    }
}

/// A WAV file under way.
pub struct WavInput<R> {
    input: R,
    facts: WavFacts,
    bytes_per_sample: usize,
    /// Bytes of the data chunk not read yet; `u64::MAX` where the header does not know.
    left: u64,
    buffer: Vec<u8>,
}

impl<R: Read> WavInput<R> {
    /// Reads the header.
    pub fn new(mut input: R) -> Result<WavInput<R>, ReadError> {
        let header = riff::header(&mut input)?;
        let frame = header.bytes_per_sample as u64 * u64::from(header.channels);
        let told = header.data_bytes.map(|bytes| bytes / frame);
        let facts = WavFacts {
            sample_rate: header.sample_rate,
            channels: header.channels,
            bits: header.bits,
            float: header.float,
            told,
            found: 0,
            at_full_scale: 0,
        };
        let left = told.map_or(u64::MAX, |samples| samples * frame);
        Ok(WavInput { input, facts, bytes_per_sample: header.bytes_per_sample, left, buffer: Vec::new() })
    }

    /// What is known so far.
    pub fn facts(&self) -> &WavFacts {
        &self.facts
    }

    /// Appends up to `count` samples to each of `channels`; returns how many, less than `count` only at the end.
    pub fn read(&mut self, count: usize, channels: &mut [Vec<f32>]) -> Result<usize, ReadError> {
        let frame = self.bytes_per_sample * usize::from(self.facts.channels);
        let wanted = (count as u64 * frame as u64).min(self.left);
        self.buffer.clear();
        let got = (&mut self.input).take(wanted).read_to_end(&mut self.buffer).map_err(ReadError::Input)?;
        self.left -= if self.left == u64::MAX { 0 } else { got as u64 };
        let frames = got / frame;
        for (index, channel) in channels.iter_mut().enumerate() {
            let samples = self.buffer[..frames * frame].chunks_exact(frame);
            let at = index * self.bytes_per_sample;
            let samples = samples.map(|frame| &frame[at..at + self.bytes_per_sample]);
            self.facts.at_full_scale += store(samples, self.bytes_per_sample, self.facts.float, channel);
        }
        self.facts.found += frames as u64;
        Ok(frames)
    }
}

impl<R: Read + Seek> WavInput<R> {
    /// Passes over so many samples of each channel.
    pub fn skip(&mut self, count: u64) -> Result<(), ReadError> {
        let bytes = count.saturating_mul(self.bytes_per_sample as u64 * u64::from(self.facts.channels));
        let bytes = bytes.min(self.left).min(i64::MAX as u64);
        self.input.seek(SeekFrom::Current(bytes as i64)).map_err(ReadError::Input)?;
        self.left -= if self.left == u64::MAX { 0 } else { bytes };
        Ok(())
    }
}

/// Appends samples as -1..=1; returns how many stand at full scale.
fn store<'a>(samples: impl Iterator<Item = &'a [u8]>, width: usize, float: bool, out: &mut Vec<f32>) -> u64 {
    let from = out.len();
    match (width, float) {
        (1, _) => out.extend(samples.map(|b| (f32::from(b[0]) - 128.0) / 128.0)),
        (2, _) => out.extend(samples.map(|b| f32::from(i16::from_le_bytes([b[0], b[1]])) / 32_768.0)),
        (3, _) => out.extend(samples.map(|b| i32::from_le_bytes([0, b[0], b[1], b[2]]) as f32 / 2_147_483_648.0)),
        (_, false) => {
            out.extend(samples.map(|b| i32::from_le_bytes([b[0], b[1], b[2], b[3]]) as f32 / 2_147_483_648.0));
        }
        (_, true) => out.extend(samples.map(|b| {
            // A damaged file may hold infinities; one of them would poison every filter behind.
            let value = f32::from_le_bytes([b[0], b[1], b[2], b[3]]);
            if value.is_finite() { value.clamp(-1000.0, 1000.0) } else { 0.0 }
        })),
    }
    out[from..].iter().filter(|value| value.abs() >= 0.992).count() as u64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audio::{Channels, Depth, Pauses, Preset, Sound, write};

    fn recording(sound: &Sound) -> Vec<u8> {
        let preset = Preset::named("byte-1200").unwrap();
        let pauses = Pauses { leader: 0.05, gap: 0.0, trailer: 0.0 };
        let mut out = std::io::Cursor::new(Vec::new());
        write(&mut out, &[b"bells"], &preset.modulation, &pauses, sound, |_| ()).unwrap();
        out.into_inner()
    }

    fn read_all(wav: &[u8]) -> (WavFacts, Vec<Vec<f32>>) {
        let mut input = WavInput::new(wav).unwrap();
        let mut channels = vec![Vec::new(); usize::from(input.facts().channels)];
        while input.read(1000, &mut channels).unwrap() == 1000 {}
        (input.facts, channels)
    }

    #[test]
    fn all_widths_and_channels_agree() {
        let base = Sound { channels: Channels::Both, ..Sound::default() };
        let (facts, reference) = read_all(&recording(&Sound { depth: Depth::Float32, ..base }));
        assert_eq!((facts.channels, facts.float, facts.told), (2, true, Some(facts.found)));
        for (depth, near) in [(Depth::Bits8, 0.01), (Depth::Bits16, 1e-4), (Depth::Bits24, 1e-6)] {
            let (_, channels) = read_all(&recording(&Sound { depth, ..base }));
            assert_eq!(channels[0], channels[1]);
            assert_eq!(channels[0].len(), reference[0].len());
            assert!(channels[0].iter().zip(&reference[0]).all(|(a, b)| (a - b).abs() < near), "{depth:?}");
        }
    }

    #[test]
    fn a_length_that_lies_does_no_harm() {
        let whole = recording(&Sound::default());
        let (facts, channels) = read_all(&whole);
        for length in [0, u32::MAX, 0x7FFF_FFFE] {
            let mut lying = whole.clone();
            lying[40..44].copy_from_slice(&length.to_le_bytes());
            let (found, again) = read_all(&lying);
            assert_eq!((found.found, &again), (facts.found, &channels), "{length:#x}");
        }
        let (found, _) = read_all(&whole[..whole.len() - 777]);
        assert!(found.is_cut_short());
        assert_eq!(found.found, facts.found - 389);
    }

    #[test]
    fn what_is_no_recording_is_an_error() {
        for bytes in [&b""[..], b"RIFF", b"not a recording at all, but some text of a certain length"] {
            assert!(WavInput::new(bytes).is_err());
        }
    }

    #[test]
    fn damaged_floats_are_made_harmless() {
        let mut out = Vec::new();
        let bytes: Vec<u8> = [f32::NAN, f32::INFINITY, 1e30, 0.5].iter().flat_map(|v| v.to_le_bytes()).collect();
        store(bytes.chunks(4), 4, true, &mut out);
        assert_eq!(out, [0.0, 0.0, 1000.0, 0.5]);
    }
}
