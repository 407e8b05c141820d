//! How the bytes of a field become frames on the tape: as they are, as digits, escaped, in seven bits with parity.

use super::set::ByteSet;

/// Everything between a field's bytes and the frames.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Coding {
    /// What track 8 is for.
    pub characters: Characters,
    /// How a byte is written.
    pub digits: Digits,
    /// How bytes that must not stand on the tape are replaced.
    pub escape: Option<Escape>,
    /// Frames that a reader passes over wherever they stand, such as rubouts.
    pub ignore: ByteSet,
    /// Bytes that no field may put on the tape.
    pub avoid: ByteSet,
}

/// What the eighth track is for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Characters {
    /// Eight bits of data.
    #[default]
    EightBits,
    /// Seven bits of data, an even number of holes in every frame (the 7-bit code on tape: ISO 1113, ECMA-10).
    SevenEven,
    /// Seven bits of data, an odd number of holes.
    SevenOdd,
    /// Seven bits of data, track 8 always punched.
    SevenMark,
    /// Seven bits of data, track 8 never punched.
    SevenSpace,
}

impl Characters {
    /// All with their names in a framing file.
    pub const ALL: [(&'static str, Characters); 5] = [
        ("8N", Characters::EightBits),
        ("7E", Characters::SevenEven),
        ("7O", Characters::SevenOdd),
        ("7M", Characters::SevenMark),
        ("7S", Characters::SevenSpace),
    ];

    /// Whether track 8 is no data.
    pub const fn is_seven_bit(self) -> bool {
        !matches!(self, Characters::EightBits)
    }

    /// The frame of a character.
    pub const fn punch(self, character: u8) -> u8 {
        let seven = character & 0o177;
        let odd = seven.count_ones() % 2 == 1;
        let eighth = match self {
            Characters::EightBits => return character,
            Characters::SevenEven => odd,
            Characters::SevenOdd => !odd,
            Characters::SevenMark => true,
            Characters::SevenSpace => false,
        };
        seven | (eighth as u8) << 7
    }

    /// The character of a frame, and whether track 8 is as it should be.
    pub const fn read(self, frame: u8) -> (u8, bool) {
        match self {
            Characters::EightBits => (frame, true),
            _ => (frame & 0o177, self.punch(frame) == frame),
        }
    }
}

/// How a byte is written.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Digits {
    /// As one frame.
    #[default]
    Binary,
    /// As two hexadecimal digits, the high one first; lower case is read too.
    Hexadecimal,
    /// As three octal digits, the high one first.
    Octal,
}

impl Digits {
    /// All with their names in a framing file.
    pub const ALL: [(&'static str, Digits); 3] =
        [("binary", Digits::Binary), ("hex", Digits::Hexadecimal), ("octal", Digits::Octal)];

    /// Frames for a byte.
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

    /// The digit at a place of a byte, from 0 for the first on the tape.
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

/// Bytes that must not stand on the tape are written as the escape byte and the byte with some bits turned over.
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
    /// Whether a field's bytes stand on the tape as they are.
    pub fn is_plain(&self) -> bool {
        self.digits == Digits::Binary && self.escape.is_none()
    }

    /// Writes the bytes of a field, as characters that do not yet have their parity.
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

    /// The most frames that `count` bytes take.
    pub fn most_frames(&self, count: usize) -> usize {
        count * if self.escape.is_some() { 2 } else { self.digits.width() }
    }
}
