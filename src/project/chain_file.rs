//! `coldwright.toml` as it is written: every value with its place, every mistake told.

use std::ops::RangeInclusive;

use crate::audio::{PRESETS, Preset};
use crate::image::format::Format;
use crate::notation::Address;
use crate::source::{Diagnostics, SourceId, SourceMap, Span, Table, TomlText, Value};

/// A value with its place in the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Span,
}

/// The chain file.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainFile {
    /// The name of the chain.
    pub name: String,
    /// The machine file, beside the chain file.
    pub machine: Placed<String>,
    /// Seconds of the machine's time after which a stage counts as endless.
    pub limit: u32,
    /// Formats in which the image of every stage is wanted.
    pub formats: Vec<Format>,
    /// Stages, in the order of the file.
    pub stages: Vec<StageEntry>,
    /// What is said of tapes.
    pub tapes: Vec<TapeEntry>,
    /// Ways to start; empty for the one that takes all stages in order.
    pub starts: Vec<StartEntry>,
}

/// `[[stage]]`
#[derive(Clone, Debug, PartialEq)]
pub struct StageEntry {
    /// Its name.
    pub name: Placed<String>,
    /// Its source, or the file of its image, beside the chain file.
    pub program: Placed<Program>,
    /// Constants defined before the first line of the source.
    pub definitions: Vec<(String, u16)>,
    /// Where it comes from.
    pub home: Placed<HomeEntry>,
    /// Where it starts, if not where its program says.
    pub entry: Option<Address>,
    /// How it expects the sense switches to stand.
    pub sense: Option<Placed<u8>>,
    /// Stages over which it may be loaded while they load it.
    pub over: Vec<Placed<String>>,
    /// Machine cycles of the lights sheet that is wanted of it.
    pub lights: Option<u64>,
}

/// What a stage is made from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Program {
    /// An assembly source.
    Source(String),
    /// A file of any image format.
    Image(String),
}

/// Where a stage comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum HomeEntry {
    /// It is deposited by hand; at most so many bytes.
    Panel(Option<usize>),
    /// It lies in the socket of this name.
    Socket(Placed<String>),
    /// It is read from a tape.
    Tape {
        /// The name of the tape.
        tape: Placed<String>,
        /// The name of a bundled framing, or a framing file beside the chain file.
        framing: Placed<String>,
    },
}

/// `[[tape]]`
#[derive(Clone, Debug, PartialEq)]
pub struct TapeEntry {
    /// Its name.
    pub name: Placed<String>,
    /// The serial interface through which it is read.
    pub line: Option<Placed<String>>,
    /// Seconds from the start of the stage that reads it to the first character.
    pub after: f64,
    /// How it is recorded, if that is wanted.
    pub sound: Option<&'static Preset>,
}

/// `[[start]]`
#[derive(Clone, Debug, PartialEq)]
pub struct StartEntry {
    /// What it is called.
    pub name: Placed<String>,
    /// The names of its stages in the order in which they run.
    pub stages: Vec<Placed<String>>,
    /// Sockets that are empty.
    pub empty: Vec<Placed<String>>,
}

/// The longest time that a stage may take, in seconds.
const LIMITS: RangeInclusive<i64> = 1..=86_400;
const USUAL_LIMIT: u32 = 600;

/// Seconds from run to the first character of a tape, where the file does not say.
pub const USUAL_DELAY: f64 = 1.0;

/// Machine cycles of a lights sheet.
const CYCLES: RangeInclusive<i64> = 1..=10_000;

/// The most bytes on a panel's sheet.
const PANEL_BYTES: RangeInclusive<i64> = 1..=65_536;

/// Reads a chain file; nothing if it lacks what every chain needs.
pub fn read(sources: &SourceMap, id: SourceId, problems: &mut Diagnostics) -> Option<ChainFile> {
    let text = TomlText::parse(sources, id, problems);
    let root = text.table();
    root.allow(&["chain", "stage", "tape", "start"], "a chain file", problems);
    let chain = root.need("chain", "a chain file", problems).and_then(|value| value.table(problems));
    let stages = tables(root.need("stage", "a chain file", problems), problems);
    let stages: Vec<_> = stages.into_iter().filter_map(|table| stage(table, problems)).collect();
    let tapes = tables(root.get("tape"), problems).into_iter().filter_map(|table| tape(table, problems)).collect();
    let starts = tables(root.get("start"), problems).into_iter().filter_map(|table| start(table, problems)).collect();
    let chain = chain?;
    chain.allow(&["name", "machine", "limit", "images"], "`[chain]`", problems);
    let name = text_of(chain.need("name", "`[chain]`", problems), problems)?.value;
    let machine = text_of(chain.need("machine", "`[chain]`", problems), problems)?;
    let limit = chain.get("limit").and_then(|value| value.integer(LIMITS, problems));
    let limit = limit.map_or(USUAL_LIMIT, |limit| limit as u32);
    let formats = chain.get("images").map_or_else(|| vec![Format::IntelHex], |value| formats(value, problems));
    Some(ChainFile { name, machine, limit, formats, stages, tapes, starts })
}

fn stage(table: Table, problems: &mut Diagnostics) -> Option<StageEntry> {
    let what = "`[[stage]]`";
    table.allow(&["name", "source", "image", "define", "home", "entry", "sense", "over", "lights"], what, problems);
    let name = text_of(table.need("name", what, problems), problems);
    let program = program(table, what, problems);
    let home = table.need("home", what, problems).and_then(|value| home(value, problems));
    let definitions = table.get("define").map_or(Some(Vec::new()), |value| definitions(value, problems));
    let entry = table.get("entry").map(|value| value.integer(0..=0xFFFF, problems));
    let sense = table.get("sense").map(|value| placed_byte(value, problems));
    let lights = table.get("lights").and_then(|value| value.integer(CYCLES, problems));
    let lights = lights.map(|cycles| cycles as u64);
    let over = table.get("over").map_or(Some(Vec::new()), |value| names(value, problems));
    Some(StageEntry {
        name: name?,
        program: program?,
        definitions: definitions?,
        home: home?,
        entry: entry.flatten().map(|entry| Address(entry as u16)),
        sense: sense.flatten(),
        over: over?,
        lights,
    })
}

fn program(table: Table, what: &str, problems: &mut Diagnostics) -> Option<Placed<Program>> {
    let (key, value) = match (table.get("source"), table.get("image")) {
        (Some(source), Some(image)) => {
            image.wrong("`source` or `image`, not both", problems);
            ("source", source)
        }
        (None, Some(image)) => ("image", image),
        _ => ("source", table.need("source", what, problems)?),
    };
    let path = value.string(problems)?.to_owned();
    let value = Placed { value: path, span: value.span() };
    let program = if key == "image" { Program::Image(value.value) } else { Program::Source(value.value) };
    Some(Placed { value: program, span: value.span })
}

fn home(value: Value, problems: &mut Diagnostics) -> Option<Placed<HomeEntry>> {
    let table = value.table(problems)?;
    let span = value.span();
    if let Some(panel) = table.get("panel") {
        table.allow(&["panel"], "a home at the panel", problems);
        let inner = panel.table(problems)?;
        inner.allow(&["limit"], "`panel`", problems);
        let limit = inner.get("limit").and_then(|value| value.integer(PANEL_BYTES, problems));
        return Some(Placed { value: HomeEntry::Panel(limit.map(|limit| limit as usize)), span });
    }
    if let Some(socket) = table.get("socket") {
        table.allow(&["socket"], "a home in a socket", problems);
        return Some(Placed { value: HomeEntry::Socket(text_of(Some(socket), problems)?), span });
    }
    if let Some(tape) = table.get("tape") {
        table.allow(&["tape", "framing"], "a home on a tape", problems);
        let framing = text_of(table.need("framing", "a home on a tape", problems), problems);
        let tape = text_of(Some(tape), problems);
        return Some(Placed { value: HomeEntry::Tape { tape: tape?, framing: framing? }, span });
    }
    table.allow(&["panel", "socket", "tape"], "a home", problems);
    if table.keys().next().is_none() {
        value.wrong("a table with `panel`, `socket` or `tape`", problems);
    }
    None
}

fn definitions(value: Value, problems: &mut Diagnostics) -> Option<Vec<(String, u16)>> {
    let table = value.table(problems)?;
    let names: Vec<_> = table.keys().map(|(name, _)| name.to_owned()).collect();
    let defined = |name: String| {
        let number = table.get(&name)?.integer(-32_768..=65_535, problems)?;
        Some((name, number as u16))
    };
    Some(names.into_iter().filter_map(defined).collect())
}

fn tape(table: Table, problems: &mut Diagnostics) -> Option<TapeEntry> {
    table.allow(&["name", "line", "after", "sound"], "`[[tape]]`", problems);
    let name = text_of(table.need("name", "`[[tape]]`", problems), problems);
    let line = table.get("line").map(|value| text_of(Some(value), problems));
    let after = table.get("after").and_then(|value| value.integer(0..=3600, problems));
    let presets: Vec<_> = PRESETS.iter().map(|preset| (preset.name, preset)).collect();
    let sound = table.get("sound").and_then(|value| value.choice(&presets, problems));
    let after = after.map_or(USUAL_DELAY, |after| after as f64);
    Some(TapeEntry { name: name?, line: line.flatten(), after, sound })
}

fn start(table: Table, problems: &mut Diagnostics) -> Option<StartEntry> {
    let what = "`[[start]]`";
    table.allow(&["name", "stages", "empty"], what, problems);
    let name = text_of(table.need("name", what, problems), problems);
    let stages = table.need("stages", what, problems).and_then(|value| names(value, problems));
    let empty = table.get("empty").map_or(Some(Vec::new()), |value| names(value, problems));
    Some(StartEntry { name: name?, stages: stages?, empty: empty? })
}

/// Formats of images by their words.
fn formats(value: Value, problems: &mut Diagnostics) -> Vec<Format> {
    let choices: Vec<_> = Format::words().filter_map(|word| Some((word, Format::from_word(word)?))).collect();
    let values = value.array(problems).unwrap_or_default();
    values.into_iter().filter_map(|value| value.choice(&choices, problems)).collect()
}

/// The tables of an array of tables.
fn tables<'a>(value: Option<Value<'a>>, problems: &mut Diagnostics) -> Vec<Table<'a>> {
    let values = value.and_then(|value| value.array(problems)).unwrap_or_default();
    values.into_iter().filter_map(|value| value.table(problems)).collect()
}

fn names(value: Value, problems: &mut Diagnostics) -> Option<Vec<Placed<String>>> {
    value.array(problems)?.into_iter().map(|value| text_of(Some(value), problems)).collect()
}

/// A text that is not empty.
fn text_of(value: Option<Value>, problems: &mut Diagnostics) -> Option<Placed<String>> {
    let value = value?;
    let text = value.string(problems)?;
    if text.is_empty() {
        value.wrong("a text that is not empty", problems);
        return None;
    }
    Some(Placed { value: text.to_owned(), span: value.span() })
}

fn placed_byte(value: Value, problems: &mut Diagnostics) -> Option<Placed<u8>> {
    Some(Placed { value: value.byte(problems)?, span: value.span() })
}
