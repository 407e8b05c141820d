//! A coding from a file, and the bytes in it.

use super::coding::{Coding, Digits, Escape};
use super::set::ByteSet;
use crate::source::{Diagnostics, Table, Value};

impl Coding {
    /// The coding that the keys `digits`, `escape` and `avoid` of a table ask for.
    pub fn load(table: Table, problems: &mut Diagnostics) -> Coding {
        let digits = table.get("digits").and_then(|digits| digits.choice(&Digits::ALL, problems)).unwrap_or_default();
        let escape = table.get("escape").and_then(|escape| self::escape(escape, problems));
        Coding { digits, escape, avoid: ByteSet::load(table, "avoid", problems) }
    }
}

fn escape(value: Value, problems: &mut Diagnostics) -> Option<Escape> {
    let table = value.table(problems)?;
    table.allow(&["byte", "flip", "bytes"], "an escape", problems);
    let byte = table.need("byte", "an escape", problems)?.byte(problems)?;
    let flip = table.need("flip", "an escape", problems)?.integer(1..=255, problems)? as u8;
    let mut bytes = ByteSet::load(table, "bytes", problems);
    bytes.insert(byte);
    Some(Escape { byte, flip, bytes })
}

impl ByteSet {
    /// The bytes that a key of a table lists; none without the key.
    pub fn load(table: Table, key: &str, problems: &mut Diagnostics) -> ByteSet {
        table.get(key).and_then(|value| bytes(value, problems)).unwrap_or_default().into_iter().collect()
    }
}

/// Bytes as an array of numbers or as a string of ASCII characters.
pub fn bytes(value: Value, problems: &mut Diagnostics) -> Option<Vec<u8>> {
    match value.as_str() {
        Some(text) if text.is_ascii() => Some(text.as_bytes().to_vec()),
        Some(_) => {
            value.wrong("ASCII characters only", problems);
            None
        }
        None if value.is_array() => value.array(problems)?.into_iter().map(|byte| byte.byte(problems)).collect(),
        None => {
            value.wrong("bytes in brackets or a string", problems);
            None
        }
    }
}
