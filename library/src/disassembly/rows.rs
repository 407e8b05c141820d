//! What is no instruction, in rows: texts as texts, addresses as labels, and bytes beside the characters that they are.

use super::hints::Kind;
use super::labels::{Labels, Reference, Sight};
use super::marks::Mark;
use super::text;

/// Equal bytes that are written as one.
const FILL: usize = 16;

/// Equal bytes up to a fixed address: so many of them, or up to the end of the bytes.
const FILL_UP: usize = 64;

/// Bytes in a row.
const BYTES: usize = 8;

/// Words in a row.
const WORDS: usize = 4;

/// Characters of a row of text, quotes and commas included.
const WIDE: usize = 56;

/// Bytes that a row may look ahead: more than any row has.
const FARTHEST: usize = 128;

/// A row: what it says, and how many bytes it makes.
pub struct Row {
    /// The directive.
    pub operation: &'static str,
    /// Its operands.
    pub operands: String,
    /// A comment, or nothing.
    pub comment: String,
    /// Bytes.
    pub length: usize,
}

/// The row that begins at an address and ends before `end`.
pub fn row(sight: &Sight, labels: &Labels, at: usize, end: usize) -> Row {
    let mark = sight.found.marks.at(at);
    let alike = |other: &usize| sight.found.marks.at(*other) == mark && sight.bytes.has(*other);
    let same = (at..end.min(at + FARTHEST)).take_while(alike).count().max(1);
    let first = sight.bytes.get(at).unwrap_or_default();
    let equal = (at..end).take_while(|other| alike(other) && sight.bytes.get(*other) == Some(first)).count();
    if equal >= FILL {
        let (fill, up_to) = (sight.notation.constant(first.into()), at + equal);
        let fixed = sight.found.places.moved().is_empty() && (equal >= FILL_UP || !sight.bytes.has(up_to));
        let (operation, operands) = match fixed {
            // What stands before may grow or shrink, and what follows stays where it is.
            true => ("STUFFTO", format!("{},{fill}", sight.notation.constant(up_to as u16))),
            false => ("STUFF", format!("{equal},{fill}")),
        };
        return Row { operation, operands, comment: String::new(), length: equal };
    }
    match mark {
        Mark::Plain(Kind::Text) => characters(sight, at, at + same),
        Mark::Plain(Kind::Addresses) if same >= 2 && !sight.found.marks.is_second(at) => {
            words(sight, at, same, &|at, word| address(sight, labels, at, word))
        }
        Mark::Plain(Kind::Words) if same >= 2 && !sight.found.marks.is_second(at) => {
            words(sight, at, same, &|_, word| sight.notation.constant(word))
        }
        _ => bytes(sight, at, same),
    }
}

/// What an address is called where it is meant.
pub fn address(sight: &Sight, labels: &Labels, from: usize, value: u16) -> String {
    let behind = |name: &str, count: usize| match count {
        0 => name.to_owned(),
        _ => format!("{name}+{}", sight.notation.constant(count as u16)),
    };
    let name = match sight.reference(from, value) {
        Reference::Label(at, count) => labels.at(at).map(|name| behind(name, count)),
        Reference::Lying(start, count) => labels.lying(start).map(|name| behind(name, count)),
        Reference::Outside(address) => labels.outside(address).map(str::to_owned),
    };
    name.unwrap_or_else(|| sight.notation.constant(value))
}

fn words(sight: &Sight, at: usize, same: usize, shown: &dyn Fn(usize, u16) -> String) -> Row {
    // Where one list follows another, a word may be cut short.
    let whole = (0..same / 2).take_while(|number| sight.found.marks.is_second(at + 2 * number + 1));
    let count = whole.count().min(WORDS);
    if count == 0 {
        return bytes(sight, at, 1);
    }
    let words = (0..count).filter_map(|number| Some(shown(at + 2 * number, sight.bytes.word(at + 2 * number)?)));
    Row { operation: "DW", operands: words.collect::<Vec<_>>().join(","), comment: String::new(), length: 2 * count }
}

fn bytes(sight: &Sight, at: usize, same: usize) -> Row {
    let mut count = same.min(BYTES);
    // A fill begins a row of its own.
    let all: Vec<u8> = (at..at + same.min(BYTES + FILL)).filter_map(|at| sight.bytes.get(at)).collect();
    if let Some(fill) = (1..count)
        .find(|from| all.len() >= from + FILL && all[*from..from + FILL].iter().all(|byte| *byte == all[*from]))
    {
        count = fill;
    }
    let all = &all[..count];
    let operands: Vec<_> = all.iter().map(|byte| sight.notation.constant((*byte).into())).collect();
    let shows = all.iter().any(|byte| byte.is_ascii_alphanumeric());
    let shown: String = all.iter().map(|byte| if text::prints(*byte) { char::from(*byte) } else { '.' }).collect();
    let comment = if shows { format!("|{shown}|") } else { String::new() };
    Row { operation: "DB", operands: operands.join(","), comment, length: count }
}

/// Characters in quotes, what does not print as a number, and a last character whose high bit is set as a sum.
fn characters(sight: &Sight, at: usize, end: usize) -> Row {
    let (mut items, mut quoted, mut length) = (Vec::<String>::new(), String::new(), 0);
    let mut wide = 0;
    for at in at..end {
        let byte = sight.bytes.get(at).unwrap_or_default();
        if text::prints(byte) {
            let letter = char::from(byte);
            quoted.extend(std::iter::repeat_n(letter, if letter == '\'' { 2 } else { 1 }));
            wide += 1;
        } else {
            close(&mut items, &mut quoted);
            let high = byte >= 0x80 && text::prints(byte & 0x7F) && byte & 0x7F != b'\'';
            items.push(match high {
                true => format!("'{}'+{}", char::from(byte & 0x7F), sight.notation.constant(0x80)),
                false => sight.notation.constant(byte.into()),
            });
            wide += items.last().map_or(0, String::len) + 3;
        }
        length += 1;
        // A line end of the text ends the row, and so does its end.
        let next = sight.bytes.get(at + 1);
        let ends = byte == 0 || byte >= 0x80 || byte == 10 && next != Some(0) && next != Some(13);
        if ends || wide >= WIDE {
            break;
        }
    }
    close(&mut items, &mut quoted);
    Row { operation: "DB", operands: items.join(","), comment: String::new(), length }
}

fn close(items: &mut Vec<String>, quoted: &mut String) {
    if !quoted.is_empty() {
        items.push(format!("'{}'", std::mem::take(quoted)));
    }
}
