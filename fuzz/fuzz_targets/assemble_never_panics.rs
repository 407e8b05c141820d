//! Whatever the text, the assembler comes back, and all it has to say can be shown.

#![no_main]

use coldwright::assembler::{Options, StdlibOnly, assemble, listing};
use coldwright::notation::Notation;
use coldwright::source::{Origin, Renderer, SourceMap, Style, to_json_line};

/// The most problems that are rendered, so that the time goes into assembling.
const MOST_SHOWN: usize = 8;

libfuzzer_sys::fuzz_target!(|text: &[u8]| {
    let mut sources = SourceMap::default();
    let root = sources.add("fuzz.asm", text, Origin::Given);
    let options = Options { definitions: vec![("GIVEN".into(), 5)], warn_unused: true, keep_lines: true };
    let mut assembly = assemble(&mut sources, root, &options, &mut StdlibOnly);
    let problems = std::mem::take(&mut assembly.diagnostics).sorted(&sources);
    let mut renderer = Renderer::new(&sources, Style::default());
    for problem in problems.iter().take(MOST_SHOWN) {
        assert!(!renderer.render(problem).is_empty());
        assert!(!to_json_line(problem, &sources).contains('\n'));
    }
    // A listing of all expansions would be most of the time.
    if assembly.lines.len() < 2000 {
        listing(&sources, &assembly, Notation::Octal);
    }
});
