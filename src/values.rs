//! How the values of options are read. What is refused here is a usage error.

use std::time::Duration;

use coldwright::image::Format;
use coldwright::line::{FormatError, LineFormat};
use coldwright::notation::{Address, Notation, parse_number};

/// An address in any form in which people type numbers.
pub fn address(text: &str) -> Result<Address, String> {
    parse_number(text).map(Address).map_err(|error| error.to_string())
}

/// A byte in any form in which people type numbers.
pub fn byte(text: &str) -> Result<u8, String> {
    let number = parse_number(text).map_err(|error| error.to_string())?;
    u8::try_from(number).map_err(|_| format!("{number} is not in 0..=255"))
}

/// A notation by its word.
pub fn notation(text: &str) -> Result<Notation, String> {
    let found = Notation::ALL.iter().find(|(word, _)| word.eq_ignore_ascii_case(text));
    found.map(|&(_, notation)| notation).ok_or_else(|| one_of(Notation::ALL.iter().map(|&(word, _)| word)))
}

/// A format of images by its word.
pub fn format(text: &str) -> Result<Format, String> {
    Format::from_word(text).ok_or_else(|| one_of(Format::words()))
}

/// The format of a serial line, as in `300 8N2`.
pub fn line(text: &str) -> Result<LineFormat, String> {
    text.parse().map_err(|error: FormatError| error.to_string())
}

/// A time in seconds, with decimals, of at most a day.
pub fn seconds(text: &str) -> Result<Duration, String> {
    let seconds = text.parse::<f64>().ok().filter(|seconds| (0.0..=86_400.0).contains(seconds));
    seconds.map(Duration::from_secs_f64).ok_or_else(|| "expected seconds, 0..=86400, as in 0.25".into())
}

fn one_of<'a>(words: impl Iterator<Item = &'a str>) -> String {
    format!("expected one of {}", words.collect::<Vec<_>>().join(", "))
}
