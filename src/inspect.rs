//! `inspect`: what an image file holds.

use std::fmt::Write;
use std::path::PathBuf;

use clap::Args;
use crc::{CRC_16_ARC, CRC_16_IBM_3740, CRC_16_KERMIT, CRC_16_XMODEM, Crc};
use serde_json::{Map, Value, json};

use super::input::{ImageFile, ImageOptions, open};
use super::notation_options::NotationOptions;
use super::report::Report;
use coldwright::image::format::{Evidence, Format};
use coldwright::image::{Extent, Image, Reading, SymbolKind};
use coldwright::notation::{Address, Notation, counted};
use coldwright::source::SourceMap;

/// Say what an image file holds, and what is wrong with it
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  \
    coldwright inspect rooster.hex\n  \
    coldwright inspect rooster.bin --origin 0o177000 --dump --notation split")]
pub struct Inspect {
    /// The image: raw binary, Intel HEX, S-records, ELF or byte table; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    options: ImageOptions,
    /// Print every byte, beside its text
    #[arg(long)]
    dump: bool,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

impl Inspect {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let file = match open(&self.file, &self.options) {
            Ok(file) => file,
            Err(problem) => return report.problem(problem),
        };
        let mut finding = Finding::of(&file);
        let assumed = file.format == Format::Raw && self.options.origin.is_none();
        let origin = if assumed { Some(Address(0)) } else { self.options.origin };
        if assumed {
            finding.facts.push(("origin", "not given: addresses below count from zero".into()));
        }
        let mut sources = SourceMap::default();
        let Reading { image, problems, facts } = file.read(origin, &mut sources);
        finding.facts.extend(facts);
        finding.sound = !problems.has_errors();
        finding.checks = checks(&image);
        let result = if report.json() {
            format!("{}\n", finding.json(&image, self.dump))
        } else {
            finding.text(&image, self.notation, self.dump)
        };
        report.print(result);
        report.problems(problems, &sources);
    }
}

/// What is to be told of a file besides its image.
struct Finding {
    name: String,
    format: Format,
    recognised: String,
    facts: Vec<(&'static str, String)>,
    sound: bool,
    checks: Vec<(&'static str, Check)>,
}

/// A check over all bytes of an image.
#[derive(Clone, Copy)]
enum Check {
    Byte(u8),
    Word(u16),
}

/// The checks of all bytes by rising address, gaps left out.
fn checks(image: &Image) -> Vec<(&'static str, Check)> {
    let bytes: Vec<u8> = image.extents().flat_map(|extent| extent.bytes).copied().collect();
    let sum = bytes.iter().fold(0u8, |sum, &byte| sum.wrapping_add(byte));
    let word = |algorithm| Check::Word(Crc::<u16>::new(algorithm).checksum(&bytes));
    vec![
        ("sum-8", Check::Byte(sum)),
        ("sum-8 negated", Check::Byte(sum.wrapping_neg())),
        ("XOR", Check::Byte(bytes.iter().fold(0, |xor, byte| xor ^ byte))),
        ("CRC-16/ARC", word(&CRC_16_ARC)),
        ("CRC-16/XMODEM", word(&CRC_16_XMODEM)),
        ("CRC-16/IBM-3740", word(&CRC_16_IBM_3740)),
        ("CRC-16/KERMIT", word(&CRC_16_KERMIT)),
    ]
}

impl Finding {
    fn of(file: &ImageFile) -> Self {
        let recognised = match &file.evidence {
            Evidence::Told => "as told by `--format`".to_owned(),
            Evidence::Content(shown) => format!("by its content: {shown}"),
            Evidence::Name if file.format == Format::Raw => "by its name only: a raw binary shows nothing".to_owned(),
            Evidence::Name => "by its name only: its content does not show it".to_owned(),
        };
        let (name, format) = (file.name.clone(), file.format);
        Finding { name, format, recognised, facts: Vec::new(), sound: true, checks: Vec::new() }
    }

    fn text(&self, image: &Image, notation: Notation, dump: bool) -> String {
        let extents: Vec<_> = image.extents().collect();
        let mut out =
            format!("{}: {}{}\n", self.name, self.format.title(), if self.sound { "" } else { ", not sound" });
        let mut line = |name: &str, value: &dyn std::fmt::Display| _ = writeln!(out, "  {name:<16}  {value}");
        line("recognised", &self.recognised);
        for (name, value) in &self.facts {
            line(name, value);
        }
        match image.entry {
            Some(entry) => line("entry", &notation.address(entry)),
            None => line("entry", &"none"),
        }
        let some = if self.sound { "" } else { ", of what could be read" };
        line("bytes", &format_args!("{} in {}{some}", image.len(), counted(extents.len(), "extent")));
        for extent in &extents {
            let (first, last) = (notation.address(extent.base), notation.address(extent.last()));
            line("", &format_args!("{first} to {last}  {}", counted(extent.bytes.len(), "byte")));
        }
        for (name, check) in self.checks.iter().filter(|_| self.sound && !image.is_empty()) {
            match *check {
                Check::Byte(byte) => line(name, &notation.byte(byte)),
                Check::Word(word) => line(name, &notation.word(word)),
            }
        }
        symbols_text(&mut out, image, notation);
        for extent in extents.iter().filter(|_| dump) {
            out.push('\n');
            dump_extent(&mut out, extent, notation);
        }
        out
    }

    fn json(&self, image: &Image, dump: bool) -> Value {
        let extents = image.extents().map(|extent| {
            let mut object = json!({ "base": extent.base.0, "length": extent.bytes.len() });
            if dump {
                object["bytes"] = hex::encode(extent.bytes).into();
            }
            object
        });
        let symbols = image.symbols.iter().map(|symbol| {
            let kind = if symbol.kind == SymbolKind::Label { "label" } else { "constant" };
            json!({ "name": symbol.name, "value": symbol.value, "kind": kind })
        });
        let checks = self.checks.iter().map(|&(name, check)| match check {
            Check::Byte(byte) => (name.to_owned(), byte.into()),
            Check::Word(word) => (name.to_owned(), word.into()),
        });
        let facts = self.facts.iter().map(|(name, value)| ((*name).to_owned(), value.clone().into()));
        json!({
            "file": self.name,
            "format": self.format.word(),
            "recognised": self.recognised,
            "sound": self.sound,
            "facts": facts.collect::<Map<_, Value>>(),
            "entry": image.entry.map(|entry| entry.0),
            "extents": extents.collect::<Vec<_>>(),
            "checks": checks.collect::<Map<_, Value>>(),
            "symbols": symbols.collect::<Vec<_>>(),
        })
    }
}

fn symbols_text(out: &mut String, image: &Image, notation: Notation) {
    for (place, symbol) in image.symbols.iter().enumerate() {
        let title = if place == 0 { "symbols" } else { "" };
        let constant = if symbol.kind == SymbolKind::Constant { "  (constant)" } else { "" };
        let _ = writeln!(out, "  {title:<16}  {}  {}{constant}", notation.word(symbol.value), symbol.name);
    }
}

/// Rows of bytes at round addresses, each beside its text; what is no printing ASCII is a dot.
fn dump_extent(out: &mut String, extent: &Extent<'_>, notation: Notation) {
    let per_row = if notation == Notation::Hexadecimal { 16 } else { 8 };
    let base = extent.base.index();
    let mut at = 0;
    while at < extent.bytes.len() {
        let before = (base + at) % per_row;
        let row = &extent.bytes[at..extent.bytes.len().min(at + per_row - before)];
        let _ = write!(
            out,
            "  {}  {:before$}",
            notation.address(Address((base + at) as u16)),
            "",
            before = before * (notation.byte_width() + 1)
        );
        for &byte in row {
            let _ = write!(out, "{} ", notation.byte(byte));
        }
        let behind = (per_row - before - row.len()) * (notation.byte_width() + 1);
        let _ = write!(out, "{:behind$} |{:before$}", "", "");
        out.extend(row.iter().map(|&byte| if matches!(byte, b' '..=b'~') { char::from(byte) } else { '.' }));
        out.push_str("|\n");
        at += row.len();
    }
}
