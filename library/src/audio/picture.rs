//! What a picture of a recording needs: the wave around a time, the bits that were decided on it, and the bytes.
//!
//! Only data: drawing them is for a floor above.

use std::io::{Read, Seek};

use super::band::Band;
use super::front::FrontEnd;
use super::modulation::{DATA_BITS, Modulation};
use super::read::decode_one;
use super::read_error::ReadError;
use super::reading::HeardByte;
use super::wav::WavInput;

/// The longest span that can be looked at, in seconds.
pub const LONGEST: f64 = 60.0;

/// A span of a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Its start in seconds.
    pub from: f64,
    /// Its end in seconds; earlier than asked for where the recording ends.
    pub to: f64,
    /// The lowest and the highest sample, -1..=1, of every column from `from` to `to`.
    pub wave: Vec<(f32, f32)>,
    /// The channel that is shown and was read, from 0; `None` for the sum of two.
    pub channel: Option<usize>,
    /// The bits, in order, of the characters that lie in the span or reach into it.
    pub bits: Vec<PictureBit>,
    /// Those characters' bytes.
    pub bytes: Vec<HeardByte>,
}

/// One decided bit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PictureBit {
    /// Where it begins, in seconds.
    pub from: f64,
    /// Where it ends, in seconds.
    pub to: f64,
    /// Which bit of its character it is.
    pub part: BitPart,
    /// Whether it is a 1, mark.
    pub one: bool,
    /// How sure it is, in nats; start and stop bit share the lower of theirs.
    pub sure: f32,
}

/// The parts of a character.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BitPart {
    /// The start bit.
    Start,
    /// A data bit, 0 the least significant.
    Data(u8),
    /// The first stop bit.
    Stop,
}

/// Looks at `from..to` seconds of a WAV file in so many columns (at least one).
///
/// The recording is read from a little before the span to a little behind it, so that a look into a long one is quick.
/// Bytes may differ in doubtful bits from those of a whole reading, whose levels are measured over longer stretches.
pub fn look<R: Read + Seek>(
    wav: R,
    modulation: &Modulation,
    from: f64,
    to: f64,
    columns: usize,
) -> Result<Picture, ReadError> {
    let mut input = WavInput::new(wav)?;
    let rate = f64::from(input.facts().sample_rate);
    let band = Band::new(modulation, input.facts().sample_rate)?;
    if !(from >= 0.0 && to > from && to - from <= LONGEST && to < 1e7) {
        return Err(ReadError::Span { from, to });
    }
    let margin = 3.0_f64.max(24.0 * modulation.character_seconds());
    let first = ((from - margin).max(0.0) * rate) as u64;
    input.skip(first)?;
    let start = first as f64 / rate;
    let mut channels = vec![Vec::new(); usize::from(input.facts().channels)];
    input.read(((to + margin - start) * rate) as usize, &mut channels)?;
    let end = start + channels[0].len() as f64 / rate;
    if end <= from {
        return Err(ReadError::Span { from, to });
    }
    let filtered = channels.iter().map(|channel| {
        let mut front = FrontEnd::new(&band);
        let mut out = Vec::new();
        front.push(channel, &mut out);
        front.finish(&mut out);
        out
    });
    let (candidate, window) = decode_one(filtered.collect(), modulation, band);
    let channel = (candidate < channels.len()).then_some(candidate);
    let to = to.min(end);
    let shown = |seconds: f64| (((seconds - start) * rate) as usize).min(channels[0].len());
    let wave = columns_of(&chosen(&channels, channel)[shown(from)..shown(to)], columns.max(1));
    let bytes: Vec<HeardByte> = window
        .bytes
        .into_iter()
        .map(|byte| HeardByte { from: byte.from + start, to: byte.to + start, ..byte })
        .filter(|byte| byte.to > from && byte.from < to)
        .collect();
    let bits = bytes.iter().flat_map(bits_of).collect();
    Ok(Picture { from, to, wave, channel, bits, bytes })
}

fn chosen(channels: &[Vec<f32>], channel: Option<usize>) -> Vec<f32> {
    match channel {
        Some(index) => channels[index].clone(),
        None => channels[0].iter().zip(&channels[1]).map(|(left, right)| 0.5 * (left + right)).collect(),
    }
}

/// Lowest and highest sample of each column; a column between two samples repeats the earlier one.
fn columns_of(samples: &[f32], columns: usize) -> Vec<(f32, f32)> {
    let place = |column: usize| (column as u64 * samples.len() as u64 / columns as u64) as usize;
    let extremes = |column: usize| {
        let from = place(column).min(samples.len().saturating_sub(1));
        let to = place(column + 1).clamp(from + 1, samples.len().max(from + 1));
        let cells = samples.get(from..to).unwrap_or(&[0.0]);
        cells.iter().fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), s| (low.min(*s), high.max(*s)))
    };
    (0..columns).map(extremes).collect()
}

fn bits_of(byte: &HeardByte) -> impl Iterator<Item = PictureBit> + use<> {
    let edges = byte.edges();
    let (value, soft, framing) = (byte.value, byte.soft, byte.framing);
    (0..DATA_BITS + 2).map(move |index| {
        let (part, one, sure) = match index {
            0 => (BitPart::Start, false, framing),
            stop if stop == DATA_BITS + 1 => (BitPart::Stop, true, framing),
            _ => (BitPart::Data(index as u8 - 1), value >> (index - 1) & 1 == 1, soft[index - 1].abs()),
        };
        PictureBit { from: edges[index], to: edges[index + 1], part, one, sure }
    })
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use super::*;
    use crate::audio::{Channels, Preset, Sound, write};

    fn recording() -> (Modulation, Vec<u8>) {
        let preset = Preset::named("byte-300").unwrap();
        let mut out = Cursor::new(Vec::new());
        let sound = Sound { channels: Channels::Right, ..Sound::default() };
        write(&mut out, &[b"ring the bells"], &preset.modulation, &preset.pauses, &sound, |_| ()).unwrap();
        (preset.modulation, out.into_inner())
    }

    #[test]
    fn a_look_shows_the_wave_the_bits_and_the_bytes_where_they_are() {
        let (modulation, wav) = recording();
        // The third character starts behind 5 s of leader and two characters of 11 bits.
        let third = 5.0 + 2.0 * 11.0 / 300.0;
        let picture = look(Cursor::new(&wav), &modulation, third + 0.001, third + 0.030, 200).unwrap();
        assert_eq!(picture.channel, Some(1));
        assert_eq!(picture.bytes.iter().map(|byte| byte.value).collect::<Vec<_>>(), b"n");
        assert!((picture.bytes[0].from - third).abs() < 2e-4, "{}", picture.bytes[0].from);
        let ones: Vec<bool> = picture.bits.iter().map(|bit| bit.one).collect();
        assert_eq!(ones, [false, false, true, true, true, false, true, true, false, true]);
        assert!(picture.bits.windows(2).all(|pair| (pair[1].from - pair[0].to).abs() < 1e-9));
        assert!((picture.bits[9].to - (third + 10.0 / 300.0)).abs() < 3e-4);
        assert_eq!(picture.wave.len(), 200);
        let high = picture.wave.iter().fold(0.0_f32, |high, column| high.max(column.1));
        assert!((high - 0.5012).abs() < 0.002, "{high}");
    }

    #[test]
    fn a_span_that_is_not_there_is_refused_and_one_that_ends_early_is_cut() {
        let (modulation, wav) = recording();
        for (from, to) in [(-1.0, 2.0), (3.0, 3.0), (0.0, 61.0), (100.0, 101.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)]
        {
            let error = look(Cursor::new(&wav), &modulation, from, to, 10).unwrap_err();
            assert!(matches!(error, ReadError::Span { .. }), "{from} {to}");
        }
        let picture = look(Cursor::new(&wav), &modulation, 6.0, 30.0, 10).unwrap();
        assert!((picture.to - (6.0 + 14.0 * 11.0 / 300.0)).abs() < 1e-3, "{}", picture.to);
    }
}
