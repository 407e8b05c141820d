//! From a framing file to a [`Framing`]. Every mistake of the file is told, each at its place.

use super::characters::Characters;
use super::declared::{Filler, Framing};
use super::lint;
use super::part::Part;
use super::places::Places;
use crate::notation::{Address, Notation};
use crate::record::{ByteSet, Coding, Medium, Record, bytes};
use crate::source::{Diagnostics, SourceId, SourceMap, Table, TomlText, Value};

/// The most frames of a leader, a gap or a trailer.
const MOST_FILLER: i64 = 100_000;

/// Reads a framing file. Bytes in its problems are written in `notation`.
///
/// Nothing is returned if a mistake is among the problems that are pushed: an unknown key, a value out of range, or a
/// layout that no decoder could read.
pub fn load(sources: &SourceMap, source: SourceId, notation: Notation, problems: &mut Diagnostics) -> Option<Framing> {
    let mut own = Diagnostics::default();
    let text = TomlText::parse(sources, source, &mut own);
    let framing = if own.has_errors() { None } else { framing(text.table(), &mut own) };
    let framing = framing.filter(|_| !own.has_errors());
    if let Some((framing, places)) = &framing {
        lint::check(framing, places, notation, &mut own);
    }
    let framing = framing.filter(|_| !own.has_errors());
    problems.append(own);
    framing.map(|(framing, _)| framing)
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
    let characters = table.get("characters").and_then(|it| it.choice(&Characters::ALL, problems)).unwrap_or_default();
    let coding = Coding::load(table, problems);
    let ignore = ByteSet::load(table, "ignore", problems);
    let [leader, gap, trailer] = ["leader", "gap", "trailer"].map(|key| filler(table, key, problems));
    let origin = table.get("origin").and_then(|origin| origin.integer(0..=0xFFFF, problems)).unwrap_or(0);
    let [head, block, end] =
        [Part::Head, Part::Block, Part::End].map(|part| Record::load(table.get(part.key())?, Medium::Tape, problems));
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
    Some((Framing { name, about, characters, ignore, coding, leader, gap, trailer, head, block, end, origin }, places))
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
