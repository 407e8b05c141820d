//! `pdftotext` (Poppler) reads the deposit sheet's rows back from its PDF.

use crate::tool;
use coldwright::drawing::pdf;
use coldwright::image::Image;
use coldwright::notation::{Address, Notation};
use coldwright::panel::sheet::Sheet;
use coldwright::panel::{Panel, Paper, Program};
use coldwright::source::{Origin, Position, SourceMap};

#[test]
fn the_image_is_read_back_from_the_pdf() {
    let mut sources = SourceMap::default();
    let source = sources.add("test", "", Origin::Given);
    let mut image = Image::default();
    let noise: Vec<u8> = (0..300u32).map(|at| (at.wrapping_mul(2_654_435_761) >> 24) as u8).collect();
    let mut expected = Vec::new();
    for (base, range) in [(0o000000, 0..28), (0o037770, 28..100), (0o177000, 100..300)] {
        image.insert(Address(base), &noise[range.clone()], Position { source, offset: 0 }).unwrap();
        expected.extend(noise[range].iter().enumerate().map(|(at, byte)| (base + at as u16, *byte)));
    }
    for (_, notation) in Notation::ALL {
        for (_, paper) in Paper::ALL {
            let program = Program::from_bytes("test", image.clone(), notation);
            let panel = Panel { notation, ..Panel::default() };
            let sheet = Sheet::new(&program, &panel, None, 0).unwrap();
            let directory = tempfile::tempdir().unwrap();
            std::fs::write(directory.path().join("s.pdf"), pdf::write(&sheet.draw(paper))).unwrap();
            let Some(text) = tool::run("pdftotext", &["-layout", "s.pdf", "-"], directory.path()) else { return };
            let found: Vec<_> = text.lines().filter_map(|line| row(line, notation)).collect();
            assert_eq!(found, expected, "{notation:?} {paper:?}");
            let pages = text.matches("page 1 of ").count();
            assert!(pages >= 2, "head and foot number the page: {text}");
        }
    }
}

/// Address and byte of a row: the address comes first, the byte before the key.
fn row(line: &str, notation: Notation) -> Option<(u16, u8)> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let key = words.iter().position(|word| *word == "DEPOSIT")?;
    let radix = if notation == Notation::Hexadecimal { 16 } else { 8 };
    let number = |word: &str| u16::from_str_radix(word, radix).ok();
    let address = match notation {
        Notation::SplitOctal => number(words[0])? << 8 | number(words[1])?,
        _ => number(words[0])?,
    };
    Some((address, u8::try_from(number(words[key - 1])?).ok()?))
}
