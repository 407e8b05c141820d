//! What the readers of the chain file and of the machine file share: values with their places, lists, names.

use crate::source::{Diagnostics, Span, Table, Value};

/// A value with its place in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

/// A text that is not empty.
pub fn text(value: Value, problems: &mut Diagnostics) -> Option<Placed<String>> {
    let text = value.string(problems)?;
    if text.is_empty() {
        value.wrong("a text that is not empty", problems);
        return None;
    }
    Some(Placed { value: text.to_owned(), span: value.span() })
}

/// A text under a key that must be there.
pub fn needed(table: Table, key: &str, what: &str, problems: &mut Diagnostics) -> Option<Placed<String>> {
    table.need(key, what, problems).and_then(|value| text(value, problems))
}

/// The tables of an array of tables.
pub fn tables<'a>(value: Option<Value<'a>>, problems: &mut Diagnostics) -> Vec<Table<'a>> {
    let values = value.and_then(|value| value.array(problems)).unwrap_or_default();
    values.into_iter().filter_map(|value| value.table(problems)).collect()
}

/// Texts in an array; what is none is missing.
pub fn texts(value: Value, problems: &mut Diagnostics) -> Vec<Placed<String>> {
    let values = value.array(problems).unwrap_or_default();
    values.into_iter().filter_map(|value| text(value, problems)).collect()
}

/// Bytes in an array.
pub fn bytes(value: Value, problems: &mut Diagnostics) -> Option<Vec<u8>> {
    value.array(problems)?.into_iter().map(|value| value.byte(problems)).collect()
}
