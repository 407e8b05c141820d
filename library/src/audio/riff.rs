//! The header of a WAV file: chunks of RIFF up to the samples (Multimedia Programming Interface and Data Specifications
//! 1.0, 1991, ch. 3; the extensible format of 1998).
//!
//! Only what the samples need is read, and no length is believed: recorders that lost power and programs that write to a
//! pipe leave headers whose lengths are nought, all ones or simply wrong.

use std::io::Read;

use super::read_error::ReadError;

/// How samples are stored, and how many there should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Header {
    pub channels: u16,
    pub sample_rate: u32,
    pub bits: u16,
    pub float: bool,
    /// Bytes of one sample in one channel.
    pub bytes_per_sample: usize,
    /// Bytes of samples as the header tells; none if it does not know.
    pub data_bytes: Option<u64>,
}

/// The most channels, and the most samples a second, that are read: each channel is searched for tones, by filters as long
/// as the rate is high. Recorders stay far below both.
const MOST_CHANNELS: u16 = 64;
const MOST_RATE: u32 = 10_000_000;

const PCM: u16 = 1;
const IEEE_FLOAT: u16 = 3;
const EXTENSIBLE: u16 = 0xFFFE;

/// Reads up to the first sample.
pub(super) fn header(input: &mut impl Read) -> Result<Header, ReadError> {
    let riff: [u8; 12] = take(input)?;
    if &riff[..4] != b"RIFF" || &riff[8..] != b"WAVE" {
        return Err(refuse("it does not begin with `RIFF` and `WAVE`"));
    }
    let mut format = None;
    loop {
        let chunk: [u8; 8] = take(input)?;
        let length = u32::from_le_bytes([chunk[4], chunk[5], chunk[6], chunk[7]]);
        match &chunk[..4] {
            b"fmt " => format = Some(format_chunk(input, length)?),
            b"data" => {
                let mut header = format.ok_or_else(|| refuse("its samples come before their format"))?;
                header.data_bytes = (length != 0 && length != u32::MAX).then_some(u64::from(length));
                return Ok(header);
            }
            // Chunks are padded to an even length.
            _ => skip(input, u64::from(length) + u64::from(length & 1))?,
        }
    }
}

fn format_chunk(input: &mut impl Read, length: u32) -> Result<Header, ReadError> {
    if !(16..=4096).contains(&length) {
        return Err(refuse("its format chunk has an impossible length"));
    }
    let mut chunk = vec![0; (length + (length & 1)) as usize];
    input.read_exact(&mut chunk).map_err(cut_or_failed)?;
    let word = |at: usize| chunk.get(at..at + 2).map_or(0, |b| u16::from_le_bytes([b[0], b[1]]));
    let sample_rate = u32::from_le_bytes([chunk[4], chunk[5], chunk[6], chunk[7]]);
    let (channels, block, bits) = (word(2), word(12), word(14));
    // The extensible format names the true one in the first word of its identifier.
    let tag = if word(0) == EXTENSIBLE { word(24) } else { word(0) };
    if channels == 0 || sample_rate == 0 {
        return Err(refuse("it has no channels or no sample rate"));
    }
    if channels > MOST_CHANNELS || sample_rate > MOST_RATE {
        return Err(refuse(&format!(
            "it says that it has {channels} channels of {sample_rate} samples a second; {MOST_CHANNELS} of {MOST_RATE} are \
             the most"
        )));
    }
    let bytes_per_sample = usize::from(block / channels);
    match (tag, bytes_per_sample) {
        (PCM, 1..=4) | (IEEE_FLOAT, 4) => {}
        (PCM | IEEE_FLOAT, _) => return Err(refuse("its samples are none of 8, 16, 24, 32 bits or 32-bit float")),
        _ => return Err(refuse("its samples are compressed; convert it to PCM first")),
    }
    Ok(Header { channels, sample_rate, bits, float: tag == IEEE_FLOAT, bytes_per_sample, data_bytes: None })
}

fn take<const N: usize>(input: &mut impl Read) -> Result<[u8; N], ReadError> {
    let mut bytes = [0; N];
    input.read_exact(&mut bytes).map_err(cut_or_failed)?;
    Ok(bytes)
}

fn skip(input: &mut impl Read, length: u64) -> Result<(), ReadError> {
    let skipped = std::io::copy(&mut input.take(length), &mut std::io::sink()).map_err(ReadError::Input)?;
    if skipped < length { Err(refuse("it ends before its samples")) } else { Ok(()) }
}

fn refuse(why: &str) -> ReadError {
    ReadError::Header(why.into())
}

fn cut_or_failed(error: std::io::Error) -> ReadError {
    match error.kind() {
        std::io::ErrorKind::UnexpectedEof => refuse("it ends before its samples"),
        _ => ReadError::Input(error),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wav(format: &[u8], data_length: u32) -> Vec<u8> {
        let mut bytes = b"RIFF\0\0\0\0WAVE".to_vec();
        bytes.extend(b"LIST\x03\0\0\0odd\0"); // a chunk of odd length with its padding
        bytes.extend(b"fmt ");
        bytes.extend((format.len() as u32).to_le_bytes());
        bytes.extend(format);
        bytes.extend(b"data");
        bytes.extend(data_length.to_le_bytes());
        bytes
    }

    fn format(tag: u16, channels: u16, bits: u16) -> Vec<u8> {
        let block = channels * bits / 8;
        let mut bytes = Vec::new();
        bytes.extend(tag.to_le_bytes());
        bytes.extend(channels.to_le_bytes());
        bytes.extend(44_100_u32.to_le_bytes());
        bytes.extend((44_100 * u32::from(block)).to_le_bytes());
        bytes.extend(block.to_le_bytes());
        bytes.extend(bits.to_le_bytes());
        bytes
    }

    #[test]
    fn headers_of_all_kinds() {
        let plain = header(&mut &wav(&format(PCM, 2, 16), 400)[..]).unwrap();
        assert_eq!((plain.channels, plain.bytes_per_sample, plain.data_bytes), (2, 2, Some(400)));
        let mut extensible = format(EXTENSIBLE, 1, 32);
        extensible.extend([22, 0, 24, 0, 0, 0, 0, 0, 1, 0, 0, 0]);
        let extensible = header(&mut &wav(&extensible, u32::MAX)[..]).unwrap();
        assert_eq!((extensible.float, extensible.bytes_per_sample, extensible.data_bytes), (false, 4, None));
        assert!(header(&mut &wav(&format(IEEE_FLOAT, 1, 32), 0)[..]).unwrap().float);
    }

    #[test]
    fn a_header_that_promises_too_much_is_refused() {
        let why = |format: &[u8]| header(&mut &wav(format, 1)[..]).map_err(|error| error.to_string());
        assert!(why(&format(PCM, MOST_CHANNELS, 8)).is_ok());
        assert!(why(&format(PCM, MOST_CHANNELS + 1, 8)).unwrap_err().contains("65 channels"));
        let mut fast = format(PCM, 1, 8);
        fast[4..8].copy_from_slice(&u32::MAX.to_le_bytes());
        assert!(why(&fast).unwrap_err().contains("4294967295 samples a second"));
    }

    #[test]
    fn what_cannot_be_read_says_why() {
        let why = |bytes: &[u8]| header(&mut &bytes[..]).unwrap_err().to_string();
        assert!(why(b"").contains("ends before its samples"));
        assert!(why(b"RIFX\0\0\0\0WAVEfmt ").contains("`RIFF` and `WAVE`"));
        assert!(why(&wav(&format(2, 1, 8), 1)).contains("compressed"));
        assert!(why(&wav(&format(PCM, 0, 8), 1)).contains("no channels"));
        assert!(why(&wav(&format(IEEE_FLOAT, 1, 64), 1)).contains("none of"));
        assert!(why(b"RIFF\0\0\0\0WAVEdata\0\0\0\0").contains("before their format"));
        assert!(why(b"RIFF\0\0\0\0WAVEjunk\xFF\xFF\xFF\xFF").contains("ends before"));
    }
}
