//! `assemble`: a source to bytes, a listing, or a summary.

use std::fmt::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::files::{self, STREAM};
use super::notation_options::NotationOptions;
use super::outputs::Outputs;
use super::report::Report;
use super::source_file::{self, SourceOptions};
use super::values;
use coldwright::assembler::{Assembly, listing};
use coldwright::image::raw::Gaps;
use coldwright::image::{Format, Image, SymbolKind};
use coldwright::notation::{Notation, counted};
use coldwright::source::{Diagnostics, SourceMap};

/// Assemble a source into an image, a listing or a summary
#[derive(Args, Debug)]
#[command(after_help = "Examples:\n  coldwright assemble examples/belfry/keyin.asm -o keyin.hex -o keyin.lst\n  \
    coldwright assemble examples/rooster/rooster.asm -D BASE=0o177000 -o -")]
pub struct Assemble {
    /// The source; `-` reads standard input
    file: PathBuf,
    #[command(flatten)]
    source: SourceOptions,
    /// Write an output, by extension: .lst a listing; .bin, .hex, .s19, .s28, .s37, .elf, .c or .inc the image; may be
    /// given several times; `-` is the listing on standard output
    #[arg(short, long = "output", value_name = "FILE")]
    outputs: Vec<PathBuf>,
    /// Byte for the gaps between extents in a raw binary; without it, gaps are refused
    #[arg(long, value_name = "BYTE", value_parser = values::byte)]
    fill: Option<u8>,
    #[command(flatten)]
    written: NotationOptions,
    #[arg(skip)]
    notation: Notation,
}

impl Assemble {
    pub(super) fn run(mut self, report: &mut Report) {
        let Some(notation) = self.written.resolve(report) else { return };
        self.notation = notation;
        let mut sources = SourceMap::default();
        let text = match files::read(&self.file) {
            Ok(text) => text,
            Err(problem) => return report.problem(problem),
        };
        let keep_lines = self.outputs.iter().any(|path| is_listing(path));
        let (assembly, problems) = source_file::assemble(&self.file, text, &self.source, keep_lines, &mut sources);
        report.problems(problems, &sources);
        let Some(assembly) = assembly else { return };
        if self.outputs.is_empty() {
            let summary = if report.json() { summary_json(&assembly) } else { summary(&assembly.image, notation) };
            return report.print(summary);
        }
        let gaps = self.fill.map_or(Gaps::Refuse, Gaps::Fill);
        let mut problems = Diagnostics::default();
        let mut outputs = Outputs::default();
        for path in &self.outputs {
            let name = path.display().to_string();
            if is_listing(path) {
                outputs.add(path, listing(&sources, &assembly, notation));
                continue;
            }
            let format = Format::for_output(&name).map_err(|problem| problem.with_note("`.lst` is for a listing"));
            match format.and_then(|format| format.write(&assembly.image, gaps)) {
                Ok(bytes) => outputs.add(path, bytes),
                Err(problem) => problems.push(problem),
            }
        }
        outputs.finish(problems, &sources, report);
    }
}

/// Whether an output is a listing: by its extension, or because it is standard output.
fn is_listing(path: &Path) -> bool {
    path == Path::new(STREAM) || path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("lst"))
}

fn summary(image: &Image, notation: Notation) -> String {
    let mut out = String::new();
    for extent in image.extents() {
        let (from, to) = (notation.address(extent.base), notation.address(extent.last()));
        let _ = writeln!(out, "{from} to {to}  {}", counted(extent.bytes.len(), "byte"));
    }
    let _ = writeln!(out, "in all {}", counted(image.len(), "byte"));
    if let Some(entry) = image.entry {
        let _ = writeln!(out, "entry {}", notation.address(entry));
    }
    let labels = image.symbols.iter().filter(|symbol| symbol.kind == SymbolKind::Label).count();
    let _ = writeln!(out, "{}, {}", counted(labels, "label"), counted(image.symbols.len() - labels, "constant"));
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
