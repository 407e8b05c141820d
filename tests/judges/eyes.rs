//! Printed pages read back as a copier would have them: digits by an OCR program, levers and lamps by their ink.

use std::process::Command;

use crate::scan::{Scan, Word, scan};
use coldwright::drawing::pdf;
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::sheet::Sheet;
use coldwright::panel::{Panel, Paper, Program};
use coldwright::source::{Origin, Position, SourceMap};

/// Points of a millimetre.
const MM: f64 = 72.0 / 25.4;

/// Bytes from a generator (multiplicative hashing), so that every digit and every lever occurs.
fn program(base: Address, bytes: &[u8]) -> Program {
    let mut sources = SourceMap::default();
    let source = sources.add("test", "", Origin::Given);
    let mut image = Image::default();
    image.insert(base, bytes, Position { source, offset: 0 }).unwrap();
    Program::from_bytes("test", image, Notation::Octal)
}

fn is_octal(word: &Word, digits: usize) -> bool {
    word.text.len() == digits && word.text.bytes().all(|digit| matches!(digit, b'0'..=b'7'))
}

/// Columns whose head is the number of a switch or lamp, above the first row, from the left.
fn heads(scan: &Scan) -> Vec<(u32, f64)> {
    let ends = |word: &&Word| word.text == "15";
    let line = scan.words.iter().find(ends).unwrap().middle().1;
    let here = scan.words.iter().filter(|word| (word.middle().1 - line).abs() < 1.0);
    let mut heads: Vec<(u32, f64)> = here.filter_map(|word| Some((word.text.parse().ok()?, word.middle().0))).collect();
    heads.sort_by(|one, other| one.1.total_cmp(&other.1));
    heads
}

/// At least 99 of 100 octal digits are read, and every lever stands as the byte beside it says.
#[test]
fn a_scanned_deposit_sheet_is_read_back() {
    let bytes: Vec<u8> = (0..150u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 21) as u8).collect();
    let program = program(Address(0o013370), &bytes);
    let folder = tempfile::tempdir().unwrap();
    for (_, paper) in Paper::ALL {
        let sheet = Sheet::new(&program, &Panel::default(), None, 0).unwrap();
        std::fs::write(folder.path().join("s.pdf"), pdf::write(&sheet.draw(paper))).unwrap();
        let Some(pages) = scan(folder.path(), "s.pdf") else { return };
        let (mut printed, mut read, mut levers) = (String::new(), String::new(), 0);
        for page in &pages {
            let begin = page.words.iter().filter(|word| is_octal(word, 6)).map(|word| word.x.start);
            let left = begin.fold(f64::MAX, f64::min);
            let addresses: Vec<_> =
                page.words.iter().filter(|word| is_octal(word, 6) && word.x.start < left + 1.0).collect();
            let heads = heads(page);
            let levers_begin = heads.iter().find(|(number, _)| *number == 7).unwrap().1;
            let bytes: Vec<_> = page
                .words
                .iter()
                .filter(|word| is_octal(word, 3) && (0.0..6.0 * MM).contains(&(levers_begin - word.x.end)))
                .collect();
            let near = |word: &&&Word, address: &Word| (word.middle().1 - address.middle().1).abs() < 2.0;
            let beside = |address: &Word| bytes.iter().find(|word| near(word, address)).copied();
            let rows: Vec<(&Word, &Word)> =
                addresses.iter().filter_map(|address| Some((*address, beside(address)?))).collect();
            let bands: Vec<_> = rows.iter().map(|(_, byte)| byte.y.start..byte.y.end).collect();
            let (address, byte) = rows[0];
            for (column, word) in [(&address.x, 0), (&byte.x, 1)] {
                let column = column.start - 1.2 * MM..column.end + 1.2 * MM;
                let Some(text) = page.octal(folder.path(), &column, &bands) else { return };
                read.extend(text.chars().filter(char::is_ascii_digit));
                rows.iter().for_each(|row| printed += &[row.0, row.1][word].text);
            }
            for (_, byte) in &rows {
                let value = u32::from_str_radix(&byte.text, 8).unwrap();
                let line = byte.middle().1 - 0.4 * MM;
                for &(number, x) in heads.iter().filter(|(number, _)| *number < 8) {
                    let side =
                        |from: f64, to: f64| page.ink(x - 1.5 * MM..x + 1.5 * MM, line + from * MM..line + to * MM);
                    let (above, below) = (side(-2.6, -0.5), side(0.5, 2.6));
                    assert_eq!(
                        above > below,
                        value >> number & 1 == 1,
                        "{}, lever {number}: {above} {below}",
                        byte.text
                    );
                    levers += 1;
                }
            }
        }
        assert_eq!(levers, 8 * bytes.len());
        let wrong = distance(&printed, &read);
        println!("{paper:?}: {wrong} of {} digits read wrongly", printed.len());
        assert!(wrong * 100 <= printed.len(), "{paper:?}: {wrong} of {}:\n{printed}\n{read}", printed.len());
    }
}

/// Every lamp of a read stands as the words beside it say.
#[test]
fn the_lamps_of_a_scanned_lights_sheet_are_found() {
    // Loads of a byte into each register, one after the other: every cycle is a read.
    let noise = (0..40u32).map(|at| (at.wrapping_mul(2_246_822_519) >> 19) as u8);
    let bytes: Vec<u8> =
        (0..40).map(|at| [0o006, 0o016, 0o026, 0o036][at % 4]).zip(noise).flat_map(<[u8; 2]>::from).collect();
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("l.bin"), bytes).unwrap();
    for paper in ["a4", "letter"] {
        let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
        command.args(["lights", "l.bin", "--origin", "52600Q", "--cycles", "70", "--paper", paper, "-o", "l.pdf"]);
        assert!(command.current_dir(folder.path()).status().unwrap().success());
        let Some(pages) = scan(folder.path(), "l.pdf") else { return };
        let mut seen = 0;
        for page in &pages {
            let heads = heads(page);
            for (at, _) in page.words.iter().enumerate().filter(|(_, word)| word.text == "reads") {
                let [data, _, address] = [1, 2, 3].map(|on| &page.words[at + on]);
                let number = |word: &Word| u32::from_str_radix(&word.text, 8).unwrap();
                let line = data.middle().1;
                for (bank, value) in [(&heads[..16], number(address)), (&heads[16..24], number(data))] {
                    for &(number, x) in bank {
                        let reach = 0.45 * MM;
                        let lit = page.ink(x - reach..x + reach, line - reach..line + reach) > 0.5;
                        assert_eq!(lit, value >> number & 1 == 1, "{} {}, lamp {number}", data.text, address.text);
                        seen += 1;
                    }
                }
            }
        }
        assert!(seen >= 24 * 60, "{seen} lamps");
    }
}

/// The fewest digits to change, add or leave out.
fn distance(one: &str, other: &str) -> usize {
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (at, digit) in one.bytes().enumerate() {
        let mut diagonal = std::mem::replace(&mut row[0], at + 1);
        for (to, found) in other.bytes().enumerate() {
            let changed = diagonal + usize::from(digit != found);
            diagonal = row[to + 1];
            row[to + 1] = changed.min(diagonal + 1).min(row[to] + 1);
        }
    }
    row[other.len()]
}
