//! One layout for sources: labels in the first column, operations, operands and comments each in a column of their own.
//!
//! A line is laid out only if it is the same statement afterwards: the same tokens in the same order, the same label,
//! operation and operands, whichever of its words are macros. Every other line stays as it is.

mod line;
mod same;

use std::borrow::Cow;

use line::laid_out;
use same::Reader;

/// A source in the layout. Every line ends as the first one does, blank lines at the end are dropped, and what follows a
/// control-Z stays as it is, and so does a text whose lines end with carriage returns alone.
///
/// ```
/// use coldwright::formatting::format;
/// assert_eq!(format("loop: dcr b;again\n jnz  loop"), "loop:   dcr     b               ;again\n        jnz     loop\n");
/// ```
pub fn format(text: &str) -> String {
    if text.contains('\r') && !text.contains('\n') {
        return text.to_owned();
    }
    let first = text.split_inclusive('\n').next().unwrap_or_default();
    let line_end = if first.ends_with("\r\n") { "\r\n" } else { "\n" };
    let mut reader = Reader::default();
    let (mut out, mut blank, mut read) = (String::with_capacity(text.len() + text.len() / 4), 0, 0);
    for line in text.split_inclusive('\n') {
        let bare = line.strip_suffix('\n').map_or(line, |line| line.strip_suffix('\r').unwrap_or(line));
        if reader.ends_text(bare) {
            return out + &line_end.repeat(blank) + &text[read..];
        }
        read += line.len();
        let new = laid_out(bare, &mut reader).map_or(Cow::Borrowed(bare), Cow::Owned);
        if new.is_empty() {
            blank += 1;
            continue;
        }
        out += &line_end.repeat(std::mem::take(&mut blank));
        out += &new;
        out += line_end;
    }
    out
}
