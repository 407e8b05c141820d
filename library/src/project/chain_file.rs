//! `coldwright.toml` as it is written: every value with its place, every mistake told.

use std::ops::RangeInclusive;

use super::entries::{Placed, needed, tables, text, texts};
use crate::image::format::Format;
use crate::notation::Address;
use crate::source::{Diagnostics, SourceId, SourceMap, Table, TomlText, Value};

/// The chain file. What is wrong in it is missing here; everything else is there, so that it is checked all the same.
#[derive(Clone, Debug, PartialEq)]
pub struct ChainFile {
    /// The name of the chain.
    pub name: String,
    /// The machine file, beside the chain file.
    pub machine: Option<Placed<String>>,
    /// Seconds of the machine's time after which a stage counts as endless.
    pub limit: u32,
    /// Formats in which the image of every stage is wanted.
    pub formats: Vec<Format>,
    /// Stages, in the order of the file.
    pub stages: Vec<StageEntry>,
    /// What is said of tapes.
    pub tapes: Vec<TapeEntry>,
    /// What is said of disks.
    pub disks: Vec<DiskEntry>,
    /// Ways to start; empty for the one that takes all stages in order.
    pub starts: Vec<StartEntry>,
}

/// `[[stage]]`
#[derive(Clone, Debug, PartialEq)]
pub struct StageEntry {
    /// Its name; empty if the file gives none.
    pub name: Placed<String>,
    /// Its source, or the file of its image, beside the chain file.
    pub program: Option<Placed<Program>>,
    /// Constants defined before the first line of the source.
    pub definitions: Vec<Placed<(String, u16)>>,
    /// Where it comes from.
    pub home: Option<HomeEntry>,
    /// Where it starts, if not where its program says.
    pub entry: Option<Address>,
    /// How it expects the sense switches to stand.
    pub sense: Option<Placed<u8>>,
    /// Stages over which it may be loaded while they load it.
    pub over: Vec<Placed<String>>,
    /// Machine cycles of the lights sheet that is wanted of it.
    pub lights: Option<u64>,
}

impl StageEntry {
    /// The constants that it defines.
    pub fn constants(&self) -> Vec<(String, u16)> {
        self.definitions.iter().map(|definition| definition.value.clone()).collect()
    }
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
    /// It lies in the sockets of these names.
    Sockets(Vec<Placed<String>>),
    /// It is read from a tape.
    Tape {
        /// The name of the tape.
        tape: Placed<String>,
        /// The name of a bundled framing, or a framing file beside the chain file.
        framing: Option<Placed<String>>,
    },
    /// It is read from a disk.
    Disk {
        /// The name of the disk.
        disk: Placed<String>,
        /// The name of an area of its layout.
        area: Option<Placed<String>>,
    },
}

/// `[[tape]]`
#[derive(Clone, Debug, PartialEq)]
pub struct TapeEntry {
    /// Its name.
    pub name: Placed<String>,
    /// The serial interface through which it is read.
    pub line: Option<Line>,
    /// Seconds from the start of the stage that reads it to the first character.
    pub after: f64,
    /// The name of a sound of the machine, or of a preset, if a recording is wanted.
    pub sound: Option<Placed<String>>,
    /// What is punched before its beginning, to be read by eye.
    pub lettering: Option<Placed<String>>,
}

/// `[[disk]]`
#[derive(Clone, Debug, PartialEq)]
pub struct DiskEntry {
    /// Its name.
    pub name: Placed<String>,
    /// The name of a bundled layout, or a layout file beside the chain file.
    pub layout: Option<Placed<String>>,
    /// The drive in which it lies; the only one if it is not named.
    pub drive: Option<Placed<String>>,
    /// Whether it is protected from being written.
    pub protected: bool,
}

/// The interface that a tape names: nothing if what stands there is no name.
pub type Line = Option<Placed<String>>;

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

/// Reads a chain file and pushes what is wrong with it; nothing if it is no TOML.
pub fn read(sources: &SourceMap, id: SourceId, problems: &mut Diagnostics) -> Option<ChainFile> {
    let mut own = Diagnostics::default();
    let toml = TomlText::parse(sources, id, &mut own);
    let file = (!own.has_errors()).then(|| chain_file(toml.table(), &mut own));
    problems.append(own);
    file
}

fn chain_file(root: Table, problems: &mut Diagnostics) -> ChainFile {
    root.allow(&["chain", "stage", "tape", "disk", "start"], "a chain file", problems);
    let stages = tables(root.need("stage", "a chain file", problems), problems);
    let stages = stages.into_iter().map(|table| stage(table, problems)).collect();
    let tapes = tables(root.get("tape"), problems).into_iter().filter_map(|table| tape(table, problems)).collect();
    let disks = tables(root.get("disk"), problems).into_iter().filter_map(|table| disk(table, problems)).collect();
    let starts = tables(root.get("start"), problems).into_iter().filter_map(|table| start(table, problems)).collect();
    let formats = vec![Format::IntelHex];
    let mut file =
        ChainFile { name: String::new(), machine: None, limit: USUAL_LIMIT, formats, stages, tapes, disks, starts };
    if let Some(chain) = root.need("chain", "a chain file", problems).and_then(|value| value.table(problems)) {
        let what = "`[chain]`";
        chain.allow(&["name", "machine", "limit", "images"], what, problems);
        file.name = needed(chain, "name", what, problems).map(|name| name.value).unwrap_or_default();
        file.machine = needed(chain, "machine", what, problems);
        if let Some(limit) = chain.get("limit").and_then(|value| value.integer(LIMITS, problems)) {
            file.limit = limit as u32;
        }
        if let Some(images) = chain.get("images") {
            file.formats = formats_of(images, problems);
        }
    }
    file
}

fn stage(table: Table, problems: &mut Diagnostics) -> StageEntry {
    let what = "`[[stage]]`";
    table.allow(&["name", "source", "image", "define", "home", "entry", "sense", "over", "lights"], what, problems);
    let name = needed(table, "name", what, problems);
    let entry = table.get("entry").and_then(|value| value.integer(0..=0xFFFF, problems));
    let lights = table.get("lights").and_then(|value| value.integer(CYCLES, problems));
    StageEntry {
        name: name.unwrap_or(Placed { value: String::new(), span: table.span() }),
        program: program(table, what, problems),
        home: table.need("home", what, problems).and_then(|value| home(value, problems)),
        definitions: table.get("define").map(|value| definitions(value, problems)).unwrap_or_default(),
        entry: entry.map(|entry| Address(entry as u16)),
        sense: table.get("sense").and_then(|value| placed_byte(value, problems)),
        over: table.get("over").map(|value| texts(value, problems)).unwrap_or_default(),
        lights: lights.map(|cycles| cycles as u64),
    }
}

fn program(table: Table, what: &str, problems: &mut Diagnostics) -> Option<Placed<Program>> {
    let (source, image) = (table.get("source"), table.get("image"));
    if let (Some(_), Some(image)) = (source, image) {
        image.wrong("`source` or `image`, not both", problems);
    }
    if let (None, Some(image)) = (source, image) {
        let Placed { value, span } = text(image, problems)?;
        return Some(Placed { value: Program::Image(value), span });
    }
    let Placed { value, span } = needed(table, "source", what, problems)?;
    Some(Placed { value: Program::Source(value), span })
}

fn home(value: Value, problems: &mut Diagnostics) -> Option<HomeEntry> {
    let table = value.table(problems)?;
    if let Some(panel) = table.get("panel") {
        table.allow(&["panel"], "a home at the panel", problems);
        let inner = panel.table(problems)?;
        inner.allow(&["limit"], "`panel`", problems);
        let limit = inner.get("limit").and_then(|value| value.integer(PANEL_BYTES, problems));
        return Some(HomeEntry::Panel(limit.map(|limit| limit as usize)));
    }
    if let Some(socket) = table.get("socket") {
        table.allow(&["socket"], "a home in a socket", problems);
        return sockets(socket, problems).map(HomeEntry::Sockets);
    }
    if let Some(tape) = table.get("tape") {
        table.allow(&["tape", "framing"], "a home on a tape", problems);
        let framing = needed(table, "framing", "a home on a tape", problems);
        return text(tape, problems).map(|tape| HomeEntry::Tape { tape, framing });
    }
    if let Some(disk) = table.get("disk") {
        table.allow(&["disk", "area"], "a home on a disk", problems);
        let area = needed(table, "area", "a home on a disk", problems);
        return text(disk, problems).map(|disk| HomeEntry::Disk { disk, area });
    }
    table.allow(&["panel", "socket", "tape", "disk"], "a home", problems);
    if table.keys().next().is_none() {
        value.wrong("a table with `panel`, `socket`, `tape` or `disk`", problems);
    }
    None
}

/// One name, or several.
fn sockets(value: Value, problems: &mut Diagnostics) -> Option<Vec<Placed<String>>> {
    if !value.is_array() {
        return text(value, problems).map(|name| vec![name]);
    }
    if value.is_empty_array() {
        value.wrong("the name of a socket, or several", problems);
    }
    let names = texts(value, problems);
    (!names.is_empty()).then_some(names)
}

fn definitions(value: Value, problems: &mut Diagnostics) -> Vec<Placed<(String, u16)>> {
    let Some(table) = value.table(problems) else { return Vec::new() };
    let defined = |(name, span): (&str, _)| {
        let number = table.get(name)?.integer(-32_768..=65_535, problems)?;
        Some(Placed { value: (name.to_owned(), number as u16), span })
    };
    table.keys().filter_map(defined).collect()
}

fn tape(table: Table, problems: &mut Diagnostics) -> Option<TapeEntry> {
    table.allow(&["name", "line", "after", "sound", "lettering"], "`[[tape]]`", problems);
    let name = needed(table, "name", "`[[tape]]`", problems);
    let line = table.get("line").map(|value| text(value, problems));
    let after = table.get("after").and_then(|value| value.integer(0..=3600, problems));
    let sound = table.get("sound").and_then(|value| text(value, problems));
    let lettering = table.get("lettering").and_then(|value| text(value, problems));
    let after = after.map_or(USUAL_DELAY, |after| after as f64);
    Some(TapeEntry { name: name?, line, after, sound, lettering })
}

fn disk(table: Table, problems: &mut Diagnostics) -> Option<DiskEntry> {
    let what = "`[[disk]]`";
    table.allow(&["name", "layout", "drive", "protected"], what, problems);
    let name = needed(table, "name", what, problems);
    let layout = needed(table, "layout", what, problems);
    let drive = table.get("drive").and_then(|value| text(value, problems));
    let protected = table.get("protected").and_then(|value| value.boolean(problems)).unwrap_or(false);
    Some(DiskEntry { name: name?, layout, drive, protected })
}

fn start(table: Table, problems: &mut Diagnostics) -> Option<StartEntry> {
    let what = "`[[start]]`";
    table.allow(&["name", "stages", "empty"], what, problems);
    let name = needed(table, "name", what, problems);
    let stages = table.need("stages", what, problems).map(|value| {
        let stages = texts(value, problems);
        if value.is_empty_array() {
            value.wrong("at least one stage", problems);
        }
        stages
    });
    let empty = table.get("empty").map(|value| texts(value, problems)).unwrap_or_default();
    Some(StartEntry { name: name?, stages: stages.unwrap_or_default(), empty })
}

/// Formats of images by their words.
fn formats_of(value: Value, problems: &mut Diagnostics) -> Vec<Format> {
    let choices: Vec<_> = Format::words().filter_map(|word| Some((word, Format::from_word(word)?))).collect();
    let values = value.array(problems).unwrap_or_default();
    values.into_iter().filter_map(|value| value.choice(&choices, problems)).collect()
}

fn placed_byte(value: Value, problems: &mut Diagnostics) -> Option<Placed<u8>> {
    Some(Placed { value: value.byte(problems)?, span: value.span() })
}
