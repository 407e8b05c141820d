//! Other files in pass one: their text by INCLUDE, their bytes by EMBED.

use super::bounds::Claim;
use super::frames::Kind;
use super::loader::{LoadError, Loaded};
use super::location::TOP;
use super::state::{PassOne, Place};
use super::statement::Task;
use crate::notation::counted;
use crate::source::{Code, Diagnostic, Origin, SourceId};
use crate::syntax::{Line, Operand, unquote};

impl PassOne<'_> {
    /// Goes on with the text of a file.
    pub(super) fn open_file(&mut self, id: SourceId, identity: String) {
        let source = self.sources.get(id);
        if let Some(parity) = source.parity() {
            self.diagnostics.push(parity.note(id, source.name()));
        }
        self.frames.push(id, source.shared_text(), Kind::File(identity));
    }

    pub(super) fn include(&mut self, place: Place, text: &str, line: &Line) {
        let span = place.span(line.word);
        let Some(name) = self.file_name(place, text, line) else { return };
        let Some(file) = self.load(place, line, &name) else { return };
        let ring = self.frames.files().any(|(identity, _)| identity == file.identity);
        if ring {
            let mut chain: Vec<_> = self.frames.files().map(|(_, id)| self.sources.get(id).name().to_owned()).collect();
            chain.push(file.name);
            let problem = Diagnostic::error(Code::IncludeRing, format!("`{name}` includes itself"))
                .at(span, "this include closes a ring")
                .with_note(format!("the ring: {}", chain.join(" includes ")));
            return self.diagnostics.push(problem);
        }
        if self.affords(span, Claim::Text(self.frames.depth())) && self.affords(span, Claim::Bytes(file.bytes.len())) {
            let id = self.sources.add(file.name, file.bytes, Origin::Included(span));
            self.open_file(id, file.identity);
        }
    }

    pub(super) fn embed(&mut self, place: Place, text: &str, line: &Line) {
        let Some(name) = self.file_name(place, text, line) else { return };
        let Some(file) = self.load(place, line, &name) else { return };
        let operands = self.operands(line);
        let mut number = |at: usize| operands.get(at).map(|&operand| self.value_now(place, operand, "EMBED"));
        let (skip, count) = (number(1), number(2));
        let skip = usize::from(skip.flatten().unwrap_or(0));
        let available = file.bytes.len().saturating_sub(skip);
        let wanted = count.flatten().map_or(available, usize::from);
        if skip > file.bytes.len() || wanted > available {
            let headline = format!("`{name}` has {}, too few for this part of it", counted(file.bytes.len(), "byte"));
            let problem = Diagnostic::error(Code::ValueRange, headline)
                .at(place.span(line.word), format!("asks for {} after the first {skip}", counted(wanted, "byte")));
            return self.diagnostics.push(problem);
        }
        if !self.affords(place.span(line.word), Claim::Bytes(wanted)) {
            return;
        }
        let bytes = file.bytes[skip..skip + wanted].to_vec();
        let size = bytes.len().min(TOP as usize + 1) as u32;
        self.keep(place, line, Task::Embed(self.embedded.len() as u32));
        self.embedded.push(bytes);
        self.advance(place, line, size);
    }

    fn load(&mut self, place: Place, line: &Line, name: &str) -> Option<Loaded> {
        if !self.affords(place.span(line.word), Claim::File) {
            return None;
        }
        let from = self.frames.files().last().map_or(place.source, |(_, id)| id);
        let loaded = self.loader.load(name, self.sources.get(from).name());
        loaded
            .map_err(|LoadError { reason, tried }| {
                let problem = Diagnostic::error(Code::IncludeMissing, format!("cannot read `{name}`: {reason}"))
                    .at(place.span(line.word), "asked for here");
                self.diagnostics.push(match tried.is_empty() {
                    true => problem,
                    false => problem.with_note(format!("looked for: {}", tried.join(", "))),
                });
            })
            .ok()
    }

    fn file_name(&mut self, place: Place, text: &str, line: &Line) -> Option<String> {
        match self.operand(line) {
            Operand::Text(start, end) => Some(unquote(&text[start as usize..end as usize]).collect()),
            Operand::Bare(start, end) => Some(text[start as usize..end as usize].to_owned()),
            _ => {
                let problem = Diagnostic::error(Code::UnexpectedText, "expected a file name in quotes")
                    .at(place.span(line.word), "the name of a file stands in single quotes")
                    .with_help("write it as `INCLUDE 'name.asm'`");
                self.diagnostics.push(problem);
                None
            }
        }
    }
}
