//! A tape as a WAV file.

use std::fmt;
use std::io::{Seek, Write};

use super::keying::{self, Oscillator};
use super::modulation::{Modulation, Tone};
use super::preset::Pauses;
use super::progress::Progress;
use super::track::{Sound, Track, bytes_of};

/// What was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Written {
    /// Samples in each channel.
    pub samples: u64,
    /// Playing time in seconds.
    pub seconds: f64,
}

/// Writes the blocks of a tape as sound. `out` should be buffered.
///
/// Calls `progress` about once for each second of sound.
///
/// ```
/// use coldwright::audio::{Preset, Sound, write};
/// let preset = Preset::named("byte-300").ok_or("no such preset")?;
/// let mut wav = std::io::Cursor::new(Vec::new());
/// let blocks: [&[u8]; 1] = [&[0x42; 256]];
/// let written = write(&mut wav, &blocks, &preset.modulation, &preset.pauses, &Sound::default(), |_| ())?;
/// assert_eq!(format!("{:.2}", written.seconds), "15.39"); // 5 s of leader, 9.39 s of data, 1 s of trailer
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn write<W: Write + Seek>(
    out: W,
    blocks: &[&[u8]],
    modulation: &Modulation,
    pauses: &Pauses,
    sound: &Sound,
    mut progress: impl FnMut(Progress),
) -> Result<Written, WriteError> {
    let bits = keying::bit_count(blocks, modulation, pauses);
    let samples = check(bits, modulation, pauses, sound)?;
    let rate = f64::from(sound.sample_rate);
    let seconds = samples as f64 / rate;
    let of = Some(seconds);
    let mut track = Track::new(out, sound)?;
    let mut oscillator = Oscillator::new(modulation, sound.sample_rate, sound.shape);
    let mut buffer = Vec::with_capacity(2 * sound.sample_rate as usize);
    let mut done = 0;
    for tone in keying::bits(blocks, modulation, pauses) {
        oscillator.key(tone, |sample| buffer.push(sample));
        if buffer.len() >= sound.sample_rate as usize {
            done += buffer.len() as u64;
            track.push(&buffer)?;
            buffer.clear();
            progress(Progress { seconds: done as f64 / rate, of });
        }
    }
    track.push(&buffer)?;
    track.finish()?;
    progress(Progress { seconds, of });
    Ok(Written { samples, seconds })
}

/// Refuses what cannot be written, and counts the samples.
fn check(bits: u64, modulation: &Modulation, pauses: &Pauses, sound: &Sound) -> Result<u64, WriteError> {
    for (which, seconds) in [("leader", pauses.leader), ("gap", pauses.gap), ("trailer", pauses.trailer)] {
        if !(0.0..=Pauses::LONGEST).contains(&seconds) {
            return Err(WriteError::Pause { which, seconds });
        }
    }
    if !(4000..=768_000).contains(&sound.sample_rate) {
        return Err(WriteError::SampleRate { sample_rate: sound.sample_rate });
    }
    if !(-60.0..=0.0).contains(&sound.level_dbfs) {
        return Err(WriteError::Level { level_dbfs: sound.level_dbfs });
    }
    let highest_hz = modulation.hertz(Tone::Mark).max(modulation.hertz(Tone::Space));
    if f64::from(sound.sample_rate) <= 2.0 * highest_hz {
        return Err(WriteError::ToneAboveHalfRate { highest_hz, sample_rate: sound.sample_rate });
    }
    let samples = keying::sample_count(bits, modulation, sound.sample_rate);
    let bytes = samples * u64::from(sound.channels.count()) * bytes_of(sound.depth);
    if bytes > u64::from(u32::MAX) - 1024 {
        return Err(WriteError::TooLong { seconds: samples as f64 / f64::from(sound.sample_rate) });
    }
    Ok(samples)
}

/// Why a tape cannot be written as sound.
#[derive(Debug)]
pub enum WriteError {
    /// A pause out of range.
    Pause {
        /// `leader`, `gap` or `trailer`.
        which: &'static str,
        /// The length asked for.
        seconds: f64,
    },
    /// A sample rate out of range.
    SampleRate {
        /// The rate asked for.
        sample_rate: u32,
    },
    /// A level out of range.
    Level {
        /// The level asked for.
        level_dbfs: f64,
    },
    /// The sample rate cannot carry the tones.
    ToneAboveHalfRate {
        /// The higher tone.
        highest_hz: f64,
        /// The rate asked for.
        sample_rate: u32,
    },
    /// More than a WAV file can hold.
    TooLong {
        /// How long it would play.
        seconds: f64,
    },
    /// The output failed.
    Output(std::io::Error),
}

impl From<hound::Error> for WriteError {
    fn from(error: hound::Error) -> WriteError {
        match error {
            hound::Error::IoError(error) => WriteError::Output(error),
            other => WriteError::Output(std::io::Error::other(other.to_string())),
        }
    }
}

impl fmt::Display for WriteError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WriteError::Pause { which, seconds } => write!(f, "{which} of `{seconds}` s is outside 0..=600"),
            WriteError::SampleRate { sample_rate } => {
                write!(f, "sample rate `{sample_rate}` is outside 4000..=768000")
            }
            WriteError::Level { level_dbfs } => write!(f, "level `{level_dbfs}` dB is outside -60..=0"),
            WriteError::ToneAboveHalfRate { highest_hz, sample_rate } => write!(
                f,
                "a tone of {highest_hz} Hz needs a sample rate above {}, not `{sample_rate}`",
                2.0 * highest_hz
            ),
            WriteError::TooLong { seconds } => {
                write!(f, "{seconds:.0} s of sound are more than a WAV file holds; lower the sample rate or the depth")
            }
            WriteError::Output(error) => write!(f, "the recording cannot be written: {error}"),
        }
    }
}

impl std::error::Error for WriteError {}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;
    use crate::audio::{Channels, Depth, Preset};

    fn wav(sound: &Sound) -> Vec<u8> {
        let preset = Preset::named("byte-1200").unwrap();
        let pauses = Pauses { leader: 0.02, gap: 0.01, trailer: 0.01 };
        let mut out = Cursor::new(Vec::new());
        write(&mut out, &[b"bells", b"ring"], &preset.modulation, &pauses, sound, |_| ()).unwrap();
        out.into_inner()
    }

    #[test]
    fn every_depth_stores_the_same_wave() {
        let reference = wav(&Sound { depth: Depth::Float32, ..Sound::default() });
        let reference: Vec<f32> =
            hound::WavReader::new(&reference[..]).unwrap().into_samples::<f32>().map(Result::unwrap).collect();
        for (depth, step) in
            [(Depth::Bits8, 1.0 / 127.0), (Depth::Bits16, 1.0 / 32767.0), (Depth::Bits24, 1.0 / 8_388_607.0)]
        {
            let bytes = wav(&Sound { depth, ..Sound::default() });
            let samples = hound::WavReader::new(&bytes[..]).unwrap().into_samples::<i32>();
            assert_eq!(samples.len(), reference.len());
            for (stored, wanted) in samples.map(Result::unwrap).zip(&reference) {
                assert!((f64::from(stored) * step - f64::from(*wanted)).abs() <= 0.51 * step + 2e-7, "{depth:?}");
            }
        }
    }

    #[test]
    fn the_silent_channel_is_silent() {
        let bytes = wav(&Sound { channels: Channels::Right, ..Sound::default() });
        let samples: Vec<i16> = hound::WavReader::new(&bytes[..]).unwrap().into_samples().map(Result::unwrap).collect();
        assert!(samples.chunks(2).all(|frame| frame[0] == 0));
        let peak = samples.iter().map(|s| s.unsigned_abs()).max();
        assert!(peak.is_some_and(|peak| (16_400..=16_422).contains(&peak)), "6 dB below full scale");
    }

    #[test]
    fn what_cannot_be_written_is_refused_with_the_range() {
        let preset = Preset::named("byte-300").unwrap();
        let refuse = |pauses: Pauses, sound: Sound| {
            let out = Cursor::new(Vec::new());
            write(out, &[], &preset.modulation, &pauses, &sound, |_| ()).unwrap_err().to_string()
        };
        let (pauses, sound) = (preset.pauses, Sound::default());
        assert_eq!(refuse(Pauses { gap: -1.0, ..pauses }, sound), "gap of `-1` s is outside 0..=600");
        assert!(refuse(pauses, Sound { sample_rate: 100, ..sound }).contains("`100` is outside 4000..=768000"));
        assert!(refuse(pauses, Sound { sample_rate: 4800, ..sound }).contains("above 4800, not `4800`"));
        assert_eq!(refuse(pauses, Sound { level_dbfs: 1.0, ..sound }), "level `1` dB is outside -60..=0");
    }
}
