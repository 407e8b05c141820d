//! Other files in pass one: their text by INCLUDE, their bytes by EMBED.

use super::frames;
use super::loader::{LoadError, Loaded};
use super::pass_one::{PassOne, Place, TOP};
use super::statement::Task;
use crate::notation::counted;
use crate::source::{Code, Diagnostic, Origin};
use crate::syntax::{Line, Operand, unquote};

/// How many times a program may read a file.
const MOST_FILES: usize = 10_000;

impl PassOne<'_> {
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
        if self.bounded(span) && self.affords(span, file.bytes.len()) {
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
        if !self.affords(place.span(line.word), wanted) {
            return;
        }
        let bytes = file.bytes[skip..skip + wanted].to_vec();
        let size = bytes.len().min(TOP as usize + 1) as u32;
        self.keep(place, line, Task::Embed(self.embedded.len() as u32));
        self.embedded.push(bytes);
        self.advance(place, line, size);
    }

    fn load(&mut self, place: Place, line: &Line, name: &str) -> Option<Loaded> {
        self.files_read += 1;
        if self.files_read > MOST_FILES {
            let headline = format!("more than {MOST_FILES} files are included or embedded");
            let problem = Diagnostic::error(Code::ExpansionBound, headline)
                .at(place.span(line.word), "this one goes past the bound")
                .with_help("look for files that include each other's parts again and again");
            self.diagnostics.push(problem);
            self.frames.leave_all_expansions();
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

    /// Whether one more text may be opened; if not, that is an error and all expansions end.
    pub(super) fn bounded(&mut self, span: crate::source::Span) -> bool {
        if self.frames.depth() < frames::DEEPEST {
            return true;
        }
        let headline = format!("includes and expansions are nested more than {} deep", frames::DEEPEST);
        let problem = Diagnostic::error(Code::ExpansionBound, headline)
            .at(span, "the one that is one too many")
            .with_help("a macro that calls itself needs an IF that ends it");
        self.diagnostics.push(problem);
        self.frames.leave_all_expansions();
        false
    }
}
