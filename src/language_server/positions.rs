//! Places as the protocol counts them: lines from 0, and in a line the code units of UTF-16.
//!
//! Source: Language Server Protocol 3.17, text documents: a line ends with LF, CR LF or CR; a place past the end of a line is
//! its end.

use lsp_types::{Position, Range};

/// Where the lines of a text begin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lines(Vec<u32>);

impl Lines {
    /// The lines of a text.
    pub fn of(text: &str) -> Lines {
        let bytes = text.as_bytes();
        let ends = bytes
            .iter()
            .enumerate()
            .filter(|&(at, &byte)| byte == b'\n' || byte == b'\r' && bytes.get(at + 1) != Some(&b'\n'));
        Lines(std::iter::once(0).chain(ends.map(|(at, _)| at as u32 + 1)).collect())
    }

    /// The place of an offset of the text; one inside a character counts as where that begins.
    pub fn position(&self, text: &str, offset: usize) -> Position {
        let mut offset = offset.min(text.len());
        while !text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.0.partition_point(|&start| start as usize <= offset) - 1;
        let before = &text[self.0[line] as usize..offset];
        Position { line: line as u32, character: before.chars().map(char::len_utf16).sum::<usize>() as u32 }
    }

    /// The offset of a place in the text.
    pub fn offset(&self, text: &str, position: Position) -> usize {
        let Some(&start) = self.0.get(position.line as usize) else { return text.len() };
        let end = self.0.get(position.line as usize + 1).map_or(text.len(), |&next| next as usize);
        let line = &text[start as usize..end];
        let line = line.trim_end_matches(['\n', '\r']);
        let mut units = 0;
        for (at, letter) in line.char_indices() {
            units += letter.len_utf16() as u32;
            if units > position.character {
                return start as usize + at;
            }
        }
        start as usize + line.len()
    }

    /// A stretch of the text.
    pub fn range(&self, text: &str, start: usize, end: usize) -> Range {
        Range { start: self.position(text, start), end: self.position(text, end) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_count_code_units_of_utf_16() {
        let text = "a\u{1F514}é\r\nb\rc\n";
        let lines = Lines::of(text);
        let at = |line, character| lines.offset(text, Position { line, character });
        assert_eq!([at(0, 0), at(0, 1), at(0, 2), at(0, 3), at(0, 4), at(0, 99)], [0, 1, 1, 5, 7, 7]);
        assert_eq!([at(1, 0), at(2, 0), at(3, 0), at(9, 0)], [9, 11, 13, 13]);
        for offset in [0, 1, 5, 7, 9, 11, 12, 13] {
            let position = lines.position(text, offset);
            assert_eq!(lines.offset(text, position), offset, "{position:?}");
        }
    }
}
