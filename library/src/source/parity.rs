//! Old texts whose characters carry a parity bit, as a terminal or a tape left them.

use super::code::Code;
use super::diagnostic::Diagnostic;
use super::place::{Position, SourceId};

/// What bit 7 of the characters of a text holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CharacterParity {
    /// The number of ones in a character is even.
    Even,
    /// The number of ones in a character is odd.
    Odd,
    /// Bit 7 is always one.
    Mark,
}

/// Fewer characters than this prove nothing.
const FEWEST: usize = 16;

impl CharacterParity {
    /// The parity that every character of a text has, padding of NUL and control-Z aside. A text whose bit 7 is never
    /// set has none.
    pub fn of(text: &[u8]) -> Option<CharacterParity> {
        let mut characters = text.iter().filter(|&&byte| !matches!(byte, 0 | 0x1A)).peekable();
        characters.peek()?;
        if text.len() < FEWEST || !text.iter().any(|byte| byte & 0x80 != 0) {
            return None;
        }
        [CharacterParity::Even, CharacterParity::Odd, CharacterParity::Mark]
            .into_iter()
            .find(|parity| characters.clone().all(|&byte| parity.holds(byte)))
    }

    fn holds(self, byte: u8) -> bool {
        match self {
            CharacterParity::Even => byte.count_ones().is_multiple_of(2),
            CharacterParity::Odd => !byte.count_ones().is_multiple_of(2),
            CharacterParity::Mark => byte & 0x80 != 0,
        }
    }

    /// The note that the parity of a text was taken off.
    pub fn note(self, source: SourceId, name: &str) -> Diagnostic {
        let word = match self {
            CharacterParity::Even => "even parity",
            CharacterParity::Odd => "odd parity",
            CharacterParity::Mark => "a one",
        };
        let start = Position { source, offset: 0 }.span();
        Diagnostic::note(Code::ParityRemoved, format!("every character of `{name}` carries {word} in bit 7"))
            .at(start, "read without it")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn with(parity: CharacterParity, text: &str) -> Vec<u8> {
        text.bytes().map(|byte| if parity.holds(byte) { byte } else { byte | 0x80 }).collect()
    }

    #[test]
    fn a_parity_is_found_only_where_every_character_has_it() {
        let text = "START:\tMVI A,76Q\r\n\tHLT\r\n";
        for parity in [CharacterParity::Even, CharacterParity::Odd, CharacterParity::Mark] {
            let mut bytes = with(parity, text);
            assert_eq!(CharacterParity::of(&bytes), Some(parity));
            bytes[3] ^= 0x80;
            assert_eq!(CharacterParity::of(&bytes), None);
        }
        assert_eq!(CharacterParity::of(text.as_bytes()), None);
        assert_eq!(CharacterParity::of(&[0; 100]), None);
        assert_eq!(CharacterParity::of("été, für Änderungen".as_bytes()), None);
    }
}
