//! What holds of the assembler for any source.

mod expressions;
mod formatting;
mod programs;
mod robustness;
mod whole;

pub use robustness::WORDS;

use coldwright::assembler::{Assembly, Options, StdlibOnly, assemble, listing};
use coldwright::notation::Notation;
use coldwright::source::{Origin, Renderer, SourceMap, Style, to_json_line};

/// Assembles a text that includes nothing but library files.
fn assembled(text: impl Into<Vec<u8>>) -> (SourceMap, Assembly) {
    let mut sources = SourceMap::default();
    let root = sources.add("property.asm", text, Origin::Given);
    let options = Options { keep_lines: true, ..Options::default() };
    let assembly = assemble(&mut sources, root, &options, &mut StdlibOnly);
    (sources, assembly)
}

/// The bytes of a text that must have no error.
fn bytes(text: &str) -> Result<Vec<u8>, String> {
    let (_, assembly) = assembled(text);
    match assembly.diagnostics.iter().find(|problem| problem.severity == coldwright::source::Severity::Error) {
        Some(problem) => Err(format!("{}\n{text}", problem.headline)),
        None => Ok(assembly.image.extents().flat_map(|extent| extent.bytes.to_vec()).collect()),
    }
}

/// Everything that can be made of a source: its bytes, its listing and its problems in both forms, as one text.
fn everything(text: impl Into<Vec<u8>>) -> String {
    let (sources, mut assembly) = assembled(text);
    let mut out = listing(&sources, &assembly, Notation::Octal);
    let problems = std::mem::take(&mut assembly.diagnostics).sorted(&sources);
    let mut renderer = Renderer::new(&sources, Style::default());
    for problem in problems.iter().take(20) {
        out += &renderer.render(problem);
        out += &to_json_line(problem, &sources);
    }
    out
}
