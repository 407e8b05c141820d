//! Whatever the chain file and the machine file say, reading them comes back, and all there is to say can be shown. What
//! loads is drawn and written down as `build` does.

#![no_main]

use coldwright::assembler::{LoadError, Loaded, Loader, StdlibOnly};
use coldwright::booklet::booklet;
use coldwright::delivery::{Drawn, files_of};
use coldwright::panel::Paper;
use coldwright::project::{Artefacts, Files, Recordings, load};
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Renderer, SourceMap, Style};

/// Between the chain file and the files that it names in the input.
const BREAK: &str = "\n#####\n";

/// Bytes of a chain that is built: a large one takes its time without being wrong.
const MOST_BUILT: usize = 256;

/// `machine.toml` is the second text, every other name ending in `.toml` (a layout, a framing) the third, every other file the
/// fourth.
struct Beside<'a> {
    machine: &'a str,
    layout: &'a str,
    program: &'a str,
}

impl Files for Beside<'_> {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        match path.rsplit_once('.') {
            Some(("machine", "toml")) => Ok((path.into(), self.machine.into())),
            Some((_, "toml")) => Ok((path.into(), self.layout.into())),
            Some((_, "asm" | "hex" | "bin")) => Ok((path.into(), self.program.into())),
            _ => Err(Diagnostic::error(Code::FileUnreadable, "no such file")),
        }
    }
}

impl Loader for Beside<'_> {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        StdlibOnly.load(name, from)
    }
}

fn shown(problems: Diagnostics, sources: &SourceMap) {
    let mut renderer = Renderer::new(sources, Style::default());
    for problem in problems.sorted(sources).iter().take(8) {
        assert!(!renderer.render(problem).is_empty());
    }
}

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let mut parts = text.splitn(4, BREAK);
    let [chain, machine, layout, program] = [(); 4].map(|()| parts.next().unwrap_or_default());
    let mut sources = SourceMap::default();
    let root = sources.add("coldwright.toml", chain, Origin::Given);
    let (plan, problems) = load(&mut sources, root, &mut Beside { machine, layout, program });
    shown(problems, &sources);
    if let Some(plan) = plan
        && plan.stages.iter().map(|stage| stage.image.len()).sum::<usize>() < MOST_BUILT
        && let Err(problems) = Artefacts::make(&plan, &sources, Recordings::Left).and_then(|made| {
            let drawn = Drawn::make(&plan, &made, &sources, None, Paper::A4)?;
            booklet(&plan, &made, &drawn, None, &[]);
            files_of(&plan, &made, &drawn, &sources)
        })
    {
        shown(problems, &sources);
    }
});
