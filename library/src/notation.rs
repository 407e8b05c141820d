//! Octal, split octal and hexadecimal: the one place where an address or a byte becomes text, and where text that a
//! person typed becomes a number.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A memory address, 0 to 65535.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Address(pub u16);

impl Address {
    /// The address `count` bytes further on, wrapping at the top of memory.
    pub const fn wrapping_add(self, count: u16) -> Address {
        Address(self.0.wrapping_add(count))
    }

    /// The address as an index.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A number in octal and hexadecimal, for a message whose reader's notation is not known: `177000 (FE00H)`.
#[derive(Clone, Copy, Debug)]
pub struct Both<T>(pub T);

impl fmt::Display for Both<Address> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}H)", Notation::Octal.address(self.0), Notation::Hexadecimal.address(self.0))
    }
}

impl fmt::Display for Both<u8> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} ({}H)", Notation::Octal.byte(self.0), Notation::Hexadecimal.byte(self.0))
    }
}

/// An address as it is typed into an option or a machine file, where the notation of the panel is not known: `0o177000`.
pub fn typed(address: Address) -> String {
    format!("0o{}", Notation::Octal.address(address))
}

/// A number of the wider world, which may lie past the top of memory, in hexadecimal.
pub fn wide(number: u64) -> String {
    format!("{number:X}")
}

/// A number of things: `1 byte`, `2 bytes`.
pub fn counted<N: fmt::Display + PartialEq + From<u8>>(number: N, thing: &str) -> String {
    let end = if number == N::from(1) { "" } else { "s" };
    format!("{number} {thing}{end}")
}

/// How addresses and bytes are written for the reader.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Notation {
    /// Six octal digits for an address, three for a byte: `177000`, `076`.
    #[default]
    Octal,
    /// An address as two bytes of three octal digits each: `376 000`.
    SplitOctal,
    /// Four hexadecimal digits for an address, two for a byte: `FE00`, `3E`.
    Hexadecimal,
}

impl Notation {
    /// All notations with the words that select them.
    pub const ALL: [(&'static str, Notation); 3] =
        [("octal", Notation::Octal), ("split", Notation::SplitOctal), ("hex", Notation::Hexadecimal)];

    /// Its name in a sentence.
    pub const fn name(self) -> &'static str {
        match self {
            Notation::Octal => "octal",
            Notation::SplitOctal => "split octal",
            Notation::Hexadecimal => "hexadecimal",
        }
    }

    /// A byte as text: three octal digits or two hexadecimal ones.
    pub const fn byte(self, byte: u8) -> ByteText {
        ByteText(self, byte)
    }

    /// An address as text, always [`Self::address_width`] characters.
    pub const fn address(self, address: Address) -> AddressText {
        AddressText(self, address)
    }

    /// A word of 16 bits as text, written as an address is.
    pub const fn word(self, word: u16) -> AddressText {
        AddressText(self, Address(word))
    }

    /// The digits of an address without a blank, as they stand in a name.
    pub fn digits(self, address: Address) -> String {
        self.address(address).to_string().replace(' ', "")
    }

    /// A number as a constant of the assembly language: `177000Q`, `0FE00H`; one digit alone where it is the same in decimal. The
    /// language has no split octal.
    pub fn constant(self, value: u16) -> String {
        match self {
            Notation::Octal | Notation::SplitOctal if value < 8 => format!("{value}"),
            Notation::Octal | Notation::SplitOctal => format!("{value:o}Q"),
            Notation::Hexadecimal if value < 10 => format!("{value}"),
            Notation::Hexadecimal => {
                let digits = format!("{value:X}");
                let nought = if digits.starts_with(|first: char| first.is_ascii_digit()) { "" } else { "0" };
                format!("{nought}{digits}H")
            }
        }
    }

    /// Reads an address at the beginning of words as a terminal shows them, and how many words it takes.
    pub fn read_address(self, words: &[&str]) -> Option<(u16, usize)> {
        let first = words.first()?;
        match self {
            Notation::Octal => {
                let right = matches!(first.len(), 4..=6).then(|| u16::from_str_radix(first, 8).ok()).flatten();
                Some((right?, 1))
            }
            Notation::SplitOctal if first.len() == 6 => {
                let (high, low) = (self.read_byte(first.get(..3)?)?, self.read_byte(first.get(3..)?)?);
                Some((u16::from_be_bytes([high, low]), 1))
            }
            Notation::SplitOctal => {
                Some((u16::from_be_bytes([self.read_byte(first)?, self.read_byte(words.get(1)?)?]), 2))
            }
            Notation::Hexadecimal => {
                let digits = first.strip_prefix("0x").unwrap_or(first);
                let digits = digits.strip_suffix(['H', 'h']).unwrap_or(digits);
                let digits = if digits.len() == 5 { digits.strip_prefix('0')? } else { digits };
                let right = (digits.len() == 4).then(|| u16::from_str_radix(digits, 16).ok()).flatten();
                Some((right?, 1))
            }
        }
    }

    /// Whether an address may be two words.
    pub const fn has_halves(self) -> bool {
        matches!(self, Notation::SplitOctal)
    }

    /// Whether a word that was read as an address is as long as one of another notation.
    pub fn is_doubtful(self, word: &str) -> bool {
        self == Notation::Octal && word.len() == 4
    }

    /// Reads a word that is one byte or several without a blank between them.
    pub fn read_bytes(self, word: &str) -> Option<Vec<u8>> {
        let width = self.byte_width();
        if !word.len().is_multiple_of(width) {
            return None;
        }
        (0..word.len() / width).map(|at| self.read_byte(word.get(at * width..(at + 1) * width)?)).collect()
    }

    fn read_byte(self, digits: &str) -> Option<u8> {
        let radix = if self == Notation::Hexadecimal { 16 } else { 8 };
        (digits.len() == self.byte_width()).then(|| u8::from_str_radix(digits, radix).ok()).flatten()
    }

    /// Reads a number that a person tells: in this notation, or with a radix of its own as in [`parse_number`].
    ///
    /// # Errors
    /// [`NumberError`] for anything else, and for values above 65535.
    pub fn read_typed(self, text: &str) -> Result<u16, NumberError> {
        let radix = if self == Notation::Hexadecimal { 16 } else { 8 };
        match parse_digits(text, radix) {
            // A number without a radix is never taken for decimal.
            Err(NumberError::Malformed) if !text.bytes().all(|digit| digit.is_ascii_digit()) => parse_number(text),
            read => read,
        }
    }

    /// Numbers that are compared, all of them as bytes, or as words if one is none.
    pub fn alike<const N: usize>(self, numbers: [u16; N]) -> [String; N] {
        let bytes = numbers.iter().all(|number| *number < 256);
        numbers.map(|number| match bytes {
            true => self.byte(number.to_le_bytes()[0]).to_string(),
            false => self.word(number).to_string(),
        })
    }

    /// Characters in a byte.
    pub const fn byte_width(self) -> usize {
        match self {
            Notation::Octal | Notation::SplitOctal => 3,
            Notation::Hexadecimal => 2,
        }
    }

    /// Characters in an address.
    pub const fn address_width(self) -> usize {
        match self {
            Notation::Octal => 6,
            Notation::SplitOctal => 7,
            Notation::Hexadecimal => 4,
        }
    }
}

/// A byte that displays itself in a notation.
#[derive(Clone, Copy, Debug)]
pub struct ByteText(Notation, u8);

impl fmt::Display for ByteText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            Notation::Octal | Notation::SplitOctal => write!(f, "{:03o}", self.1),
            Notation::Hexadecimal => write!(f, "{:02X}", self.1),
        }
    }
}

/// An address that displays itself in a notation.
#[derive(Clone, Copy, Debug)]
pub struct AddressText(Notation, Address);

impl fmt::Display for AddressText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Address(value) = self.1;
        match self.0 {
            Notation::Octal => write!(f, "{value:06o}"),
            Notation::SplitOctal => write!(f, "{:03o} {:03o}", value >> 8, value & 0xFF),
            Notation::Hexadecimal => write!(f, "{value:04X}"),
        }
    }
}

/// Why a typed number was refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NumberError {
    /// Not a number in any accepted form.
    Malformed,
    /// Digits behind a nought and no radix: as it is printed in octal, and yet decimal.
    Ambiguous,
    /// A number above 65535.
    TooLarge,
}

impl fmt::Display for NumberError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            NumberError::Malformed => "not a number: write 0o177000, 177000Q, 0xFE00, 0FE00H, 376:000 or decimal",
            NumberError::Ambiguous => {
                "octal or decimal: write 0o before octal digits or Q behind them, and decimal ones without a nought before"
            }
            NumberError::TooLarge => "larger than 65535",
        })
    }
}

impl std::error::Error for NumberError {}

/// Reads a number as people type one on a command line: with a prefix (`0o177000`, `0xFE00`, `0b101`), with the radix
/// letter of the assembly language at its end (`177000Q`, `0FE00H`, `101B`, `9D`), as split octal (`376:000`), or in
/// decimal without a nought before it.
///
/// # Errors
/// [`NumberError`] for anything else, and for values above 65535.
pub fn parse_number(text: &str) -> Result<u16, NumberError> {
    if let Some((high, low)) = text.split_once(':') {
        let byte = |part: &str| u8::try_from(parse_digits(part, 8)?).map_err(|_| NumberError::TooLarge);
        return Ok(u16::from_be_bytes([byte(high)?, byte(low)?]));
    }
    let prefixed = text.get(..2).and_then(|prefix| match prefix {
        "0o" | "0O" => Some(8),
        "0x" | "0X" => Some(16),
        "0b" if text[2..].bytes().all(|digit| matches!(digit, b'0' | b'1')) && text.len() > 2 => Some(2),
        _ => None,
    });
    if let Some(radix) = prefixed {
        return parse_digits(&text[2..], radix);
    }
    let (digits, radix) = split_radix(text);
    if !digits.starts_with(|first: char| first.is_ascii_digit()) {
        return Err(NumberError::Malformed);
    }
    if digits.len() == text.len() && digits.len() > 1 && digits.starts_with('0') {
        return Err(digits
            .bytes()
            .find(|byte| !byte.is_ascii_digit())
            .map_or(NumberError::Ambiguous, |_| NumberError::Malformed));
    }
    parse_digits(digits, radix)
}

/// Splits the radix letter of the assembly language off the end of a number; without one, decimal.
///
/// Source: Intel 8080 Assembly Language Programming Manual, Rev. B, 1975: H, O or Q, D, B.
pub fn split_radix(text: &str) -> (&str, u32) {
    let radix = match text.bytes().last() {
        Some(b'H' | b'h') => 16,
        Some(b'O' | b'o' | b'Q' | b'q') => 8,
        Some(b'D' | b'd') => 10,
        Some(b'B' | b'b') => 2,
        _ => return (text, 10),
    };
    (&text[..text.len() - 1], radix)
}

fn parse_digits(digits: &str, radix: u32) -> Result<u16, NumberError> {
    if digits.is_empty() {
        return Err(NumberError::Malformed);
    }
    digits.chars().try_fold(0u16, |value, digit| {
        let digit = digit.to_digit(radix).ok_or(NumberError::Malformed)?;
        let wide = u32::from(value) * radix + digit;
        u16::try_from(wide).map_err(|_| NumberError::TooLarge)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_in_three_notations() {
        let texts = Notation::ALL.map(|(_, notation)| notation.address(Address(0o176123)).to_string());
        assert_eq!(texts, ["176123", "374 123", "FC53"]);
        for (_, notation) in Notation::ALL {
            assert_eq!(notation.address(Address(0)).to_string().len(), notation.address_width());
            assert_eq!(notation.byte(7).to_string().len(), notation.byte_width());
        }
    }

    #[test]
    fn constants_of_the_language() {
        assert_eq!(Notation::Octal.constant(0o177000), "177000Q");
        assert_eq!(Notation::SplitOctal.constant(7), "7");
        assert_eq!([0xFE00, 0x12, 9].map(|value| Notation::Hexadecimal.constant(value)), ["0FE00H", "12H", "9"]);
        assert_eq!(Notation::SplitOctal.digits(Address(0o176123)), "374123");
    }

    #[test]
    fn numbers_to_compare_look_alike() {
        assert_eq!(Notation::Octal.alike([0o20, 0o7]), ["020", "007"]);
        assert_eq!(Notation::Hexadecimal.alike([0x20, 0x107]), ["0020", "0107"]);
    }

    #[test]
    fn numbers_as_people_tell_them() {
        assert_eq!(
            ["000157", "157", "0x6F", "0o157", "157Q", "0:157"].map(|text| Notation::Octal.read_typed(text)),
            [Ok(0o157); 6]
        );
        assert_eq!(["6f", "006F", "6FH", "0o157"].map(|text| Notation::Hexadecimal.read_typed(text)), [Ok(0o157); 4]);
        assert_eq!(Notation::Octal.read_typed("19"), Err(NumberError::Malformed));
        assert_eq!(Notation::Octal.read_typed("200000"), Err(NumberError::TooLarge));
    }

    #[test]
    fn numbers_as_people_type_them() {
        for text in ["0o177000", "177000Q", "177000o", "0xFE00", "0FE00H", "0fe00h", "376:000", "65024", "65024D"] {
            assert_eq!(parse_number(text), Ok(0o177000), "{text}");
        }
        assert_eq!(parse_number("0b101"), Ok(5));
        assert_eq!(parse_number("101B"), Ok(5));
        assert_eq!(parse_number("0BH"), Ok(11));
        for text in ["", "H", "FE00H", "12x", "0x", "8Q", "3:", "é:1", "0é"] {
            assert_eq!(parse_number(text), Err(NumberError::Malformed), "{text}");
        }
        for text in ["000400", "0217", "00"] {
            assert_eq!(parse_number(text), Err(NumberError::Ambiguous), "{text}");
        }
        assert_eq!(parse_number("0"), Ok(0));
        for text in ["65536", "400:000", "10000H"] {
            assert_eq!(parse_number(text), Err(NumberError::TooLarge), "{text}");
        }
    }
}
