//! Pieces of plain text that the sheets share: levers as characters, words broken into lines, times.

use super::levers::{Levers, opens_group};
use crate::notation::Notation;

/// Columns of a text page.
pub const COLUMNS: usize = 80;

/// A lever to be pushed up or down, and one that already stands there: the high signs are up, the low ones down.
pub const PUSH_UP: char = '^';
/// See [`PUSH_UP`].
pub const PUSH_DOWN: char = 'v';
/// See [`PUSH_UP`].
pub const IS_UP: char = '\'';
/// See [`PUSH_UP`].
pub const IS_DOWN: char = '.';

/// The levers from left to right, a blank between two and another between groups.
pub fn levers(levers: Levers, notation: Notation) -> String {
    let mut out = String::new();
    for lever in levers.each() {
        if !out.is_empty() {
            out.push_str(if opens_group(lever.number, notation) { "  " } else { " " });
        }
        out.push(match (lever.moved, lever.up) {
            (true, true) => PUSH_UP,
            (true, false) => PUSH_DOWN,
            (false, true) => IS_UP,
            (false, false) => IS_DOWN,
        });
    }
    out
}

/// Breaks `text` at blanks into lines that `fits` accepts; a word that does not fit alone is broken too.
pub fn wrap(text: &str, fits: impl Fn(&str) -> bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if fits(&format!("{line} {word}")) => {
                line.push(' ');
                line.push_str(word);
            }
            _ => break_word(word, &mut lines, &fits),
        }
    }
    lines
}

/// Adds a word as lines of its own: as many characters on each as fit, but at least one.
fn break_word(word: &str, lines: &mut Vec<String>, fits: &impl Fn(&str) -> bool) {
    let mut line = String::new();
    for c in word.chars() {
        line.push(c);
        if !fits(&line) && line.chars().count() > 1 {
            line.pop();
            lines.push(std::mem::replace(&mut line, c.to_string()));
        }
    }
    lines.push(line);
}

/// At most `width` characters of `text`; what was cut shows as `..`.
pub fn fit(text: &str, width: usize) -> String {
    if text.chars().count() <= width {
        return text.to_owned();
    }
    let kept: String = text.chars().take(width.saturating_sub(2)).collect();
    format!("{}{}", kept.trim_end(), &".."[..width.min(2)])
}

/// A time as a person says it.
pub fn duration(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as u64;
    match minutes {
        0 => format!("{} s", seconds.round() as u64),
        1..=119 => format!("{minutes} min"),
        _ => format!("{} h {:02} min", minutes / 60, minutes % 60),
    }
}

/// One text at the left end of a line, one at the right, which has its room first.
pub fn ends(left: &str, right: &str) -> String {
    let right = fit(right, COLUMNS);
    match COLUMNS.checked_sub(right.chars().count() + 1) {
        None | Some(0) => right,
        Some(width) => format!("{:<width$} {right}", fit(left, width)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::levers::Bank;
    use super::*;

    #[test]
    fn levers_read_as_high_and_low_signs() {
        let data = Levers { bank: Bank::Data, lowest: 0, count: 8, value: 0o303, moved: 0o011 };
        assert_eq!(levers(data, Notation::Octal), "' '  . . v  . ' ^");
        let address = Levers { bank: Bank::Address, lowest: 0, count: 16, value: 0o100000, moved: 0o100000 };
        assert_eq!(levers(address, Notation::Octal), "^  . . .  . . .  . . .  . . .  . . .");
        assert_eq!(levers(address, Notation::Hexadecimal), "^ . . .  . . . .  . . . .  . . . .");
    }

    #[test]
    fn words_wrap_and_long_ones_are_broken() {
        let lines = wrap("wait until the reader has a character", |line| line.len() <= 12);
        assert_eq!(lines, ["wait until", "the reader", "has a", "character"]);
        assert_eq!(wrap("a bellringers b", |line| line.len() <= 5), ["a", "bellr", "inger", "s b"]);
        assert_eq!(wrap("ab", |_| false), ["a", "b"]);
    }

    #[test]
    fn a_line_has_room_for_whatever_stands_at_its_ends() {
        assert_eq!(ends("bells", "page 1"), format!("{:<74}page 1", "bells"));
        for length in 0..100 {
            let right = "x".repeat(length);
            let line = ends("a tower with eight bells", &right);
            // With one column left there is nothing to put there.
            assert_eq!(line.chars().count(), if length == COLUMNS - 1 { length } else { COLUMNS }, "{line}");
            assert!(line.ends_with(&right) == (length <= COLUMNS), "{length}: {line}");
        }
        assert_eq!([fit("bells", 0), fit("bells", 1), fit("bells", 3)], ["", ".", "b.."]);
    }

    #[test]
    fn times_as_people_say_them() {
        assert_eq!([20.0, 90.0, 7199.0, 7300.0].map(duration), ["20 s", "2 min", "2 h 00 min", "2 h 02 min"]);
    }
}
