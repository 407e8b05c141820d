//! How the bytes of a field become characters: as they are, as digits, escaped.

use super::set::ByteSet;

/// Everything between a field's bytes and the characters that stand for them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coding {
    /// How a byte is written.
    pub digits: Digits,
    /// How bytes that must not stand there are replaced.
    pub escape: Option<Escape>,
    /// Characters that no field may need.
    pub avoid: ByteSet,
}

/// How a byte is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Digits {
    /// As one character.
    #[default]
    Binary,
    /// As two hexadecimal digits, the high one first; lower case is read too.
    Hexadecimal,
    /// As three octal digits, the high one first.
    Octal,
}

impl Digits {
    /// All with their names in a file.
    pub const ALL: [(&'static str, Digits); 3] =
        [("binary", Digits::Binary), ("hex", Digits::Hexadecimal), ("octal", Digits::Octal)];

    /// Characters for a byte.
    pub const fn width(self) -> usize {
        match self {
            Digits::Binary => 1,
            Digits::Hexadecimal => 2,
            Digits::Octal => 3,
        }
    }

    const fn bits(self) -> u32 {
        match self {
            Digits::Binary => 8,
            Digits::Hexadecimal => 4,
            Digits::Octal => 3,
        }
    }

    /// The digit at a place of a byte, from 0 for the first to stand there.
    pub fn digit(self, byte: u8, place: usize) -> u8 {
        if self == Digits::Binary {
            return byte;
        }
        let shift = self.bits() * (self.width() - 1 - place) as u32;
        let value = byte >> shift & ((1 << self.bits()) - 1);
        b"0123456789ABCDEF"[value as usize]
    }

    /// The byte of its digits; nothing if one is no digit or the value is above 255.
    pub fn byte(self, digits: &[u8]) -> Option<u8> {
        if self == Digits::Binary {
            return digits.first().copied();
        }
        let value = digits
            .iter()
            .try_fold(0, |value, &digit| Some(value << self.bits() | char::from(digit).to_digit(1 << self.bits())?))?;
        u8::try_from(value).ok()
    }
}

/// Bytes that must not stand there are written as the escape byte and the byte with some bits turned over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Escape {
    /// Announces a replaced byte.
    pub byte: u8,
    /// The bits that are turned over.
    pub flip: u8,
    /// The bytes that are replaced; the escape byte is one of them.
    pub bytes: ByteSet,
}

impl Coding {
    /// Whether a field's bytes stand there as they are.
    pub fn is_plain(&self) -> bool {
        self.digits == Digits::Binary && self.escape.is_none()
    }

    /// Writes the bytes of a field as characters.
    pub fn write(&self, bytes: &[u8], out: &mut Vec<u8>) {
        match &self.escape {
            None if self.digits == Digits::Binary => out.extend_from_slice(bytes),
            None => {
                out.extend(
                    bytes
                        .iter()
                        .flat_map(|&byte| (0..self.digits.width()).map(move |place| self.digits.digit(byte, place))),
                );
            }
            Some(escape) => {
                for &byte in bytes {
                    if escape.bytes.contains(byte) {
                        out.extend([escape.byte, byte ^ escape.flip]);
                    } else {
                        out.push(byte);
                    }
                }
            }
        }
    }

    /// Reads `count` bytes of a field from `at` on, and returns where it ends; nothing if the characters end before.
    /// A character that cannot stand there is read as a zero and told in `garbled`.
    pub fn read(
        &self,
        characters: &[u8],
        at: usize,
        count: usize,
        out: &mut Vec<u8>,
        garbled: &mut bool,
    ) -> Option<usize> {
        if self.is_plain() {
            out.extend_from_slice(characters.get(at..at + count)?);
            return Some(at + count);
        }
        let mut at = at;
        for _ in 0..count {
            let (byte, width) = self.read_byte(characters.get(at..)?)?;
            *garbled |= byte.is_none();
            out.push(byte.unwrap_or(0));
            at += width;
        }
        Some(at)
    }

    fn read_byte(&self, characters: &[u8]) -> Option<(Option<u8>, usize)> {
        match &self.escape {
            Some(escape) if *characters.first()? == escape.byte => {
                let byte = characters.get(1)? ^ escape.flip;
                Some((escape.bytes.contains(byte).then_some(byte), 2))
            }
            Some(escape) => {
                let byte = *characters.first()?;
                Some(((!escape.bytes.contains(byte)).then_some(byte), 1))
            }
            None => {
                let width = self.digits.width();
                Some((self.digits.byte(characters.get(..width)?), width))
            }
        }
    }

    /// The most characters that `count` bytes take.
    pub fn most_characters(&self, count: usize) -> usize {
        count * if self.escape.is_some() { 2 } else { self.digits.width() }
    }
}
