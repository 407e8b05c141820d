//! What a stage is made from: a source that is assembled, or an image file that is read.

use std::sync::Arc;

use super::chain_file::{Program, StageEntry};
use super::entries::Placed;
use super::plan::{CodeMap, Home, PortUse};
use super::planner::{Planner, is_misfit};
use super::survey::Surveyed;
use crate::assembler::{self, Assembly, Options};
use crate::image::format;
use crate::image::{Image, entry_outside};
use crate::isa::{Mnemonic, Pattern, decode};
use crate::notation::Address;
use crate::source::{Severity, SourceId, Span};

/// What a stage is made of, once it is made.
pub(super) struct Made {
    /// The file, as shown.
    pub file: String,
    /// The text that is assembled, if it comes from a source.
    pub root: Option<SourceId>,
    /// Its bytes.
    pub image: Image,
    /// Which of them are instructions, if that is known.
    pub code: Option<CodeMap>,
    /// The assembly, if it comes from a source.
    pub assembly: Option<Arc<Assembly>>,
}

impl Planner<'_> {
    /// Makes the program of a stage, and reports what is wrong with it.
    pub(super) fn make(&mut self, entry: &StageEntry, home: Option<&Home>) -> Option<Made> {
        let Placed { value, span } = entry.program.as_ref()?;
        match value {
            Program::Source(path) => self.assemble(entry, home, (path, *span)),
            Program::Image(path) => self.read_image(path, *span),
        }
    }

    fn assemble(&mut self, entry: &StageEntry, home: Option<&Home>, (path, spot): (&str, Span)) -> Option<Made> {
        let root = self.text(path, spot)?;
        let definitions = entry.constants();
        let options = Options { definitions: definitions.clone(), warn_unused: false, keep_lines: true };
        let mut assembly = assembler::assemble(self.sources, root, &options, self.files);
        assembly.export_symbols();
        let problems = std::mem::take(&mut assembly.diagnostics);
        // What is over a limit is there, and can be measured.
        let failed = problems.iter().any(|it| it.severity == Severity::Error && !is_misfit(it));
        self.problems.append(problems);
        let code = code_map(&assembly);
        let assembly = Arc::new(assembly);
        self.assembled.push(Surveyed {
            name: entry.name.value.clone(),
            root,
            definitions,
            defined_at: entry.definitions.iter().map(|it| it.span).collect(),
            home: home.cloned(),
            assembly: Arc::clone(&assembly),
        });
        let image = assembly.image.clone();
        let file = self.sources.get(root).name().to_owned();
        (!failed).then_some(Made { file, root: Some(root), image, code: Some(code), assembly: Some(assembly) })
    }

    fn read_image(&mut self, path: &str, spot: Span) -> Option<Made> {
        let (name, bytes) = self.bytes(path, spot)?;
        let format = format::recognise(&bytes, &name);
        let format = format.map_err(|problem| self.problems.push(problem.at(spot, "named here"))).ok()?.0;
        let reading = format.read(bytes, &name, None, self.sources);
        let failed = reading.problems.has_errors();
        self.problems.append(reading.problems);
        let outside = reading.image.entry.and_then(|entry| entry_outside(&reading.image, entry));
        self.problems.extend(outside.filter(|_| !failed).map(|problem| problem.at(spot, "named here")));
        (!failed).then_some(Made { file: name, root: None, image: reading.image, code: None, assembly: None })
    }
}

/// Where an assembly's instructions lie when they run, and which ports they name.
fn code_map(assembly: &Assembly) -> CodeMap {
    let mut map = CodeMap::default();
    for statement in &assembly.statements {
        let Some(mnemonic) = statement.instruction() else { continue };
        map.opcodes.push(statement.location);
        let output = match mnemonic.form().pattern {
            Pattern::Port => mnemonic == Mnemonic::Out,
            _ => continue,
        };
        let place = Address(statement.deposit()).wrapping_add(1);
        if let Some(port) = assembly.image.byte(place) {
            let byte_behind = |distance| assembly.image.byte(place.wrapping_add(distance));
            let is_mask = !output && byte_behind(1).is_some_and(|byte| decode(byte).mnemonic == Mnemonic::Ani);
            let tested = if is_mask { byte_behind(2).unwrap_or(0) } else { 0 };
            map.ports.push(PortUse { port, output, tested, span: statement.span() });
        }
    }
    map.opcodes.sort_unstable();
    map.opcodes.dedup();
    map
}
