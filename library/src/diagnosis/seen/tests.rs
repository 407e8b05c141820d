//! Sentences as they are typed, and what is read of them.

use super::{What, read};
use crate::notation::Notation;
use crate::source::{Diagnostics, Origin, SourceMap, to_brief_line};

fn told(sentence: &str, notation: Notation) -> Result<String, Vec<String>> {
    let mut sources = SourceMap::default();
    let text = sources.add("seen", sentence, Origin::Given);
    let mut diagnostics = Diagnostics::default();
    let seen = read(&sources, text, notation, &mut diagnostics);
    if diagnostics.is_empty() {
        return Ok(seen.iter().map(|one| format!("{:?}", one.what)).collect::<Vec<_>>().join(" "));
    }
    Err(diagnostics
        .sorted(&sources)
        .iter()
        .map(|one| {
            format!("{}; {}", to_brief_line(one, &sources), one.primary.as_ref().map_or("", |label| &label.text))
        })
        .collect())
}

#[test]
fn sentences() {
    let sentences = [
        "halted at 000157, data 002",
        "Halted at 157.",
        "it is halted",
        "running, address flickers 000014 to 000020, INP lit",
        "running; address 14 to 20; inp lit; WO flickers",
        "running and the address flickers",
        "running at 14 or 16 or 20",
        "address flickers 000014",
        "stopped at 000016, data 333",
        "the data lights flicker",
        "data 0x5B, address 0o157",
        "000030 holds 001, 000013 holds 000",
        "30Q holds 1",
        "lamp 7 of port 040 lit",
        "lamp 0 of port 040 is off, lamp 1 of port 040 flickers",
        "port 040 shows 201",
        "port 040 shows 201 or 000",
        "the tape ran out",
        "the tape one ran out",
        "tape \"one\" still runs",
        "the tape is running",
        "the terminal shows \"?\"",
        "the terminal shows nothing",
        "HLTA lit, OUT dark, WAIT on",
        "halted, , data 002",
        "the sheet agrees; listing monitor differs at 000144 with 021",
        "CHECK differs at 000003 331",
    ];
    let read: Vec<_> = sentences.iter().map(|sentence| (sentence, told(sentence, Notation::Octal))).collect();
    insta::assert_debug_snapshot!(read);
}

#[test]
fn the_notation_is_that_of_the_panel() {
    assert_eq!(told("halted at 000 157", Notation::SplitOctal), told("halted at 000157", Notation::Octal));
    assert_eq!(told("halted at 000:157", Notation::SplitOctal), told("halted at 000157", Notation::Octal));
    assert_eq!(
        told("halted at 006f, data AD", Notation::Hexadecimal),
        told("halted at 157, data 255", Notation::Octal)
    );
}

#[test]
fn mistakes() {
    let sentences = [
        "halted at 000189",
        "haltet at 000157",
        "halted at",
        "data 777",
        "address 1234567",
        "lamp 9 of port 040 lit",
        "lamp 7 of port 040",
        "INPUT lit",
        "the terminal shows ?",
        "the terminal shows \"?",
        "000030 hold 001",
        "it smokes",
        "halted data 002",
        "the tape ran",
        "adress 14, dta 2",
        "the sheet differs",
        "the listing differs at 000003 with 331",
    ];
    let read: Vec<_> = sentences.iter().map(|sentence| (sentence, told(sentence, Notation::Octal))).collect();
    insta::assert_debug_snapshot!(read);
}

#[test]
fn any_text_is_read_or_told() {
    proptest::proptest!(|(sentence in ".{0,60}", words in proptest::collection::vec(0..25_usize, 0..12))| {
        let known = ["halted", "at", "to", "or", ",", "and", "address", "data", "17", "9", "\"", "lamp", "of", "port", "shows",
            "tape", "ran", "out", "terminal", "holds", "flickers", "lit", "INP", "nothing", "é"];
        let drawn: Vec<_> = words.iter().map(|&word| known[word]).collect();
        for (_, notation) in Notation::ALL {
            let _ = told(&sentence, notation);
            let _ = told(&drawn.join(" "), notation);
        }
    });
}

#[test]
fn a_span_covers_its_words() {
    let mut sources = SourceMap::default();
    let text = sources.add("seen", "running, the data flickers", Origin::Given);
    let seen = read(&sources, text, Notation::Octal, &mut Diagnostics::default());
    assert_eq!(sources.text(seen[1].span), "data flickers");
    assert!(matches!(seen[1].what, What::Data(_)));
}
