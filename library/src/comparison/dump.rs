//! Memory as a monitor showed it on a terminal: rows of an address and bytes, in any usual layout.

use std::collections::BTreeMap;

use crate::image::{Image, Reading};
use crate::notation::{Address, Notation, counted};
use crate::source::{Code, Diagnostic, SourceId, Span};

/// A row of a dump.
#[derive(Clone, Debug)]
struct Row {
    address: u16,
    bytes: Vec<u8>,
    span: Span,
    /// Whether its address has four octal digits, and could be a hexadecimal one.
    short: bool,
}

/// The most bytes of a row: more is text that happens to look like bytes.
const WIDEST: usize = 64;

/// Reads a capture of a terminal. What was taken for what stands among the facts.
pub fn read_dump(text: &str, source: SourceId) -> Reading {
    let mut reading = Reading::default();
    // Of equals the first: the order is that of the notations.
    let read = Notation::ALL.map(|(word, notation)| (word, rows(text, source, notation)));
    let best = read.into_iter().reduce(|best, other| if fits(&other.1) > fits(&best.1) { other } else { best });
    let Some((word, mut found)) = best.filter(|(_, found)| !found.is_empty()) else {
        let headline = "no row of an address and bytes was found";
        let problem = Diagnostic::error(Code::DumpUnreadable, headline)
            .with_note("a row is `176000 303 000`, `374 000: 303 000` or `FC00 C3 00`, with anything before or behind");
        reading.problems.push(problem.with_help("is it a capture of a terminal on which memory was shown?"));
        return reading;
    };
    cut(&mut found);
    let lines = text.lines().filter(|line| !line.trim().is_empty()).count();
    let usual = usual(&found);
    let short = found.iter().any(|row| row.short);
    reading.facts.push(("notation", if short { format!("{word}, addresses of 4 digits") } else { word.to_owned() }));
    reading.facts.push(("rows", format!("{} of up to {}", found.len(), counted(usual, "byte"))));
    if lines > found.len() {
        reading.facts.push(("passed over", counted(lines - found.len(), "line")));
    }
    put(&found, &mut reading);
    reading
}

/// Puts rows into an image. Where a row says again what another said, it must say the same.
fn put(found: &[Row], reading: &mut Reading) {
    let mut image = Image::default();
    let mut known: BTreeMap<u16, Span> = BTreeMap::new();
    for row in found {
        for (offset, byte) in row.bytes.iter().enumerate() {
            let Some(at) = row.address.checked_add(offset as u16) else { break };
            match image.byte(Address(at)) {
                Some(other) if other != *byte => {
                    let headline = format!("the dump gives two bytes for {}", crate::notation::Both(Address(at)));
                    let mut problem = Diagnostic::error(Code::DumpUnreadable, headline).at(row.span, "this row");
                    if let Some(span) = known.get(&at) {
                        problem = problem.and_at(*span, "and this one");
                    }
                    reading.problems.push(problem.with_help("take one of the two out, or compare each dump by itself"));
                    break;
                }
                Some(_) => {}
                // The address is free.
                None => _ = image.insert(Address(at), &[*byte], row.span.position()),
            }
            known.entry(at).or_insert(row.span);
        }
    }
    reading.image = image;
}

/// How many rows are followed by one that begins where they end. Addresses of four octal digits are hexadecimal ones if that
/// fits as well.
fn fits(rows: &[Row]) -> usize {
    // Behind the bytes there may be characters that look like some; that there are none is likelier.
    let follows = |pair: &[Row]| {
        let step = usize::from(pair[1].address.wrapping_sub(pair[0].address));
        match pair[0].bytes.len() {
            bytes if step == bytes => 5,
            bytes if step > 0 && step < bytes => 4,
            _ => 0,
        }
    };
    let sure = usize::from(rows.iter().all(|row| !row.short));
    (rows.windows(2).map(follows).sum::<usize>() + rows.len()) * 2 + sure
}

/// Cuts from each row what is no byte: characters beside it that look like some.
fn cut(rows: &mut [Row]) {
    for at in 0..rows.len() {
        let step = rows.get(at + 1).map(|next| usize::from(next.address.wrapping_sub(rows[at].address)));
        if let Some(step) = step.filter(|step| *step > 0 && *step <= rows[at].bytes.len()) {
            rows[at].bytes.truncate(step);
        }
    }
    let most = usual(rows);
    let (before, last) = rows.split_at_mut(rows.len().saturating_sub(1));
    if let (Some(last), false) = (last.first_mut(), before.is_empty()) {
        last.bytes.truncate(most.max(1));
    }
}

/// How many bytes most rows but the last have.
fn usual(rows: &[Row]) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for row in &rows[..rows.len().saturating_sub(1).max(1).min(rows.len())] {
        *counts.entry(row.bytes.len()).or_default() += 1;
    }
    counts.into_iter().max_by_key(|(_, count)| *count).map_or(0, |(length, _)| length)
}

fn rows(text: &str, source: SourceId, notation: Notation) -> Vec<Row> {
    let mut found = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive(['\n', '\r']) {
        let shown = line.trim_end();
        let span = Span { source, start: start as u32, end: (start + shown.len()) as u32 };
        if let Some((address, bytes, short)) = row(shown, notation) {
            found.push(Row { address, bytes, span, short });
        }
        start += line.len();
    }
    found
}

/// The address and the bytes of a line, and whether the address has four octal digits. A prompt or a word may stand before
/// them, but before the two halves of an address no number that could be one by itself.
fn row(line: &str, notation: Notation) -> Option<(u16, Vec<u8>, bool)> {
    let words: Vec<&str> =
        line.split(|letter: char| !letter.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let is_number = |word: &&str| word.len() >= 4 && word.bytes().all(|digit| matches!(digit, b'0'..=b'7'));
    let most = match notation.has_halves() {
        true => words.iter().position(is_number).map_or(words.len(), |at| at + 1),
        false => words.len(),
    };
    (0..most.min(3)).find_map(|first| {
        let (address, used) = notation.read_address(&words[first..])?;
        let mut bytes = Vec::new();
        for word in &words[first + used..] {
            match notation.read_bytes(word) {
                Some(more) if bytes.len() + more.len() <= WIDEST => bytes.extend(more),
                _ => break,
            }
        }
        let short = notation.is_doubtful(words[first]);
        (!bytes.is_empty()).then_some((address, bytes, short))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::{Origin, SourceMap};

    fn read(text: &str) -> (Vec<(u16, Vec<u8>)>, String) {
        let mut sources = SourceMap::default();
        let id = sources.add("capture", text, Origin::Given);
        let reading = read_dump(text, id);
        let extents = reading.image.extents().map(|extent| (extent.base.0, extent.bytes.to_vec())).collect();
        (extents, reading.facts.first().map(|(_, word)| word.clone()).unwrap_or_default())
    }

    #[test]
    fn one_stretch_in_many_layouts() {
        let layouts = [
            ("176000 303 000 376 001\n176004 002 003 004 005\n", "octal"),
            ("> D 176000\r\n176000: 303 000 376 001  C...\r\n176004: 002 003 004 005  ....\r\n>", "octal"),
            ("374 000: 303 000 376 001\n374 004: 002 003 004 005\n", "split"),
            ("374.000 303 000 376 001\n374.004 002 003 004 005", "split"),
            ("374000/303 000 376 001\n374004/002 003 004 005", "split"),
            ("FC00: C3 00 FE 01 |....|\nFC04: 02 03 04 05 |ab cd|\n", "hex"),
            ("fc00 c300fe01\nfc04 02030405\n", "hex"),
            ("0FC00H  C3,00,FE,01\n0FC04H  02,03,04,05\n", "hex"),
            (".FC00-C3 00-FE 01 AB CD\n.FC04-02 03-04 05 EF 01\n", "hex"),
        ];
        for (text, word) in layouts {
            let wanted = vec![(0xFC00, vec![0o303, 0, 0o376, 1, 2, 3, 4, 5])];
            assert_eq!(read(text), (wanted, word.to_owned()), "{text}");
        }
    }

    #[test]
    fn addresses_of_four_octal_digits_are_told_from_halves_and_from_hexadecimal_ones() {
        let octal = "octal, addresses of 4 digits";
        let wanted = |base: u16, bytes: &[u8]| vec![(base, bytes.to_vec())];
        let eight = [1, 2, 3, 4, 5, 6, 7, 0];
        let text = "0400 001 002 003 004\n0404 005 006 007 000\n";
        assert_eq!(read(text), (wanted(0o400, &eight), octal.to_owned()));
        assert_eq!(read("0400 001 002\n"), (wanted(0o400, &[1, 2]), octal.to_owned()));
        // Six digits are three bytes or two: the next row tells.
        assert_eq!(read("0400 123456\n0403 001122\n").0, wanted(0x400, &[0x12, 0x34, 0x56, 0, 0x11, 0x22]));
        assert_eq!(read("0400 123156\n0402 001122\n"), (wanted(0o400, &[0o123, 0o156, 1, 0o122]), octal.to_owned()));
        // By itself a row is what it could be before.
        assert_eq!(read("0400 123156\n").1, "hex");
    }

    #[test]
    fn single_cells_and_gaps_are_taken() {
        let (extents, _) = read("000400 001\n000401 002\n001000 003\n");
        assert_eq!(extents, [(0o400, vec![1, 2]), (0o1000, vec![3])]);
    }

    #[test]
    fn what_is_no_dump_is_refused() {
        let mut sources = SourceMap::default();
        for text in ["", "HELLO WORLD\n", "1 2 3\n", "\u{e9}\u{e9} 17 \u{1F514}"] {
            let id = sources.add("capture", text, Origin::Given);
            assert!(read_dump(text, id).problems.has_errors(), "{text}");
        }
    }
}
