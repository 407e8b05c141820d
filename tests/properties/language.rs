//! What an editor asks of any text at any place has an answer, and every place that is named lies in its text. The server
//! is built without a way back from a panic, so that this is what keeps it alive.

use std::ops::Range;
use std::path::Path;

use coldwright::assembler::StdlibOnly;
use coldwright::language::{
    View, coloured, completion, definition, folds, hints, hover, key_completion, lenses, mends, outline, references,
    rename,
};
use coldwright::source::{Diagnostic, Position, SourceId, Span};
use proptest::prelude::*;

use super::assembler::WORDS;

/// What an editor meets besides the words of which sources are made.
const PIECES: [&str; 11] =
    ["\r\n", " ", "\u{1F514}", "'keyin-mc6850.asm'", "OUT", "IN", "CALL", "L$1", "7", "377Q", "0FFFFH"];

fn text() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        6 => proptest::sample::select(WORDS).prop_map(str::to_owned),
        2 => proptest::sample::select(&PIECES[..]).prop_map(str::to_owned),
        2 => Just("\n\t".to_owned()),
    ];
    let spaced = (piece, any::<bool>()).prop_map(|(piece, spaced)| if spaced { piece + " " } else { piece });
    proptest::collection::vec(spaced, 0..60).prop_map(|pieces| pieces.concat())
}

fn within(view: &View, span: Span) {
    let text = view.sources.get(span.source).text();
    let is_there = span.start <= span.end && text.get(span.start as usize..span.end as usize).is_some();
    assert!(is_there, "{span:?} of {text:?}");
}

/// Everything is asked of a text, and of its places in a part of it.
fn ask_all(view: &View, source: SourceId, part: Range<usize>) {
    let text = view.sources.get(source).text();
    let name = view.sources.get(source).name();
    coloured(view, source).iter().for_each(|it| within(view, Span { source, start: it.start, end: it.end }));
    outline(view, source).iter().for_each(|it| within(view, it.span));
    folds(view, source).iter().for_each(|it| within(view, Span { source, start: it.first, end: it.last }));
    hints(view, source).iter().for_each(|(at, _)| within(view, Span { source, start: *at, end: *at }));
    lenses(view, name).iter().for_each(|it| within(view, it.span));
    mends(view).iter().for_each(|it| within(view, it.span));
    for offset in part.filter(|&offset| text.is_char_boundary(offset)) {
        let at = Position { source, offset: offset as u32 };
        hover(view, at).iter().for_each(|it| within(view, it.span));
        completion(view, at).iter().for_each(|it| within(view, it.span));
        definition(view, at).iter().for_each(|it| within(view, *it));
        references(view, at).iter().for_each(|it| within(view, *it));
        rename(view, at, "ANOTHER").unwrap_or_default().iter().for_each(|it| within(view, *it));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_place_of_any_source_has_an_answer(text in text()) {
        let view = View::of_source("typed.asm", text, &mut StdlibOnly);
        ask_all(&view, view.root, 0..usize::from(u8::MAX));
    }

    /// A good source with a part of it taken out, and something else put there.
    #[test]
    fn every_place_of_a_source_under_way_has_an_answer(from in 0..4000usize, length in 0..200usize, new in text()) {
        let good = example("belfry/chimes.asm");
        let start = boundary(&good, from);
        let end = boundary(&good, start + length);
        let view = View::of_source("typed.asm", format!("{}{new}{}", &good[..start], &good[end..]), &mut StdlibOnly);
        ask_all(&view, view.root, start.saturating_sub(8)..start + new.len() + 8);
    }

    #[test]
    fn every_place_of_a_machine_file_under_way_has_an_answer(from in 0..1000usize, length in 0..40usize, new in "[\\[\\]{}=\"'#a-z0-9 \n.é]{0,12}") {
        let good = example("belfry/machine.toml");
        let start = boundary(&good, from);
        let end = boundary(&good, start + length);
        let view = View::of_toml("machine.toml", format!("{}{new}{}", &good[..start], &good[end..]));
        ask_all(&view, view.root, start.saturating_sub(8)..start + new.len() + 8);
        let text = view.sources.get(view.root).text();
        let mut read = |text: &str| -> Vec<Diagnostic> { View::of_toml("machine.toml", text).problems };
        for offset in (start.saturating_sub(3)..=start + new.len()).filter(|&at| text.is_char_boundary(at)) {
            let at = Position { source: view.root, offset: offset as u32 };
            key_completion(text, at, &mut read).iter().for_each(|it| within(&view, it.span));
        }
    }
}

fn example(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
    std::fs::read_to_string(path).unwrap()
}

/// The last place up to an offset at which a character begins.
fn boundary(text: &str, offset: usize) -> usize {
    (0..=offset.min(text.len())).rev().find(|&at| text.is_char_boundary(at)).unwrap_or_default()
}
