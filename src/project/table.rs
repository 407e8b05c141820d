//! TOML files into tables of Rust, and what is wrong with them as diagnostics that point into the file.

use std::ops::Range;

use serde::de::DeserializeOwned;
use toml::Spanned;

use crate::source::{Code, Diagnostic, SourceId, SourceMap, Span, nearest};

/// Reads a TOML text.
///
/// # Errors
/// A diagnostic for the first thing that is no TOML, an unknown key, a missing one, or a value of the wrong kind.
pub fn read<T: DeserializeOwned>(sources: &SourceMap, id: SourceId) -> Result<T, Diagnostic> {
    toml::from_str(sources.get(id).text()).map_err(|error| refuse(&error, id))
}

/// A range of a TOML text as a span of its source.
pub fn span(id: SourceId, range: Range<usize>) -> Span {
    Span { source: id, start: range.start as u32, end: range.end as u32 }
}

/// Where a value stands.
pub fn span_of<T>(id: SourceId, value: &Spanned<T>) -> Span {
    span(id, value.span())
}

fn refuse(error: &toml::de::Error, id: SourceId) -> Diagnostic {
    let place = span(id, error.span().unwrap_or_default());
    let message = error.message().trim();
    if let Some((key, expected)) = unknown_key(message) {
        return unknown(place, key, &expected);
    }
    if let Some(key) = quoted(message.strip_prefix("missing field ").unwrap_or_default()).first() {
        let problem = Diagnostic::error(Code::TomlMalformed, format!("the key `{key}` is missing"));
        return problem.at(place, format!("expected `{key} = ...` in this table"));
    }
    let headline = message.lines().next().unwrap_or("no TOML").replace("i64", "a number").replace('"', "`");
    Diagnostic::error(Code::TomlMalformed, headline).at(place, "here")
}

/// Takes serde's words apart: the key, and those that would have been right.
fn unknown_key(message: &str) -> Option<(&str, Vec<&str>)> {
    let rest = message.strip_prefix("unknown field ").or_else(|| message.strip_prefix("unknown variant "))?;
    let words = quoted(rest);
    let (key, expected) = words.split_first()?;
    Some((key, expected.to_vec()))
}

/// The words in backquotes.
fn quoted(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).collect()
}

fn unknown(place: Span, key: &str, expected: &[&str]) -> Diagnostic {
    let known = expected.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ");
    let problem = Diagnostic::error(Code::TomlMalformed, format!("`{key}` is not known here"))
        .at(place, format!("expected one of {known}"));
    match nearest(key, expected.iter().copied()) {
        Some(near) => problem.with_help(format!("did you mean `{near}`?")),
        None => problem,
    }
}
