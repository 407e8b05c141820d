//! Lines for people, no wider than a terminal.

use std::fmt::Write;

/// Columns of a line.
const COLUMNS: usize = 110;

/// A line, broken at blanks, with an indentation from the second on.
pub fn wrapped(out: &mut String, text: &str, indent: usize) {
    let start = text.len() - text.trim_start().len();
    let mut line = text[..start].to_owned();
    let mut is_empty = true;
    for word in text.split_whitespace() {
        if !is_empty && line.chars().count() + 1 + word.chars().count() > COLUMNS {
            let _ = writeln!(out, "{line}");
            (line, is_empty) = (" ".repeat(indent), true);
        }
        if !is_empty {
            line.push(' ');
        }
        line += word;
        is_empty = false;
    }
    let _ = writeln!(out, "{line}");
}
