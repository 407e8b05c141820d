//! Lettering punched into a leader, to be read by eye.
//!
//! A glyph is five frames wide and seven tracks high; the top row is in track 8, the bottom row in track 2, so that a
//! tape held with its three-track side down and its beginning to the left reads as text. Between glyphs stands one
//! blank frame.

use crate::source::{Code, Diagnostic};

/// Frames of a glyph with the blank one behind it.
const PITCH: usize = 6;

/// The most blank frames within lettering: a blank of `PITCH` frames with blank columns beside it.
pub const WIDEST_BLANK: usize = 4 * PITCH;

/// The longest text that is punched, in characters.
pub const LONGEST: usize = 64;

/// Frames from the first to the last hole of the longest lettering, at most.
pub const LONGEST_FRAMES: usize = LONGEST * PITCH;

/// The frames of a text, a few blank ones before and behind it. Small letters are punched as capitals.
///
/// # Errors
/// A diagnostic for a character that the font lacks, and for a text longer than [`LONGEST`].
pub fn columns(text: &str) -> Result<Vec<u8>, Diagnostic> {
    if text.chars().count() > LONGEST {
        let headline = format!("the lettering is longer than {LONGEST} characters");
        return Err(Diagnostic::error(Code::LetteringUnfit, headline));
    }
    let mut frames = vec![0; PITCH];
    for character in text.chars() {
        let Some(glyph) = glyph(character.to_ascii_uppercase()) else {
            let headline = format!("`{character}` cannot be punched as lettering");
            let known: String = FONT.iter().map(|(known, _)| *known).collect();
            return Err(Diagnostic::error(Code::LetteringUnfit, headline).with_note(format!("the font has{known}")));
        };
        frames.extend(glyph);
        frames.push(0);
    }
    frames.extend([0; PITCH]);
    Ok(frames)
}

/// The text that frames spell, from the first punched one on, if every frame of them belongs to a glyph.
pub fn read(frames: &[u8]) -> Option<String> {
    // The first glyph may have begun with blank columns.
    (0..PITCH - 1).find_map(|blank| spell(&[&[0; PITCH][..blank], frames].concat()))
}

fn spell(frames: &[u8]) -> Option<String> {
    let mut text = String::new();
    let mut at = 0;
    while at < frames.len() {
        // The last glyph may have lost its blank columns.
        let mut window = [0; PITCH];
        let width = PITCH.min(frames.len() - at);
        window[..width].copy_from_slice(&frames[at..at + width]);
        let found = FONT.iter().find(|(_, rows)| column_frames(rows) == window[..5] && window[5] == 0)?;
        text.push(found.0);
        at += PITCH;
    }
    (!text.trim().is_empty()).then(|| text.trim().to_owned())
}

fn glyph(character: char) -> Option<[u8; 5]> {
    FONT.iter().find(|(known, _)| *known == character).map(|(_, rows)| column_frames(rows))
}

/// Turns seven rows of five dots, the left dot in bit 4, into five frames, the top row in bit 7.
fn column_frames(rows: &[u8; 7]) -> [u8; 5] {
    let column = |column: usize| {
        rows.iter().enumerate().fold(0, |frame, (row, dots)| frame | (dots >> (4 - column) & 1) << (7 - row))
    };
    [0, 1, 2, 3, 4].map(column)
}

/// Rows from the top; the first is the blank.
#[rustfmt::skip]
const FONT: [(char, [u8; 7]); 47] = [
    (' ', [0b00000, 0b00000, 0b00000, 0b00000, 0b00000, 0b00000, 0b00000]),
    ('A', [0b00100, 0b01010, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001]),
    ('B', [0b11110, 0b10001, 0b10001, 0b11110, 0b10001, 0b10001, 0b11110]),
    ('C', [0b01111, 0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b01111]),
    ('D', [0b11110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b11110]),
    ('E', [0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b11111]),
    ('F', [0b11111, 0b10000, 0b10000, 0b11110, 0b10000, 0b10000, 0b10000]),
    ('G', [0b01111, 0b10000, 0b10000, 0b10011, 0b10001, 0b10001, 0b01111]),
    ('H', [0b10001, 0b10001, 0b10001, 0b11111, 0b10001, 0b10001, 0b10001]),
    ('I', [0b11111, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100, 0b11111]),
    ('J', [0b00111, 0b00001, 0b00001, 0b00001, 0b00001, 0b10001, 0b01110]),
    ('K', [0b10001, 0b10010, 0b10100, 0b11000, 0b10100, 0b10010, 0b10001]),
    ('L', [0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b10000, 0b11111]),
    ('M', [0b10001, 0b11011, 0b10101, 0b10101, 0b10001, 0b10001, 0b10001]),
    ('N', [0b10001, 0b11001, 0b11001, 0b10101, 0b10011, 0b10011, 0b10001]),
    ('O', [0b01110, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110]),
    ('P', [0b11110, 0b10001, 0b10001, 0b11110, 0b10000, 0b10000, 0b10000]),
    ('Q', [0b01110, 0b10001, 0b10001, 0b10001, 0b10101, 0b10010, 0b01101]),
    ('R', [0b11110, 0b10001, 0b10001, 0b11110, 0b10100, 0b10010, 0b10001]),
    ('S', [0b01111, 0b10000, 0b10000, 0b01110, 0b00001, 0b00001, 0b11110]),
    ('T', [0b11111, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100, 0b00100]),
    ('U', [0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b10001, 0b01110]),
    ('V', [0b10001, 0b10001, 0b10001, 0b10001, 0b01010, 0b01010, 0b00100]),
    ('W', [0b10001, 0b10001, 0b10001, 0b10101, 0b10101, 0b11011, 0b10001]),
    ('X', [0b10001, 0b10001, 0b01010, 0b00100, 0b01010, 0b10001, 0b10001]),
    ('Y', [0b10001, 0b10001, 0b01010, 0b00100, 0b00100, 0b00100, 0b00100]),
    ('Z', [0b11111, 0b00001, 0b00010, 0b00100, 0b01000, 0b10000, 0b11111]),
    ('0', [0b01110, 0b10011, 0b10011, 0b10101, 0b11001, 0b11001, 0b01110]),
    ('1', [0b00100, 0b01100, 0b10100, 0b00100, 0b00100, 0b00100, 0b11111]),
    ('2', [0b01110, 0b10001, 0b00001, 0b00110, 0b01000, 0b10000, 0b11111]),
    ('3', [0b11110, 0b00001, 0b00001, 0b01110, 0b00001, 0b00001, 0b11110]),
    ('4', [0b10010, 0b10010, 0b10010, 0b11111, 0b00010, 0b00010, 0b00010]),
    ('5', [0b11111, 0b10000, 0b10000, 0b11110, 0b00001, 0b00001, 0b11110]),
    ('6', [0b00110, 0b01000, 0b10000, 0b11110, 0b10001, 0b10001, 0b01110]),
    ('7', [0b11111, 0b00001, 0b00010, 0b00100, 0b00100, 0b01000, 0b01000]),
    ('8', [0b01110, 0b10001, 0b10001, 0b01110, 0b10001, 0b10001, 0b01110]),
    ('9', [0b01110, 0b10001, 0b10001, 0b01111, 0b00001, 0b00010, 0b01100]),
    ('.', [0b00000, 0b00000, 0b00000, 0b00000, 0b00000, 0b01100, 0b01100]),
    (',', [0b00000, 0b00000, 0b00000, 0b00000, 0b01100, 0b00100, 0b01000]),
    (':', [0b00000, 0b01100, 0b01100, 0b00000, 0b01100, 0b01100, 0b00000]),
    ('-', [0b00000, 0b00000, 0b00000, 0b11111, 0b00000, 0b00000, 0b00000]),
    ('+', [0b00000, 0b00100, 0b00100, 0b11111, 0b00100, 0b00100, 0b00000]),
    ('=', [0b00000, 0b00000, 0b11111, 0b00000, 0b11111, 0b00000, 0b00000]),
    ('/', [0b00001, 0b00001, 0b00010, 0b00100, 0b01000, 0b10000, 0b10000]),
    ('#', [0b01010, 0b01010, 0b11111, 0b01010, 0b11111, 0b01010, 0b01010]),
    ('(', [0b00010, 0b00100, 0b01000, 0b01000, 0b01000, 0b00100, 0b00010]),
    (')', [0b01000, 0b00100, 0b00010, 0b00010, 0b00010, 0b00100, 0b01000]),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_punched_can_be_read() {
        let all: String = FONT.iter().map(|(character, _)| *character).collect();
        for text in ["BELFRY 2 = CHIMES", all.trim(), ".", "(-)"] {
            let frames = columns(text).unwrap();
            let first = frames.iter().position(|&frame| frame != 0).unwrap();
            let last = frames.iter().rposition(|&frame| frame != 0).unwrap();
            assert_eq!(read(&frames[first..=last]).as_deref(), Some(text));
        }
    }

    #[test]
    fn a_capital_l_stands_upright_with_its_foot_in_track_2() {
        assert_eq!(columns("L").unwrap()[6..11], [0b1111_1110, 0b10, 0b10, 0b10, 0b10]);
    }

    #[test]
    fn no_two_glyphs_look_alike_and_what_is_missing_is_told() {
        for (index, (_, rows)) in FONT.iter().enumerate() {
            assert!(FONT[index + 1..].iter().all(|(_, other)| other != rows));
        }
        assert!(columns("é").unwrap_err().headline.contains('é'));
        assert!(columns(&"A".repeat(LONGEST + 1)).is_err());
    }
}
