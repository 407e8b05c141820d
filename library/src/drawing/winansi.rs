//! Characters to the one-byte encoding PDF calls WinAnsi: Windows code page 1252.
//!
//! The assignments are those of PDF 32000-1:2008, annex D.2 (*Latin character set and encodings*).

/// What is printed for a character the standard fonts do not have.
pub const REPLACEMENT: char = '\u{bf}';

/// Characters of comments that the fonts lack, as a typewriter spells them.
const SPELT: [(char, &str); 10] = [
    ('\u{2190}', "<-"),
    ('\u{2192}', "->"),
    ('\u{2194}', "<->"),
    ('\u{21d2}', "=>"),
    ('\u{2212}', "-"),
    ('\u{2260}', "<>"),
    ('\u{2264}', "<="),
    ('\u{2265}', ">="),
    ('\u{3a9}', "ohm"),
    ('\u{3bc}', "\u{b5}"),
];

/// The codes of a character: its own, or those by which it is spelt.
pub fn codes(c: char) -> impl Iterator<Item = u8> {
    let spelt = SPELT.iter().find(|(character, _)| *character == c).map(|(_, spelt)| *spelt);
    let own = spelt.is_none().then(|| encode(c));
    spelt.unwrap_or_default().chars().map(encode).chain(own)
}

/// The code of `c`, or of [`REPLACEMENT`] if the encoding has none; never less than 32.
fn encode(c: char) -> u8 {
    match c {
        ' '..='~' | '\u{a0}'..='\u{ff}' => c as u32 as u8,
        _ => match UPPER.iter().find(|(character, _)| *character == c) {
            Some((_, code)) => *code,
            None => REPLACEMENT as u32 as u8,
        },
    }
}

/// The codes 0x80 to 0x9F that are assigned.
const UPPER: [(char, u8); 27] = [
    ('\u{20ac}', 0x80),
    ('\u{201a}', 0x82),
    ('\u{192}', 0x83),
    ('\u{201e}', 0x84),
    ('\u{2026}', 0x85),
    ('\u{2020}', 0x86),
    ('\u{2021}', 0x87),
    ('\u{2c6}', 0x88),
    ('\u{2030}', 0x89),
    ('\u{160}', 0x8a),
    ('\u{2039}', 0x8b),
    ('\u{152}', 0x8c),
    ('\u{17d}', 0x8e),
    ('\u{2018}', 0x91),
    ('\u{2019}', 0x92),
    ('\u{201c}', 0x93),
    ('\u{201d}', 0x94),
    ('\u{2022}', 0x95),
    ('\u{2013}', 0x96),
    ('\u{2014}', 0x97),
    ('\u{2dc}', 0x98),
    ('\u{2122}', 0x99),
    ('\u{161}', 0x9a),
    ('\u{203a}', 0x9b),
    ('\u{153}', 0x9c),
    ('\u{17e}', 0x9e),
    ('\u{178}', 0x9f),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_fonts_lack_is_visible() {
        for c in ['\u{2588}', '\n', '\0', '\u{7f}', '\u{81}', '\u{1f514}'] {
            assert_eq!(encode(c), 0xbf, "{c:?}");
        }
    }

    #[test]
    fn what_a_typewriter_can_spell_is_spelt() {
        let spelt: Vec<u8> = "a\u{2192}b \u{2264}\u{3bc}\u{1f514}".chars().flat_map(codes).collect();
        assert_eq!(spelt, [b"a->b <=\xb5".as_slice(), b"\xbf"].concat());
        assert!(SPELT.iter().all(|(c, _)| encode(*c) == REPLACEMENT as u32 as u8), "none that the fonts have");
    }

    #[test]
    fn every_code_has_one_character() {
        let mut seen = std::collections::HashSet::new();
        let characters = (' '..='~').chain('\u{a0}'..='\u{ff}').chain(UPPER.iter().map(|(c, _)| *c));
        for c in characters.filter(|c| *c != REPLACEMENT) {
            assert!(seen.insert(encode(c)), "{c:?}");
        }
    }
}
