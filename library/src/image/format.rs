//! Which format a file has, told by its name or recognised by its content.

use super::byte_table::{self, Language};
use super::raw::{self, Gaps};
use super::s_record::{self, Width};
use super::{Image, Reading, elf, intel_hex, record};
use crate::notation::{Address, Both};
use crate::source::{Code, Diagnostic, Origin, SourceMap, nearest};

/// How much of a file is looked at to recognise it, in bytes.
const LOOKED_AT: usize = 64 << 10;

/// A format of image files.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Format {
    /// Bytes without addresses.
    Raw,
    /// Intel HEX.
    IntelHex,
    /// Motorola S-records of a width.
    SRecord(Width),
    /// ELF32.
    Elf,
    /// A table of bytes as source text.
    ByteTable(Language),
}

/// A format with all that names it.
struct Row {
    format: Format,
    /// What a person calls it.
    title: &'static str,
    /// What selects it on the command line, which is also the extension of its files.
    word: &'static str,
    /// Other extensions of its files.
    extensions: &'static [&'static str],
}

const TABLE: &[Row] = &[
    Row { format: Format::Raw, title: "raw binary", word: "bin", extensions: &["rom"] },
    Row { format: Format::IntelHex, title: "Intel HEX", word: "hex", extensions: &["ihx", "ihex"] },
    Row { format: Format::SRecord(Width::S19), title: "S-records (S19)", word: "s19", extensions: &["srec"] },
    Row { format: Format::SRecord(Width::S28), title: "S-records (S28)", word: "s28", extensions: &[] },
    Row { format: Format::SRecord(Width::S37), title: "S-records (S37)", word: "s37", extensions: &[] },
    Row { format: Format::Elf, title: "ELF", word: "elf", extensions: &[] },
    Row { format: Format::ByteTable(Language::C), title: "byte table in C", word: "c", extensions: &["h"] },
    Row {
        format: Format::ByteTable(Language::Assembly),
        title: "byte table in assembly",
        word: "inc",
        extensions: &[],
    },
];

/// How the format of a file is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Evidence {
    /// The user said so.
    Told,
    /// The content shows it; how.
    Content(String),
    /// Only the name says so.
    Name,
}

/// What goes with the format when an image is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Kept {
    /// Whether the addresses of bytes are kept.
    pub addresses: bool,
    /// Whether the entry is kept.
    pub entry: bool,
    /// Whether symbols are kept.
    pub symbols: bool,
}

impl Format {
    /// The words that select a format, in the order of the documentation.
    pub fn words() -> impl Iterator<Item = &'static str> {
        TABLE.iter().map(|row| row.word)
    }

    /// The format that a word selects.
    pub fn from_word(word: &str) -> Option<Format> {
        TABLE.iter().find(|row| row.word.eq_ignore_ascii_case(word)).map(|row| row.format)
    }

    /// The format of files with this extension, without its dot.
    pub fn from_extension(extension: &str) -> Option<Format> {
        let named =
            |row: &&Row| [row.word].iter().chain(row.extensions).any(|known| known.eq_ignore_ascii_case(extension));
        TABLE.iter().find(named).map(|row| row.format)
    }

    /// The format that the extension of a file's name promises.
    pub fn of_name(name: &str) -> Option<Format> {
        extension(name).and_then(Format::from_extension)
    }

    /// The format that the name of a file to be written asks for.
    ///
    /// # Errors
    /// A diagnostic that lists the extensions.
    pub fn for_output(name: &str) -> Result<Format, Diagnostic> {
        Format::of_name(name).ok_or_else(|| {
            let extension = extension(name).unwrap_or_default();
            let known = Format::words().collect::<Vec<_>>().join(", ");
            let headline = format!("no format of images goes with the name `{name}`");
            let problem = Diagnostic::error(Code::FormatUnknown, headline).with_note(format!("extensions are {known}"));
            match nearest(extension, Format::words()) {
                Some(near) if !extension.is_empty() => problem.with_help(format!("did you mean `.{near}`?")),
                _ => problem,
            }
        })
    }

    /// What a person calls it.
    pub fn title(self) -> &'static str {
        self.row().title
    }

    /// Whether it is the same format but for a choice that only writing makes.
    pub fn is_kind_of(self, other: Format) -> bool {
        self == other || matches!((self, other), (Format::SRecord(_), Format::SRecord(_)))
    }

    /// What selects it on the command line.
    pub fn word(self) -> &'static str {
        self.row().word
    }

    fn row(self) -> &'static Row {
        TABLE.iter().find(|row| row.format == self).unwrap_or(&TABLE[0])
    }

    /// What survives writing in this format.
    pub fn kept(self) -> Kept {
        match self {
            Format::Raw => Kept { addresses: false, entry: false, symbols: false },
            Format::IntelHex => Kept { addresses: true, entry: false, symbols: false },
            Format::SRecord(_) | Format::ByteTable(_) => Kept { addresses: true, entry: true, symbols: false },
            Format::Elf => Kept { addresses: true, entry: true, symbols: true },
        }
    }

    /// An image as a file of this format.
    ///
    /// # Errors
    /// A diagnostic if the format cannot hold the image.
    pub fn write(self, image: &Image, gaps: Gaps) -> Result<Vec<u8>, Diagnostic> {
        match self {
            Format::Raw => raw::write(image, gaps),
            Format::IntelHex => Ok(intel_hex::write(image)),
            Format::SRecord(width) => Ok(s_record::write(image, width)),
            Format::Elf => elf::write(image).map_err(|error| {
                Diagnostic::error(Code::ElfMalformed, format!("cannot lay out the ELF file: {error}"))
            }),
            Format::ByteTable(language) => Ok(byte_table::write(image, language)),
        }
    }

    /// A note on what is lost when an image is written in this format, if anything is.
    pub fn losses(self, image: &Image, name: &str) -> Option<Diagnostic> {
        let kept = self.kept();
        let is_none = matches!(self, Format::SRecord(_) | Format::Elf) && image.entry == Some(Address(0));
        let entry = image.entry.filter(|_| !kept.entry);
        let entry = entry.map(|entry| format!("the entry `{}`", Both(entry)));
        let symbols = (!kept.symbols && !image.symbols.is_empty()).then(|| format!("{} symbols", image.symbols.len()));
        let lost: Vec<_> = [entry, symbols].into_iter().flatten().collect();
        if lost.is_empty() && is_none {
            let headline = format!("`{name}` reads back without the entry `{}`", Both(Address(0)));
            let why = format!("in the format, {}, an entry of zero stands for none", self.title());
            return Some(Diagnostic::note(Code::FormatLoss, headline).with_note(why));
        }
        if lost.is_empty() {
            return None;
        }
        let headline = format!("`{name}` is without {}", lost.join(" and "));
        let why = format!("the format, {}, has no place for this", self.title());
        Some(Diagnostic::note(Code::FormatLoss, headline).with_note(why))
    }

    /// Reads a file of this format. A raw binary needs the address of its first byte.
    pub fn read(self, bytes: Vec<u8>, name: &str, origin: Option<Address>, sources: &mut SourceMap) -> Reading {
        match (self, origin) {
            (Format::Raw, Some(origin)) => raw::read(&bytes, origin, name, sources),
            (Format::Raw, None) => refusal(without_origin(name)),
            (_, Some(_)) => refusal(with_origin(self, name)),
            (Format::Elf, None) => elf::read(&bytes, name, sources),
            (Format::IntelHex | Format::SRecord(_) | Format::ByteTable(_), None) if bytes.len() > LONGEST_TEXT => {
                refusal(too_long(name))
            }
            (Format::IntelHex | Format::SRecord(_) | Format::ByteTable(_), None) => {
                let source = sources.add(name, bytes, Origin::Given);
                let text = sources.get(source).text();
                let mut reading = match self {
                    Format::SRecord(_) => s_record::read(text, source),
                    Format::ByteTable(language) => byte_table::read(text, source, language),
                    _ => intel_hex::read(text, source),
                };
                if let Some(parity) = sources.get(source).parity() {
                    reading.problems.push(parity.note(source, name));
                }
                reading
            }
        }
    }
}

/// The longest text that is read: the longest form of a whole image takes less than half of it.
const LONGEST_TEXT: usize = 4 << 20;

fn refusal(problem: Diagnostic) -> Reading {
    let mut reading = Reading::default();
    reading.problems.push(problem);
    reading
}

fn without_origin(name: &str) -> Diagnostic {
    Diagnostic::error(Code::RawOrigin, format!("nothing says at which address `{name}` begins"))
        .with_note("a raw binary holds bytes and no addresses")
        .with_help("give it: `--origin 0o177000`")
}

fn with_origin(format: Format, name: &str) -> Diagnostic {
    Diagnostic::error(Code::RawOrigin, format!("`{name}` has addresses of its own"))
        .with_note(format!("its format is {}; only a raw binary takes an origin", format.title()))
        .with_help("leave `--origin` out, or add `--format bin` if it is a raw binary after all")
}

fn too_long(name: &str) -> Diagnostic {
    Diagnostic::error(
        Code::ImagePastTop,
        format!("`{name}` is longer than any image of 64 KiB: over {} MiB", LONGEST_TEXT >> 20),
    )
}

/// The format of a file and how it is known: its content counts first, then its name.
///
/// # Errors
/// A diagnostic if neither tells.
pub fn recognise(bytes: &[u8], name: &str) -> Result<(Format, Evidence), Diagnostic> {
    if let Some((format, shown)) = by_content(bytes) {
        return Ok((format, Evidence::Content(shown)));
    }
    match Format::of_name(name) {
        Some(format) => Ok((format, Evidence::Name)),
        None => Err(Diagnostic::error(Code::FormatUnknown, format!("cannot tell the format of `{name}`"))
            .with_note("neither its content nor its name shows it")
            .with_help(format!("say it: `--format {}`", Format::words().collect::<Vec<_>>().join("|")))),
    }
}

/// The extension of a name, without its dot.
fn extension(name: &str) -> Option<&str> {
    let file = name.rsplit(['/', '\\']).next().unwrap_or(name);
    file.rsplit_once('.').map(|(_, extension)| extension)
}

/// What the content proves: a magic number, the title of a byte table, or a record whose checksum is right in a text.
fn by_content(bytes: &[u8]) -> Option<(Format, String)> {
    if bytes.starts_with(&ELF_MAGIC) {
        return Some((Format::Elf, "it begins with the magic number of ELF".into()));
    }
    let start = &bytes[..bytes.len().min(LOOKED_AT)];
    let text: String = start.iter().map(|&byte| char::from(byte)).collect();
    let mut header = None;
    for (line, (_, text)) in record::lines(&text).enumerate() {
        if !text.chars().all(is_captured) {
            break;
        }
        let Some((format, what)) = of_line(text.trim_matches(['\0', '\x7F', '\x1A', ' ', '\t', '\u{FF}'])) else {
            continue;
        };
        let shown = format!("line {} is {what}", line + 1);
        match format {
            Some(format) => return Some((format, shown)),
            None => _ = header.get_or_insert(shown),
        }
    }
    header.map(|shown| (Format::SRecord(Width::default()), shown))
}

const ELF_MAGIC: [u8; 4] = [0x7F, b'E', b'L', b'F'];

/// Whether a byte may stand in a text that a terminal captured: what prints, TAB, NUL, BEL, BS, control-Z, ESC, DEL and
/// the all-ones byte of an idle line.
fn is_captured(byte: char) -> bool {
    matches!(byte, ' '..='\x7E' | '\t' | '\0' | '\x07' | '\x08' | '\x1A' | '\x1B' | '\x7F' | '\u{FF}')
}

/// The format of a line that can belong to one format only, perhaps behind a prompt; none for an S-record that does not
/// tell the width of the others.
fn of_line(line: &str) -> Option<(Option<Format>, &'static str)> {
    let from = |mark: &[char]| line.rfind(mark).map(|at| &line[at..]);
    if from(&[':']).is_some_and(intel_hex::is_sound) {
        return Some((Some(Format::IntelHex), "a record with a right checksum"));
    }
    if let Some(width) = from(&['S', 's']).and_then(s_record::sound_width) {
        return Some((width.map(Format::SRecord), "a record with a right checksum"));
    }
    let tables = [Language::C, Language::Assembly];
    let table = tables.into_iter().find(|table| table.title().eq_ignore_ascii_case(line));
    table.map(|table| (Some(Format::ByteTable(table)), "the title of such a table"))
}
