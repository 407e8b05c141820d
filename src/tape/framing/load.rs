//! From a framing file to a [`Framing`]. Every mistake of the file is told, each at its place.

use super::coding::{Characters, Coding, Digits, Escape};
use super::field::Part;
use super::lint;
use super::load_fields::layout;
use super::set::ByteSet;
use super::{Filler, Framing};
use crate::notation::Address;
use crate::source::{Diagnostics, SourceId, SourceMap, Span, Table, TomlText, Value};

/// The most frames of a leader, a gap or a trailer.
const MOST_FILLER: i64 = 100_000;

/// Reads a framing file.
///
/// Nothing is returned if a mistake is among the problems that are pushed: an unknown key, a value out of range, or a
/// layout that no decoder could read.
pub fn load(sources: &SourceMap, source: SourceId, problems: &mut Diagnostics) -> Option<Framing> {
    let mut own = Diagnostics::default();
    let text = TomlText::parse(sources, source, &mut own);
    let framing = if own.has_errors() { None } else { framing(text.table(), &mut own) };
    let framing = framing.filter(|_| !own.has_errors());
    if let Some((framing, places)) = &framing {
        lint::check(framing, places, &mut own);
    }
    let framing = framing.filter(|_| !own.has_errors());
    problems.append(own);
    framing.map(|(framing, _)| framing)
}

/// Where the parts of a framing stand in its file.
pub(super) struct Places {
    /// The whole file, for what is missing.
    pub file: Span,
    /// Leader, gap, trailer, each if given.
    pub leader: Option<Span>,
    /// As above.
    pub gap: Option<Span>,
    /// As above.
    pub trailer: Option<Span>,
    /// The fields of the head.
    pub head: Vec<Span>,
    /// The fields of the block.
    pub block: Vec<Span>,
    /// The fields of the end.
    pub end: Vec<Span>,
    /// The escape, if given.
    pub escape: Option<Span>,
    /// The ignored frames, if given.
    pub ignore: Option<Span>,
}

impl Places {
    /// Where a field of a part stands.
    pub fn field(&self, part: Part, index: usize) -> Span {
        let spans = match part {
            Part::Head => &self.head,
            Part::Block => &self.block,
            Part::End => &self.end,
        };
        spans.get(index).copied().unwrap_or(self.file)
    }
}

const KEYS: [&str; 14] = [
    "name",
    "about",
    "characters",
    "digits",
    "escape",
    "ignore",
    "avoid",
    "leader",
    "gap",
    "trailer",
    "origin",
    "head",
    "block",
    "end",
];

fn framing(table: Table, problems: &mut Diagnostics) -> Option<(Framing, Places)> {
    table.allow(&KEYS, "a framing", problems);
    let name = table.need("name", "a framing", problems).and_then(|name| name.string(problems));
    let about = table.get("about").and_then(|about| about.string(problems)).unwrap_or_default();
    let coding = coding(table, problems);
    let [leader, gap, trailer] = ["leader", "gap", "trailer"].map(|key| filler(table, key, problems));
    let origin = table.get("origin").and_then(|origin| origin.integer(0..=0xFFFF, problems)).unwrap_or(0);
    let [head, block, end] = [Part::Head, Part::Block, Part::End].map(|part| layout(table, part, problems));
    if block.is_none() && table.get("block").is_none() {
        table.need("block", "a framing", problems);
    }
    let place = |key: &str| table.get(key).map(|value| value.span());
    let (head, head_places) = head.unzip();
    let (block, block_places) = block?;
    let (end, end_places) = end.unzip();
    let places = Places {
        file: table.span(),
        leader: place("leader"),
        gap: place("gap"),
        trailer: place("trailer"),
        head: head_places.unwrap_or_default(),
        block: block_places,
        end: end_places.unwrap_or_default(),
        escape: place("escape"),
        ignore: place("ignore"),
    };
    let origin = Address(origin as u16);
    let (name, about) = (name?.to_owned(), about.to_owned());
    Some((Framing { name, about, coding, leader, gap, trailer, head, block, end, origin }, places))
}

fn coding(table: Table, problems: &mut Diagnostics) -> Coding {
    let mut coding = Coding::default();
    if let Some(characters) = table.get("characters") {
        coding.characters = characters.choice(&Characters::ALL, problems).unwrap_or_default();
    }
    if let Some(digits) = table.get("digits") {
        coding.digits = digits.choice(&Digits::ALL, problems).unwrap_or_default();
    }
    coding.escape = table.get("escape").and_then(|escape| self::escape(escape, problems));
    coding.ignore = byte_set(table, "ignore", problems);
    coding.avoid = byte_set(table, "avoid", problems);
    coding
}

fn escape(value: Value, problems: &mut Diagnostics) -> Option<Escape> {
    let table = value.table(problems)?;
    table.allow(&["byte", "flip", "bytes"], "an escape", problems);
    let byte = table.need("byte", "an escape", problems)?.byte(problems)?;
    let flip = table.need("flip", "an escape", problems)?.integer(1..=255, problems)? as u8;
    let mut bytes = byte_set(table, "bytes", problems);
    bytes.insert(byte);
    Some(Escape { byte, flip, bytes })
}

fn byte_set(table: Table, key: &str, problems: &mut Diagnostics) -> ByteSet {
    table.get(key).and_then(|value| bytes(value, problems)).unwrap_or_default().into_iter().collect()
}

fn filler(table: Table, key: &str, problems: &mut Diagnostics) -> Filler {
    let read = |value: Value, problems: &mut Diagnostics| {
        let table = value.table(problems)?;
        let what = format!("a {key}");
        table.allow(&["byte", "bytes", "count"], &what, problems);
        let count = table.get("count").map_or(Some(1), |count| count.integer(0..=MOST_FILLER, problems))? as usize;
        let bytes = match (table.get("byte"), table.get("bytes")) {
            (None, Some(several)) => bytes(several, problems)?,
            (Some(byte), None) => vec![byte.byte(problems)?],
            (Some(_), Some(several)) => {
                several.wrong("either `byte` or `bytes`, not both", problems);
                return None;
            }
            (None, None) => vec![table.need("byte", &what, problems)?.byte(problems)?],
        };
        Some(Filler { count: if bytes.is_empty() { 0 } else { count }, bytes })
    };
    table.get(key).and_then(|value| read(value, problems)).unwrap_or_default()
}

/// Bytes as an array of numbers or as a string of ASCII characters.
pub(super) fn bytes(value: Value, problems: &mut Diagnostics) -> Option<Vec<u8>> {
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
