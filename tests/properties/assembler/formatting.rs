//! The layout changes columns and nothing else.

use std::fs;
use std::path::{Path, PathBuf};

use coldwright::assembler::Assembly;
use coldwright::formatting::format;
use coldwright::syntax::{Names, TokenKind, lex};
use proptest::prelude::*;

use super::assembled;
use super::whole::{program, random};

/// What stands in a text besides blanks; of a comment its end does not count.
fn tokens(text: &str) -> Vec<(TokenKind, String)> {
    let mut names = Names::default();
    let tokens = lex(text, &mut names).filter(|token| token.kind != TokenKind::Blank);
    let mut tokens: Vec<_> = tokens.map(|token| (token.kind, token.text(text).trim_end().to_owned())).collect();
    // Blank lines at the end are dropped, and the last line gets its end.
    while tokens.last().is_some_and(|(kind, _)| *kind == TokenKind::LineEnd) {
        tokens.pop();
    }
    tokens
}

/// What a source makes, or what is said of it.
fn made(text: &str) -> String {
    let (_, assembly) = assembled(text);
    let Assembly { image, diagnostics, .. } = assembly;
    let extents: Vec<_> = image.extents().map(|extent| (extent.base, extent.bytes.to_vec())).collect();
    let told: Vec<_> = diagnostics.iter().map(|problem| problem.headline.clone()).collect();
    format!("{extents:?} {:?} {told:?}", image.entry)
}

fn sources() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    let mut folders = vec![root.join("stdlib"), root.join("examples"), root.join("tests/cases")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()) {
            if entry.is_dir() {
                folders.push(entry);
            } else if entry.extension().is_some_and(|extension| extension == "asm") {
                found.push(entry);
            }
        }
    }
    found
}

#[test]
fn what_comes_with_the_program_is_in_the_layout() {
    let ours = sources().into_iter().filter(|path| !path.components().any(|part| part.as_os_str() == "tests"));
    for path in ours {
        let text = fs::read_to_string(&path).unwrap();
        assert_eq!(format(&text), text, "{}", path.display());
    }
}

#[test]
fn every_source_keeps_its_meaning() {
    let mut changed = 0;
    for path in sources() {
        let Ok(text) = fs::read_to_string(&path) else { continue };
        let laid = format(&text);
        assert_eq!(format(&laid), laid, "{}", path.display());
        assert_eq!(tokens(&laid), tokens(&text), "{}", path.display());
        assert_eq!(made(&laid), made(&text), "{}", path.display());
        changed += usize::from(laid != text);
    }
    assert!(changed > 50, "only {changed} sources were not in the layout");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    #[test]
    fn a_program_keeps_its_bytes(seed in any::<u64>(), size in 1usize..30, blanks in "[ \t]{1,9}") {
        let text = program::text(&random::program(seed, size), seed);
        // Where one tab stands between columns, anything else may as well.
        let text = text.replace('\t', &blanks);
        let laid = format(&text);
        prop_assert_eq!(made(&laid), made(&text), "{}\n{}", text, laid);
        prop_assert_eq!(format(&laid), laid);
    }

    #[test]
    fn any_text_keeps_its_tokens(text in "([ -~\t]{0,12}(;|:|,|'|\n| EQU | MOV A,B|\\*|\\$|\r\n)){0,20}") {
        let laid = format(&text);
        prop_assert_eq!(tokens(&laid), tokens(&text), "{:?}", laid);
        prop_assert_eq!(format(&laid), laid);
    }

    #[test]
    fn no_text_is_too_odd(text in any::<String>()) {
        let laid = format(&text);
        prop_assert_eq!(format(&laid), laid);
    }
}
