//! From a sentence to observations, every mistake in it told.

use chumsky::error::{Rich, RichPattern, RichReason};
use chumsky::input::Input;
use chumsky::prelude::*;
use logos::Logos;

use super::grammar::observation;
use super::token::{Token, WORDS};
use super::what::Observation;
use crate::notation::Notation;
use crate::panel::StatusLamps;
use crate::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap, Span, nearest};

/// A word and where it stands.
type Spanned<'t> = (Token<'t>, SimpleSpan);

/// Reads what is seen. What cannot be read is told and left out.
pub fn read(
    sources: &SourceMap,
    text: SourceId,
    notation: Notation,
    diagnostics: &mut Diagnostics,
) -> Vec<Observation> {
    let told = sources.get(text).text();
    let words: Vec<_> = Token::lexer(told).spanned().collect();
    let mut seen = Vec::new();
    for part in words.split(|(token, _)| *token == Ok(Token::And)).filter(|part| !part.is_empty()) {
        let strange = part.iter().filter(|(token, _)| token.is_err());
        let strange: Vec<_> = strange.map(|(_, range)| unknown(text, told, range.clone().into())).collect();
        if !strange.is_empty() {
            // Where a sign is not known, what is missing beside it is no news.
            diagnostics.extend(strange);
            continue;
        }
        let words: Vec<Spanned> =
            part.iter().filter_map(|(token, range)| Some((token.clone().ok()?, range.clone().into()))).collect();
        let (first, last) = (words[0].1, words[words.len() - 1].1);
        let input = words.map((last.end..last.end).into(), |(token, place)| (token, place));
        match observation(notation).parse(input).into_result() {
            Ok(whats) => {
                let span = span(text, first).to(span(text, last));
                seen.extend(whats.into_iter().map(|what| Observation { what, span }));
            }
            Err(errors) => diagnostics.extend(errors.iter().map(|error| unclear(text, error))),
        }
    }
    seen
}

fn span(source: SourceId, place: SimpleSpan) -> Span {
    Span { source, start: place.start as u32, end: place.end as u32 }
}

fn unknown(text: SourceId, told: &str, place: SimpleSpan) -> Diagnostic {
    let character = &told[place.start..place.end];
    let expected = match character.starts_with('"') {
        true => "the closing quote is missing",
        false => "words, numbers, commas, and text in double quotes",
    };
    Diagnostic::error(Code::SeenUnclear, format!("`{character}` has no meaning here")).at(span(text, place), expected)
}

/// A mistake of the grammar, with what was expected and the nearest word.
fn unclear(text: SourceId, error: &Rich<'_, Token<'_>>) -> Diagnostic {
    let place = span(text, *error.span());
    if let RichReason::Custom(reason) = error.reason()
        && !reason.is_empty()
    {
        return Diagnostic::error(Code::SeenUnclear, reason.clone()).at(place, "this");
    }
    let mut expected: Vec<String> = error
        .expected()
        .filter_map(|pattern| match pattern {
            RichPattern::Token(token) => Some(format!("`{}`", **token)),
            RichPattern::Label(label) => Some(label.to_string()),
            RichPattern::EndOfInput => Some("a comma".to_owned()),
            _ => None,
        })
        .collect();
    expected.sort();
    expected.dedup();
    let expected = format!("expected {}", expected.join(", "));
    let Some(found) = error.found() else {
        return Diagnostic::error(Code::SeenUnclear, "more is needed").at(place, expected);
    };
    let told = Diagnostic::error(Code::SeenUnclear, format!("`{found}` is not understood here")).at(place, expected);
    let candidates = WORDS.into_iter().chain(StatusLamps::NAMES.map(|(name, _)| name));
    match found {
        Token::Name(name) => match nearest(name, candidates) {
            Some(near) => told.with_help(format!("did you mean `{near}`?")),
            None => told,
        },
        _ => told,
    }
}
