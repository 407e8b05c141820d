//! Diagnostics for people: the source line with the guilty spot marked, drawn by `ariadne`.

use std::collections::HashMap;
use std::fmt::Write;
use std::ops::Range;

use ariadne::{CharSet, Color, Config, IndexType, Report, ReportKind};

use super::diagnostic::{Diagnostic, Label, Severity};
use super::map::{Origin, SourceMap};
use super::place::SourceId;

/// How rendered diagnostics look.
#[derive(Clone, Copy, Debug, Default)]
pub struct Style {
    /// Colour, for a terminal.
    pub colour: bool,
}

/// A line longer than this (bytes) is quoted in part.
const LONGEST_SHOWN: usize = 400;

/// The most places of one ancestry that are shown.
const DEEPEST_SHOWN: usize = 8;

/// Renders diagnostics, keeping the prepared sources between them.
pub struct Renderer<'a> {
    sources: &'a SourceMap,
    prepared: HashMap<SourceId, ariadne::Source<String>>,
    style: Style,
}

impl<'a> Renderer<'a> {
    /// A renderer over the texts of a run.
    pub fn new(sources: &'a SourceMap, style: Style) -> Self {
        Renderer { sources, prepared: HashMap::new(), style }
    }

    /// One diagnostic as text, ending with a line's end.
    pub fn render(&mut self, diagnostic: &Diagnostic) -> String {
        match &diagnostic.primary {
            Some(primary) if self.shows_whole_lines(diagnostic) => self.draw(diagnostic, primary),
            primary => self.outline(diagnostic, primary.as_ref()),
        }
    }

    fn shows_whole_lines(&self, diagnostic: &Diagnostic) -> bool {
        let lines = diagnostic.primary.iter().chain(&diagnostic.related);
        lines.into_iter().all(|label| {
            let source = self.sources.get(label.span.source);
            source.line_text(source.line_of(label.span.start)).len() <= LONGEST_SHOWN
                && self.sources.text(label.span).len() <= LONGEST_SHOWN
        })
    }

    fn draw(&mut self, diagnostic: &Diagnostic, primary: &Label) -> String {
        let colour = match diagnostic.severity {
            Severity::Error => Color::Red,
            Severity::Warning => Color::Yellow,
            Severity::Note => Color::Blue,
        };
        let kind = ReportKind::Custom(diagnostic.severity.word(), colour);
        let config = Config::default()
            .with_color(self.style.colour)
            .with_index_type(IndexType::Char)
            .with_char_set(CharSet::Ascii)
            .with_tab_width(8);
        let mut report = Report::build(kind, self.place(primary))
            .with_config(config)
            .with_code(diagnostic.code)
            .with_message(&diagnostic.headline);
        // In the order of the text, so that the places of one file are drawn as one piece.
        let mut labels: Vec<_> = std::iter::once(primary).chain(&diagnostic.related).collect();
        labels.sort_by_key(|label| (label.span.source != primary.span.source, label.span.source, label.span.start));
        for label in labels {
            let drawn = ariadne::Label::new(self.place(label)).with_message(&label.text);
            let is_primary = std::ptr::eq(label, primary);
            report = report.with_label(if is_primary { drawn.with_color(colour) } else { drawn });
        }
        for note in diagnostic.notes.iter().cloned().chain(self.ancestry(primary)) {
            report = report.with_note(note);
        }
        if let Some(help) = &diagnostic.help {
            report = report.with_help(help);
        }
        let mut out = Vec::new();
        match report.finish().write(&mut *self, &mut out) {
            Ok(()) if self.style.colour => tidy(&String::from_utf8_lossy(&out)),
            // The library colours the word of the severity whatever its configuration says.
            Ok(()) => tidy(&without_colour(&String::from_utf8_lossy(&out))),
            Err(_) => self.outline(diagnostic, Some(primary)),
        }
    }

    /// The prepared text of a source.
    fn prepared(&mut self, id: SourceId) -> &ariadne::Source<String> {
        let sources = self.sources;
        self.prepared.entry(id).or_insert_with(|| ariadne::Source::from(showable(sources.get(id).text())))
    }

    /// Where a label lies, in characters: the library takes the place of a second file for characters whatever it is
    /// told, and would cut one in two.
    fn place(&mut self, label: &Label) -> Place {
        let source = self.prepared(label.span.source);
        let characters = |offset: u32| match source.get_byte_line(offset as usize) {
            Some((line, _, column)) => {
                let text = source.get_line_text(line).unwrap_or_default();
                line.offset() + text.char_indices().take_while(|&(at, _)| at < column).count()
            }
            None => source.len(),
        };
        (label.span.source, characters(label.span.start)..characters(label.span.end))
    }

    /// The plain form, for a problem without a place or in a line too long to show.
    fn outline(&self, diagnostic: &Diagnostic, primary: Option<&Label>) -> String {
        let mut out = format!("[{}] {}: {}\n", diagnostic.code, diagnostic.severity.word(), diagnostic.headline);
        for label in primary.iter().copied().chain(&diagnostic.related) {
            let (line, column) = self.sources.line_column(label.span.position());
            let name = self.sources.get(label.span.source).name();
            let shown: String = self.sources.text(label.span).chars().take(40).collect();
            let _ = writeln!(out, "  {name}:{line}:{column}: `{}` {}", shown.trim_end(), label.text);
        }
        let ancestry = primary.map(|label| self.ancestry(label)).unwrap_or_default();
        for note in diagnostic.notes.iter().chain(&ancestry) {
            let _ = writeln!(out, "  note: {note}");
        }
        if let Some(help) = &diagnostic.help {
            let _ = writeln!(out, "  help: {help}");
        }
        out
    }

    /// The calls and includes that led to a label, one a line.
    fn ancestry(&self, label: &Label) -> Vec<String> {
        let mut lines: Vec<_> = self
            .sources
            .ancestry(label.span.source)
            .map(|(origin, span)| {
                let (line, column) = self.sources.line_column(span.position());
                let name = self.sources.get(span.source).name();
                let how = if matches!(origin, Origin::Included(_)) { "included at" } else { "expanded from" };
                format!("{how} {name}:{line}:{column}")
            })
            .collect();
        let hidden = lines.len().saturating_sub(DEEPEST_SHOWN);
        if hidden > 0 {
            lines.drain(DEEPEST_SHOWN / 2..DEEPEST_SHOWN / 2 + hidden);
            lines.insert(DEEPEST_SHOWN / 2, format!("... and {hidden} more ..."));
        }
        lines
    }
}

/// A span as ariadne wants it.
type Place = (SourceId, Range<usize>);

/// A text of the same length in which only LF ends a line, as everywhere else here, and no control character reaches
/// the terminal.
fn showable(text: &str) -> String {
    let shown = |character| match character {
        '\n' | '\t' => character,
        '\u{80}'..='\u{9F}' => '\u{A0}',
        '\u{2028}' | '\u{2029}' => '\u{2007}',
        _ if character.is_control() => ' ',
        _ => character,
    };
    text.chars().map(shown).collect()
}

/// Takes out the sequences, from ESC to `m`, that colour text.
fn without_colour(text: &str) -> String {
    let mut parts = text.split("\x1b[");
    let first = parts.next().unwrap_or_default();
    let rest = parts.map(|part| match part.split_once('m') {
        Some((digits, rest)) if digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b';') => rest,
        _ => part,
    });
    std::iter::once(first).chain(rest).collect()
}

/// Takes trailing blanks off every line.
fn tidy(text: &str) -> String {
    text.lines().flat_map(|line| [line.trim_end(), "\n"]).collect()
}

impl<'a> ariadne::Cache<SourceId> for &mut Renderer<'a> {
    type Storage = String;

    fn fetch(&mut self, id: &SourceId) -> Result<&ariadne::Source<String>, impl std::fmt::Debug> {
        Ok::<_, std::convert::Infallible>(self.prepared(*id))
    }

    fn display<'b>(&self, id: &'b SourceId) -> Option<impl std::fmt::Display + 'b> {
        Some(self.sources.get(*id).name().to_owned())
    }
}
