//! `assemble`: a source to bytes, a listing, or a summary.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use serde_json::json;

use super::files::{Outputs, STREAM};
use super::report::Report;
use super::source_file::{self, SourceArguments};
use crate::assembler::{Assembly, listing};
use crate::image::{Image, SymbolKind};
use crate::notation::Notation;
use crate::source::{Code, Diagnostic, SourceMap};

/// Assemble a source into an image, a listing or a summary
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright assemble examples/keyin.asm -o keyin.bin -o keyin.lst\n  \
    coldwright assemble examples/keyin.asm -D PORT=0o60 -o -")]
pub struct Assemble {
    #[command(flatten)]
    source: SourceArguments,
    /// Write an output, by extension: .lst a listing, .bin raw bytes; may be given several times; - is the listing on
    /// standard output
    #[arg(short, long = "output", value_name = "OUT")]
    outputs: Vec<PathBuf>,
    /// How addresses and bytes are written
    #[arg(long, value_enum, default_value = "octal")]
    notation: NotationArgument,
}

/// The notations by the words that select them.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum NotationArgument {
    /// 177000 076
    Octal,
    /// 376 000 076
    Split,
    /// FE00 3E
    Hex,
}

impl From<NotationArgument> for Notation {
    fn from(argument: NotationArgument) -> Notation {
        match argument {
            NotationArgument::Octal => Notation::Octal,
            NotationArgument::Split => Notation::SplitOctal,
            NotationArgument::Hex => Notation::Hexadecimal,
        }
    }
}

impl Assemble {
    pub(super) fn run(self, report: &mut Report) {
        let mut sources = SourceMap::default();
        let Some(assembly) = source_file::assemble(&self.source, &mut sources, report) else { return };
        let notation = self.notation.into();
        if self.outputs.is_empty() {
            let summary = if report.json() { summary_json(&assembly) } else { summary(&assembly.image, notation) };
            return report.print(summary);
        }
        let mut outputs = Outputs::default();
        let mut refused = false;
        for path in &self.outputs {
            match output(path, &sources, &assembly, notation) {
                Ok(bytes) => outputs.add(path, bytes),
                Err(problem) => {
                    report.problem(problem);
                    refused = true;
                }
            }
        }
        if refused {
            return;
        }
        if let Err(problem) = outputs.commit() {
            report.problem(problem);
        }
    }
}

fn output(path: &Path, sources: &SourceMap, assembly: &Assembly, notation: Notation) -> Result<Vec<u8>, Diagnostic> {
    let extension = path.extension().map(|extension| extension.to_ascii_lowercase());
    match extension.as_ref().and_then(|extension| extension.to_str()) {
        Some("lst") => Ok(listing(sources, assembly, notation).into_bytes()),
        None if path == Path::new(STREAM) => Ok(listing(sources, assembly, notation).into_bytes()),
        Some("bin") => Ok(raw(&assembly.image)),
        _ => {
            let headline = format!("`{}` has no extension that names a format", path.display());
            Err(Diagnostic::error(Code::FormatUnknown, headline).with_help("end the name with .bin or .lst"))
        }
    }
}

/// The bytes from the first to the last, gaps filled with zero.
fn raw(image: &Image) -> Vec<u8> {
    let Some(first) = image.extents().next() else { return Vec::new() };
    let mut bytes = Vec::new();
    for extent in image.extents() {
        bytes.resize(extent.base.index() - first.base.index(), 0);
        bytes.extend_from_slice(extent.bytes);
    }
    bytes
}

fn summary(image: &Image, notation: Notation) -> String {
    let mut out = String::new();
    for extent in image.extents() {
        let (from, to) = (notation.address(extent.base), notation.address(extent.last()));
        let _ = writeln!(out, "{from} to {to}  {} bytes", extent.bytes.len());
    }
    let _ = writeln!(out, "in all {} bytes", image.len());
    if let Some(entry) = image.entry {
        let _ = writeln!(out, "entry {}", notation.address(entry));
    }
    let labels = image.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label).count();
    let _ = writeln!(out, "{labels} labels, {} constants", image.symbols.len() - labels);
    out
}

fn summary_json(assembly: &Assembly) -> String {
    let image = &assembly.image;
    let extents: Vec<_> =
        image.extents().map(|extent| json!({ "base": extent.base.0, "bytes": extent.bytes.len() })).collect();
    let symbols: Vec<_> = image
        .symbols
        .iter()
        .map(|symbol| json!({ "name": symbol.name, "value": symbol.value, "label": symbol.kind == SymbolKind::Label }))
        .collect();
    let entry = image.entry.map(|entry| entry.0);
    format!("{}\n", json!({ "extents": extents, "bytes": image.len(), "entry": entry, "symbols": symbols }))
}
