//! The format of a start-stop line as people write it: `300 8N2`, `110 8N2`, `45.45 5N1.5`; where a blank is in the
//! way, `300,8N2`.
//!
//! A character is one start bit (space), the data bits with the least significant first, an optional parity bit, and
//! the stop bits (mark): ANSI X3.15-1966, ISO 1177 (order of bits), ANSI X3.16 (character structure).

use std::fmt;
use std::str::FromStr;
use std::time::Duration;

use serde::{Deserialize, Serialize};

/// Bits a second, in hundredths, so that 45.45 and 134.5 baud are exact: 1 to 1,000,000 baud.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Speed {
    hundredths: u32,
}

impl Speed {
    /// The fastest line, in baud.
    pub const FASTEST: u32 = 1_000_000;

    /// A speed in whole baud; nothing outside `1..=1_000_000`.
    pub const fn baud(baud: u32) -> Option<Speed> {
        if baud == 0 || baud > Self::FASTEST { None } else { Some(Speed { hundredths: baud * 100 }) }
    }

    /// A speed in hundredths of a baud; nothing outside one to 1,000,000 baud.
    pub const fn of_hundredths(hundredths: u32) -> Option<Speed> {
        if hundredths < 100 || hundredths > Self::FASTEST * 100 { None } else { Some(Speed { hundredths }) }
    }

    /// Hundredths of a baud.
    pub const fn hundredths(self) -> u32 {
        self.hundredths
    }

    /// Baud rounded to whole ones, as a port is asked for it.
    pub const fn whole_baud(self) -> u32 {
        (self.hundredths + 50) / 100
    }
}

impl fmt::Display for Speed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.hundredths / 100)?;
        match self.hundredths % 100 {
            0 => Ok(()),
            part if part % 10 == 0 => write!(f, ".{}", part / 10),
            part => write!(f, ".{part:02}"),
        }
    }
}

/// The bit between data and stop bits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Parity {
    /// None: `N`.
    None,
    /// The number of ones in data and parity is even: `E`.
    Even,
    /// It is odd: `O`.
    Odd,
}

/// How long the line rests at mark after a character.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StopBits {
    /// One bit time.
    One,
    /// One and a half.
    OneAndHalf,
    /// Two.
    Two,
}

impl StopBits {
    /// Their length in half bit times: 2, 3 or 4.
    pub const fn half_bits(self) -> u64 {
        match self {
            StopBits::One => 2,
            StopBits::OneAndHalf => 3,
            StopBits::Two => 4,
        }
    }
}

/// Speed and character of a start-stop line.
///
/// ```
/// let line: coldwright::line::LineFormat = "110 8N2".parse().unwrap();
/// assert_eq!(line.character_time().as_millis(), 100);
/// assert_eq!(line.to_string(), "110 8N2");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct LineFormat {
    /// Bits a second.
    pub speed: Speed,
    /// Data bits: 5 to 8.
    pub data_bits: u8,
    /// The parity bit.
    pub parity: Parity,
    /// The stop bits.
    pub stop_bits: StopBits,
}

impl TryFrom<String> for LineFormat {
    type Error = FormatError;

    fn try_from(text: String) -> Result<LineFormat, FormatError> {
        text.parse()
    }
}

impl From<LineFormat> for String {
    fn from(line: LineFormat) -> String {
        line.to_string()
    }
}

impl LineFormat {
    /// The length of a character in half bit times, start and stop bits included.
    pub const fn half_bits(&self) -> u64 {
        let parity = if matches!(self.parity, Parity::None) { 0 } else { 2 };
        2 + 2 * self.data_bits as u64 + parity + self.stop_bits.half_bits()
    }

    /// The time of one character, rounded to nanoseconds.
    pub fn character_time(&self) -> Duration {
        self.time(1)
    }

    /// The time that a number of characters takes when they follow each other without a pause, rounded to nanoseconds.
    pub fn time(&self, characters: u64) -> Duration {
        let per_half_bit = 50 * 1_000_000_000u128;
        let speed = u128::from(self.speed.hundredths);
        let nanoseconds = (u128::from(characters) * u128::from(self.half_bits()) * per_half_bit + speed / 2) / speed;
        Duration::new((nanoseconds / 1_000_000_000) as u64, (nanoseconds % 1_000_000_000) as u32)
    }

    /// Whether a byte can be sent as it is: its bits above the data bits are zero, or it is one of seven bits whose eighth is
    /// the parity that the line makes itself.
    pub const fn carries(&self, byte: u8) -> bool {
        let mask = 0xFF >> (8 - self.data_bits);
        let odd = (byte & mask).count_ones() % 2 == 1;
        let parity = match self.parity {
            Parity::None => false,
            Parity::Even => odd,
            Parity::Odd => !odd,
        };
        byte & !mask == 0 || (self.data_bits == 7 && parity && byte & !mask == 0x80)
    }

    /// Characters a second at full speed.
    pub fn characters_a_second(&self) -> f64 {
        f64::from(self.speed.hundredths) / 50.0 / self.half_bits() as f64
    }
}

impl fmt::Display for LineFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parity = match self.parity {
            Parity::None => 'N',
            Parity::Even => 'E',
            Parity::Odd => 'O',
        };
        let stop = match self.stop_bits {
            StopBits::One => "1",
            StopBits::OneAndHalf => "1.5",
            StopBits::Two => "2",
        };
        write!(f, "{} {}{parity}{stop}", self.speed, self.data_bits)
    }
}

/// Why a line format could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum FormatError {
    /// Not a speed and a character, one blank between them.
    Shape,
    /// The speed.
    Speed,
    /// The number of data bits.
    DataBits,
    /// The letter of the parity.
    Parity,
    /// The stop bits.
    StopBits,
}

impl fmt::Display for FormatError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            FormatError::Shape => "a line is its speed, a blank and its character, as in `300 8N2`",
            FormatError::Speed => "the speed is `1..=1000000` baud with at most two decimals",
            FormatError::DataBits => "the data bits are `5..=8`",
            FormatError::Parity => "the parity is N (none), E (even) or O (odd)",
            FormatError::StopBits => "the stop bits are 1, 1.5 or 2",
        })
    }
}

impl std::error::Error for FormatError {}

impl FromStr for LineFormat {
    type Err = FormatError;

    fn from_str(text: &str) -> Result<Self, FormatError> {
        let (speed, character) = text.trim().split_once([' ', ',']).ok_or(FormatError::Shape)?;
        let speed = speed_of(speed)?;
        let mut letters = character.trim_start().chars();
        let data_bits = match letters.next() {
            Some(digit @ '5'..='8') => digit as u8 - b'0',
            _ => return Err(FormatError::DataBits),
        };
        let parity = match letters.next().map(|letter| letter.to_ascii_uppercase()) {
            Some('N') => Parity::None,
            Some('E') => Parity::Even,
            Some('O') => Parity::Odd,
            _ => return Err(FormatError::Parity),
        };
        let stop_bits = match letters.as_str() {
            "1" => StopBits::One,
            "1.5" => StopBits::OneAndHalf,
            "2" => StopBits::Two,
            _ => return Err(FormatError::StopBits),
        };
        Ok(LineFormat { speed, data_bits, parity, stop_bits })
    }
}

fn speed_of(text: &str) -> Result<Speed, FormatError> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |text: &str| text.bytes().all(|digit| digit.is_ascii_digit());
    if whole.is_empty() || whole.len() > 7 || part.len() > 2 || !digits(whole) || !digits(part) {
        return Err(FormatError::Speed);
    }
    let hundredths = format!("{whole}{part:0<2}").parse().map_err(|_| FormatError::Speed)?;
    let allowed = 100..=Speed::FASTEST * 100;
    if allowed.contains(&hundredths) { Ok(Speed { hundredths }) } else { Err(FormatError::Speed) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_are_read_as_they_are_written() {
        for text in ["300 8N2", "110 8N2", "45.45 5N1.5", "134.5 7E1", "9600 7O1", "1000000 8N1"] {
            assert_eq!(text.parse::<LineFormat>().unwrap().to_string(), text);
        }
        assert_eq!("300,8n1".parse::<LineFormat>().unwrap().to_string(), "300 8N1");
    }

    #[test]
    fn each_part_has_its_own_refusal() {
        let refusal = |text: &str| text.parse::<LineFormat>().unwrap_err();
        assert_eq!(refusal("3008N2"), FormatError::Shape);
        for speed in ["0", "-3", "1e3", "1.234", "1000001", "99999999999999", ".5", ""] {
            assert_eq!(
                refusal(&format!("{speed} 8N2")).clone(),
                if speed.is_empty() { FormatError::Shape } else { FormatError::Speed },
                "{speed}"
            );
        }
        assert_eq!(refusal("300 9N2"), FormatError::DataBits);
        assert_eq!(refusal("300 8X2"), FormatError::Parity);
        assert_eq!(refusal("300 8N3"), FormatError::StopBits);
    }
}
