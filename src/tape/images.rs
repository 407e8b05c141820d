//! Programs that were read, as images.

use std::path::{Path, PathBuf};

use crate::outputs::Outputs;
use crate::pages::numbered;
use coldwright::image::format::Format;
use coldwright::image::raw::Gaps;
use coldwright::image::{Image, entry_outside};
use coldwright::notation::Notation;
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, Position, SourceMap};
use coldwright::tape::framing::ProgramRead;

/// Programs that are to become images.
pub(crate) struct Images<'a> {
    /// The programs in the order of the tape.
    pub programs: &'a [ProgramRead],
    /// The name of what they were read from.
    pub made_from: String,
    /// How addresses are written.
    pub notation: Notation,
    /// The byte for gaps in a raw binary; without it gaps are refused.
    pub fill: Option<u8>,
}

impl Images<'_> {
    /// Adds every program under every path, the format chosen by the extension; several programs are numbered. What is to
    /// be started where it has no byte is told, whether or not it is written.
    pub fn add(self, paths: &[PathBuf], sources: &mut SourceMap, problems: &mut Diagnostics, outputs: &mut Outputs) {
        let made_by = Position { source: sources.add(self.made_from, "", Origin::Given), offset: 0 };
        let gaps = self.fill.map_or(Gaps::Refuse, Gaps::Fill);
        let images: Vec<_> = self.programs.iter().map(|program| program.image(made_by)).collect();
        // Of what could not be read whole, the byte may be what is lacking.
        let whole = images.iter().zip(self.programs).filter(|(_, program)| program.is_whole());
        problems.extend(whole.filter_map(|((image, _), _)| entry_outside(image, image.entry?)));
        for path in paths {
            for (index, (image, contested)) in images.iter().enumerate() {
                let path = if images.len() == 1 { path.clone() } else { numbered(path, index + 1) };
                if let Some(first) = contested.first() {
                    problems.push(contested_bytes(index, contested.len(), &self.notation.address(*first).to_string()));
                }
                add_image(&path, image, gaps, problems, outputs);
            }
        }
    }
}

/// Adds an image under a path, the format chosen by the extension, and says what the format loses of it.
pub(crate) fn add_image(path: &Path, image: &Image, gaps: Gaps, problems: &mut Diagnostics, outputs: &mut Outputs) {
    let name = path.display().to_string();
    let written = Format::for_output(&name).and_then(|format| {
        problems.extend(format.losses(image, &name));
        format.write(image, gaps)
    });
    match written {
        Ok(bytes) => outputs.add(path, bytes),
        Err(problem) => problems.push(problem),
    }
}

fn contested_bytes(program: usize, count: usize, first: &str) -> Diagnostic {
    let headline = format!("{count} bytes of program {} stand on the tape twice with different values", program + 1);
    let note = format!("the first is at {first}; a loader keeps the later one, the image the earlier");
    Diagnostic::warning(Code::TapeDamaged, headline).with_note(note)
}
