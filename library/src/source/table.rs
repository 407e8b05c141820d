//! TOML files as tables whose every key and value knows its place, so that each mistake is told where it stands.
//!
//! A reader of such a file asks a [`Table`] for its keys and says what it expects; what is wrong is pushed to the
//! [`Diagnostics`] of the run and the reader goes on, so that one run tells all mistakes.

use std::collections::HashSet;
use std::ops::RangeInclusive;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Code, Diagnostic, Diagnostics, SourceId, SourceMap, Span, nearest};

/// Problems of a run after which nothing is compared any more with what may have been meant: who has made so many has not
/// slipped, and most of them are not shown.
const SLIPS: usize = 1000;

/// A TOML text, parsed.
pub struct TomlText<'a> {
    root: Spanned<DeTable<'a>>,
    source: SourceId,
}

impl<'a> TomlText<'a> {
    /// Parses a text, pushing what its syntax breaks; what could be read is kept.
    pub fn parse(sources: &'a SourceMap, source: SourceId, problems: &mut Diagnostics) -> Self {
        let (root, errors) = DeTable::parse_recoverable(sources.get(source).text());
        for error in errors {
            let spot = error.span().unwrap_or_default();
            let message = error.message().lines().next().unwrap_or_default().to_owned();
            let problem = Diagnostic::error(Code::TomlMalformed, "the file is not TOML");
            problems.push(problem.at(span(source, spot), message));
        }
        TomlText { root, source }
    }

    /// The table of the whole file.
    pub fn table(&self) -> Table<'_> {
        Table { entries: self.root.get_ref(), span: Span { source: self.source, start: 0, end: 0 } }
    }
}

/// A table of a TOML text.
#[derive(Clone, Copy)]
pub struct Table<'a> {
    entries: &'a DeTable<'a>,
    span: Span,
}

impl<'a> Table<'a> {
    /// Where the table stands; empty and at the start for the table of the whole file.
    pub fn span(&self) -> Span {
        self.span
    }

    /// The keys with their places, in the order of the file.
    pub fn keys(&self) -> impl Iterator<Item = (&'a str, Span)> {
        let source = self.span.source;
        let mut keys: Vec<_> =
            self.entries.keys().map(|key| (key.get_ref().as_ref(), span(source, key.span()))).collect();
        keys.sort_by_key(|(_, spot)| spot.start);
        keys.into_iter()
    }

    /// Refuses every key that is not among `known`; `what` names the table in the message, as in `a framing`.
    pub fn allow(&self, known: &[&str], what: &str, problems: &mut Diagnostics) {
        let all = format!("known here: {}", known.join(", "));
        for (key, spot) in self.keys().filter(|(key, _)| !known.contains(key)) {
            let problem = Diagnostic::error(Code::TomlMalformed, format!("`{key}` is not a key of {what}"));
            push_slip(problem.at(spot, all.clone()), key, known, problems);
        }
    }

    /// The value of a key, if it is there.
    pub fn get(&self, key: &str) -> Option<Value<'a>> {
        let (_, value) = self.entries.iter().find(|(name, _)| name.get_ref() == key)?;
        Some(Value { value: value.get_ref(), span: span(self.span.source, value.span()) })
    }

    /// The value of a key that must be there. If it is misspelt and that has been told, nothing more is said.
    pub fn need(&self, key: &str, what: &str, problems: &mut Diagnostics) -> Option<Value<'a>> {
        let found = self.get(key);
        if found.is_none() && !self.misspells(key, problems) {
            let problem = Diagnostic::error(Code::TomlMalformed, format!("{what} needs the key `{key}`"));
            problems.push(problem.at(self.span, format!("`{key} = ...` belongs here")));
        }
        found
    }

    /// Whether a key that is near to this one has been refused.
    fn misspells(&self, key: &str, problems: &Diagnostics) -> bool {
        let places = problems.iter().take(SLIPS).filter_map(|problem| problem.primary.as_ref());
        let refused: HashSet<_> = places.map(|label| label.span).collect();
        self.keys().any(|(other, spot)| refused.contains(&spot) && nearest(other, [key]).is_some())
    }
}

/// A value of a TOML text.
#[derive(Clone, Copy)]
pub struct Value<'a> {
    value: &'a DeValue<'a>,
    span: Span,
}

impl<'a> Value<'a> {
    /// Where the value stands.
    pub fn span(&self) -> Span {
        self.span
    }

    /// The value as a string, if it is one.
    pub fn as_str(&self) -> Option<&'a str> {
        self.value.as_str()
    }

    /// Whether the value is an array.
    pub fn is_array(&self) -> bool {
        self.value.is_array()
    }

    /// Whether the value is an array without elements.
    pub fn is_empty_array(&self) -> bool {
        self.value.as_array().is_some_and(|array| array.is_empty())
    }

    /// The value as a string.
    pub fn string(&self, problems: &mut Diagnostics) -> Option<&'a str> {
        let found = self.as_str();
        if found.is_none() {
            self.wrong("a string in quotes", problems);
        }
        found
    }

    /// The value as a truth value.
    pub fn boolean(&self, problems: &mut Diagnostics) -> Option<bool> {
        let found = self.value.as_bool();
        if found.is_none() {
            self.wrong("true or false", problems);
        }
        found
    }

    /// The value as an integer within a range.
    pub fn integer(&self, range: RangeInclusive<i64>, problems: &mut Diagnostics) -> Option<i64> {
        let number = self.value.as_integer().and_then(|it| i64::from_str_radix(it.as_str(), it.radix()).ok());
        let found = number.filter(|number| range.contains(number));
        if found.is_none() {
            self.wrong(&format!("an integer, `{}..={}`", range.start(), range.end()), problems);
        }
        found
    }

    /// The value as a number, whole or not, within a range.
    pub fn number(&self, range: RangeInclusive<f64>, problems: &mut Diagnostics) -> Option<f64> {
        let whole = self.value.as_integer().and_then(|it| i64::from_str_radix(it.as_str(), it.radix()).ok());
        let broken = || self.value.as_float().and_then(|it| it.as_str().parse().ok());
        let found = whole.map(|whole| whole as f64).or_else(broken).filter(|number| range.contains(number));
        if found.is_none() {
            self.wrong(&format!("a number, `{}..={}`", range.start(), range.end()), problems);
        }
        found
    }

    /// The value as a byte.
    pub fn byte(&self, problems: &mut Diagnostics) -> Option<u8> {
        self.integer(0..=255, problems).map(|byte| byte as u8)
    }

    /// The value as one of a few words, each with what it stands for.
    pub fn choice<T: Copy>(&self, choices: &[(&str, T)], problems: &mut Diagnostics) -> Option<T> {
        let words: Vec<_> = choices.iter().map(|(word, _)| *word).collect();
        let expected = format!("one of \"{}\"", words.join("\", \""));
        let Some(word) = self.as_str() else {
            self.wrong(&expected, problems);
            return None;
        };
        let found = choices.iter().find(|(name, _)| *name == word).map(|(_, meaning)| *meaning);
        if found.is_none() {
            push_slip(self.problem(&expected), word, &words, problems);
        }
        found
    }

    /// The elements of the value as an array.
    pub fn array(&self, problems: &mut Diagnostics) -> Option<Vec<Value<'a>>> {
        let Some(array) = self.value.as_array() else {
            self.wrong("an array in brackets", problems);
            return None;
        };
        let source = self.span.source;
        Some(array.iter().map(|value| Value { value: value.get_ref(), span: span(source, value.span()) }).collect())
    }

    /// The value as a table.
    pub fn table(&self, problems: &mut Diagnostics) -> Option<Table<'a>> {
        let found = self.value.as_table().map(|entries| Table { entries, span: self.span });
        if found.is_none() {
            self.wrong("a table in braces", problems);
        }
        found
    }

    /// Refuses the value, saying what was expected.
    pub fn wrong(&self, expected: &str, problems: &mut Diagnostics) {
        problems.push(self.problem(expected));
    }

    /// The value as it is written, in short.
    pub fn written(&self) -> String {
        match self.value {
            DeValue::String(text) if text.is_empty() => "\"\"".to_owned(),
            DeValue::String(text) => text.to_string(),
            DeValue::Integer(number) => prefixed(number.as_str(), number.radix()),
            DeValue::Float(number) => number.as_str().to_owned(),
            DeValue::Boolean(truth) => truth.to_string(),
            DeValue::Array(array) if array.is_empty() => "[]".to_owned(),
            DeValue::Array(_) => "[...]".to_owned(),
            DeValue::Table(_) => "{...}".to_owned(),
            DeValue::Datetime(date) => date.to_string(),
        }
    }

    fn problem(&self, expected: &str) -> Diagnostic {
        Diagnostic::error(Code::TomlMalformed, format!("`{}` cannot stand here", self.written()))
            .at(self.span, format!("expected {expected}"))
    }
}

/// Adds a problem with a word, and the known word that it may have been meant to be.
fn push_slip(problem: Diagnostic, word: &str, known: &[&str], problems: &mut Diagnostics) {
    if problems.len() >= SLIPS {
        return problems.push(problem);
    }
    let problem = problem.with_known(known.iter().copied());
    problems.push(match nearest(word, known.iter().copied()) {
        Some(near) => problem.with_near(near),
        None => problem,
    });
}

/// An integer as it was written.
fn prefixed(digits: &str, radix: u32) -> String {
    let prefix = match radix {
        2 => "0b",
        8 => "0o",
        16 => "0x",
        _ => "",
    };
    format!("{prefix}{digits}")
}

fn span(source: SourceId, range: std::ops::Range<usize>) -> Span {
    Span { source, start: range.start as u32, end: range.end as u32 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Origin;

    /// What a table of so many misspelt keys is refused for, and whether it is said to lack `name`.
    fn misspelt(count: usize) -> (usize, bool) {
        let odd = |at: usize| char::from_u32(0x4E00 + at as u32).unwrap();
        let text: String = (0..count).map(|at| format!("\"nam{}\" = 0\n", odd(at))).collect();
        let mut sources = SourceMap::default();
        let id = sources.add("any.toml", text, Origin::Given);
        let mut problems = Diagnostics::default();
        let toml = TomlText::parse(&sources, id, &mut problems);
        toml.table().allow(&["name", "other"], "a test", &mut problems);
        let lacks = toml.table().need("name", "a test", &mut problems).is_none()
            && problems.iter().any(|problem| problem.headline.contains("needs the key"));
        (problems.iter().filter(|problem| problem.help.is_some()).count(), lacks)
    }

    #[test]
    fn slips_are_looked_for_up_to_a_bound() {
        assert_eq!(misspelt(1), (1, false));
        assert_eq!(misspelt(SLIPS), (SLIPS, false));
        assert_eq!(misspelt(5 * SLIPS), (SLIPS, false), "what follows costs no comparison");
    }
}
