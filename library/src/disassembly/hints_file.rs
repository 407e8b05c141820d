//! The hints file: TOML whose keys are addresses, one line a hint.

use super::hints::{Behind, Hint, Hints, Kind};
use crate::notation::{Address, parse_number};
use crate::source::{Code, Diagnostic, Diagnostics, SourceId, SourceMap, Span, Table, TomlText, Value};
use crate::syntax::Names;

/// The keys of the file.
const KEYS: &[&str] = &["entries", "names", "comments", "kinds", "equates", "ports", "operands", "behind", "moved"];

impl Hints {
    /// Reads a hints file. Problems are pushed; what is right of it is kept.
    pub fn read(sources: &SourceMap, source: SourceId, problems: &mut Diagnostics) -> Hints {
        let text = TomlText::parse(sources, source, problems);
        let table = text.table();
        table.allow(KEYS, "a hints file", problems);
        let mut reader = Reader { names: Names::default(), problems };
        let mut hints = Hints::default();
        reader.entries(&table, &mut hints);
        for (at, value, span) in reader.by_address(&table, "names") {
            if let Some(name) = reader.name(&value) {
                hints.names.insert(at, Hint { value: name, span });
            }
        }
        for (at, value, span) in reader.by_address(&table, "comments") {
            if let Some(text) = reader.line(&value) {
                hints.comments.insert(at, Hint { value: text, span });
            }
        }
        for (at, value, span) in reader.by_address(&table, "operands") {
            if let Some(text) = reader.line(&value) {
                hints.operands.insert(at, Hint { value: text, span });
            }
        }
        for (at, value, span) in reader.by_address(&table, "behind") {
            if let Some(behind) = reader.behind(&value) {
                hints.behind.insert(at, Hint { value: behind, span });
            }
        }
        reader.kinds(&table, &mut hints);
        reader.moved(&table, &mut hints);
        reader.equates(&table, &mut hints);
        reader.ports(&table, &mut hints);
        hints
    }
}

struct Reader<'a> {
    names: Names,
    problems: &'a mut Diagnostics,
}

impl Reader<'_> {
    fn refuse(&mut self, headline: String, span: Span, expected: &str) {
        self.problems.push(Diagnostic::error(Code::HintMalformed, headline).at(span, expected));
    }

    fn entries(&mut self, table: &Table, hints: &mut Hints) {
        let Some(value) = table.get("entries") else { return };
        for value in value.array(self.problems).unwrap_or_default() {
            if let Some(at) = value.integer(0..=0xFFFF, self.problems) {
                hints.entries.push(Hint { value: Address(at as u16), span: value.span() });
            }
        }
    }

    /// The keys of a table of the file, with their values.
    fn pairs<'t>(&mut self, table: &Table<'t>, key: &str) -> Vec<(&'t str, Value<'t>, Span)> {
        let Some(inner) = table.get(key).and_then(|value| value.table(self.problems)) else { return Vec::new() };
        inner.keys().filter_map(|(key, span)| Some((key, inner.get(key)?, span))).collect()
    }

    fn by_address<'t>(&mut self, table: &Table<'t>, key: &str) -> Vec<(Address, Value<'t>, Span)> {
        let mut found = Vec::new();
        for (key, value, span) in self.pairs(table, key) {
            found.extend(self.address(key, span).map(|at| (at, value, span)));
        }
        found
    }

    fn address(&mut self, text: &str, span: Span) -> Option<Address> {
        match parse_number(text) {
            Ok(at) => Some(Address(at)),
            Err(error) => {
                self.refuse(format!("`{text}` is no address"), span, &error.to_string());
                None
            }
        }
    }

    /// An address, or two with a hyphen between.
    fn range(&mut self, text: &str, span: Span) -> Option<(Address, Option<Address>)> {
        let Some((first, last)) = text.split_once('-') else { return Some((self.address(text, span)?, None)) };
        let (first, last) = (self.address(first, span)?, self.address(last, span)?);
        if last < first {
            self.refuse(format!("`{text}` ends before it begins"), span, "expected the lower address first");
            return None;
        }
        Some((first, Some(last)))
    }

    /// A name of the assembly language that nothing else has.
    fn name(&mut self, value: &Value) -> Option<String> {
        let name = value.string(self.problems)?;
        let first = name.starts_with(|first: char| first.is_ascii_alphabetic() || matches!(first, '?' | '@'));
        let word = first && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"?@_".contains(&byte));
        if !word || self.names.intern(name).keyword().is_some() {
            let expected = "expected letters, digits and `_`, a letter first, and no word of the language";
            self.refuse(format!("`{name}` cannot name anything"), value.span(), expected);
            return None;
        }
        Some(name.to_ascii_uppercase())
    }

    /// A text that stays on its line.
    fn line(&mut self, value: &Value) -> Option<String> {
        let text = value.string(self.problems)?;
        if text.is_empty() || !text.bytes().all(|byte| matches!(byte, b' '..=b'~')) {
            self.refuse(
                format!("`{}` cannot stand on a line", text.escape_debug()),
                value.span(),
                "expected ASCII on one line",
            );
            return None;
        }
        Some(text.to_owned())
    }

    fn behind(&mut self, value: &Value) -> Option<Behind> {
        if let Some(text) = value.as_str() {
            let until = text.strip_prefix("until ").map(parse_number);
            return match until {
                Some(Ok(byte)) if byte < 256 => Some(Behind::Until(byte as u8)),
                None if text == "high bit" => Some(Behind::HighBit),
                _ => {
                    let expected = "expected a number of bytes, \"until 0\" or \"high bit\"";
                    self.refuse(format!("`{text}` does not say what lies behind a CALL"), value.span(), expected);
                    None
                }
            };
        }
        value.integer(0..=255, self.problems).map(|count| Behind::Bytes(count as u8))
    }

    fn kinds(&mut self, table: &Table, hints: &mut Hints) {
        for (key, value, span) in self.pairs(table, "kinds") {
            let kind = value.choice(&Kind::WORDS, self.problems);
            if let (Some((first, last)), Some(kind)) = (self.range(key, span), kind) {
                hints.kinds.push(Hint { value: (first, last, kind), span });
            }
        }
    }

    fn moved(&mut self, table: &Table, hints: &mut Hints) {
        for (key, value, span) in self.pairs(table, "moved") {
            let to = value.integer(0..=0xFFFF, self.problems);
            let Some((first, last)) = self.range(key, span) else { continue };
            let Some(last) = last else {
                self.refuse(
                    format!("`{key}` has no end"),
                    span,
                    "expected the first and the last address, `first-last`",
                );
                continue;
            };
            let Some(to) = to else { continue };
            if to + i64::from(last.0 - first.0) > 0xFFFF {
                self.refuse(format!("`{key}` would run past the top of memory"), span, "moved to too high an address");
                continue;
            }
            hints.moved.push(Hint { value: (first.0..=last.0, Address(to as u16)), span });
        }
    }

    fn equates(&mut self, table: &Table, hints: &mut Hints) {
        for (name, value, span) in self.pairs(table, "equates") {
            let number = value.integer(0..=0xFFFF, self.problems);
            if let (true, Some(number)) = (self.word(name, span), number) {
                hints.equates.insert(name.to_ascii_uppercase(), Hint { value: number as u16, span });
            }
        }
    }

    fn word(&mut self, name: &str, span: Span) -> bool {
        let first = name.starts_with(|first: char| first.is_ascii_alphabetic());
        let word = first && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
        let right = word && self.names.intern(name).keyword().is_none();
        if !right {
            let expected = "expected letters, digits and `_`, a letter first, and no word of the language";
            self.refuse(format!("`{name}` cannot name anything"), span, expected);
        }
        right
    }

    fn ports(&mut self, table: &Table, hints: &mut Hints) {
        for (at, value, span) in self.by_address(table, "ports") {
            let Ok(port) = u8::try_from(at.0) else {
                self.refuse("a port has a number of 0..=255".to_owned(), span, "no port");
                continue;
            };
            if let Some(name) = self.name(&value) {
                hints.ports.insert(port, Hint { value: name, span });
            }
        }
    }
}
