//! Phrases that every report of this floor uses.

use crate::notation::counted;

/// `1 byte`, `12 bytes`.
pub fn bytes(count: usize) -> String {
    counted(count, "byte")
}

/// `1 byte lies`, `12 bytes lie`.
pub fn lie(count: usize) -> String {
    format!("{} {}", bytes(count), if count == 1 { "lies" } else { "lie" })
}

/// A paragraph as an item of a list, broken at blanks to lines of up to 78 characters.
pub fn item(paragraph: &str) -> String {
    let mut out = String::from("-");
    let mut column = out.len();
    for word in paragraph.split(' ') {
        if column + 1 + word.len() > 78 {
            out.push_str("\n ");
            column = 1;
        }
        out.push(' ');
        out.push_str(word);
        column += 1 + word.len();
    }
    out.push('\n');
    out
}
