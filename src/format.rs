//! `format`: sources in one layout.

use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use super::files::{self, STREAM};
use super::outputs::Outputs;
use super::report::Report;
use super::source_file::{self, SourceOptions, shown};
use coldwright::assembler::Assembly;
use coldwright::formatting;
use coldwright::notation::counted;
use coldwright::source::{Code, Diagnostic, Diagnostics, Origin, SourceMap, Span};

/// Lay out sources in columns without changing a byte of what they make
#[derive(Args, Debug)]
#[command(
    after_help = "Examples:\n  coldwright format keyin.asm courier.asm\n  coldwright format --check chimes.asm\n\n\
    A line is laid out only if it is the same statement afterwards; every other line stays as it is. A source that\n\
    assembles by itself is assembled before and after, and both must give the same image."
)]
pub struct Format {
    /// The sources, changed in their places; `-` reads standard input and writes standard output
    #[arg(value_name = "FILE", required = true)]
    sources: Vec<PathBuf>,
    #[command(flatten)]
    options: SourceOptions,
    /// Change nothing, and fail if a source is not in the layout
    #[arg(long)]
    check: bool,
}

/// A source before and after.
struct Laid<'a> {
    path: &'a Path,
    before: String,
    after: String,
    /// Whether it was assembled both ways; else it was compared line by line alone.
    assembled: bool,
}

impl Format {
    pub(super) fn run(self, report: &mut Report) {
        let mut problems = Diagnostics::default();
        let mut sources = SourceMap::default();
        let (mut outputs, mut summary) = (Outputs::default(), String::new());
        for path in &self.sources {
            let laid = match self.lay_out(path) {
                Ok(laid) => laid,
                Err(problem) => {
                    problems.push(problem);
                    continue;
                }
            };
            if path == Path::new(STREAM) && !self.check {
                outputs.add(path, laid.after);
                continue;
            }
            summary += &if report.json() { laid.json() } else { laid.text(self.check) };
            if laid.before == laid.after {
                continue;
            }
            match self.check {
                true => problems.push(laid.differs(&mut sources)),
                false => outputs.change(path, laid.after),
            }
        }
        // Of a source that could not be changed nothing is said to be laid out.
        let is_check_only = self.check;
        if outputs.finish(problems, &sources, report) || is_check_only {
            report.print(summary);
        }
    }

    /// A source in the layout, once it is seen that nothing else of it has changed.
    fn lay_out<'a>(&self, path: &'a Path) -> Result<Laid<'a>, Diagnostic> {
        let bytes = files::read(path)?;
        let text = String::from_utf8(bytes.clone()).ok().filter(|text| is_as_read(text));
        let Some(before) = text else { return Err(odd(path)) };
        if let Some(problem) = files::no_program(path, &bytes) {
            return Err(problem);
        }
        let after = formatting::format(&before);
        let (first, second) = (self.assembled(path, &before), self.assembled(path, &after));
        if first.as_ref().map(said) != second.as_ref().map(said) {
            let headline = format!("`{}` would make another program, and is left as it is", path.display());
            return Err(Diagnostic::error(Code::SourceUnformatted, headline)
                .with_help("lay out what is in no column by hand, a line at a time"));
        }
        Ok(Laid { path, before, after, assembled: first.is_some() })
    }

    fn assembled(&self, path: &Path, text: &str) -> Option<Assembly> {
        source_file::assemble(path, text.into(), &self.options, false, &mut SourceMap::default()).0
    }
}

/// What a source makes, without the places that its bytes came from.
fn said(assembly: &Assembly) -> impl PartialEq + use<> {
    let image = &assembly.image;
    let extents: Vec<_> = image.extents().map(|extent| (extent.base, extent.bytes.to_vec())).collect();
    let symbols: Vec<_> = image.symbols.iter().map(|symbol| (symbol.name.clone(), symbol.value)).collect();
    (extents, image.entry, symbols)
}

/// Whether a text is written back as it was read: nothing is taken off or put in its place when it is assembled.
pub fn is_as_read(text: &str) -> bool {
    let mut sources = SourceMap::default();
    let source = sources.add("text", text, Origin::Given);
    sources.get(source).parity().is_none() && sources.get(source).text() == text
}

fn odd(path: &Path) -> Diagnostic {
    let headline = format!("`{}` is left as it is: it is no plain text", path.display());
    Diagnostic::error(Code::SourceUnformatted, headline)
        .with_note("it has bytes that are no characters, a byte order mark, parity bits, or carriage returns alone")
        .with_help("save it as plain text first")
}

impl Laid<'_> {
    /// How many lines are otherwise than they were.
    fn changed(&self) -> usize {
        // Of lines with their ends: a last line that has none is one line, and is changed if it gets one.
        let before: Vec<_> = self.before.split_inclusive('\n').collect();
        let after: Vec<_> = self.after.split_inclusive('\n').collect();
        before.iter().zip(&after).filter(|(before, after)| before != after).count() + before.len().abs_diff(after.len())
    }

    fn text(&self, check: bool) -> String {
        let name = shown(self.path);
        let how = if self.assembled { "the image is the same" } else { "every statement is the same" };
        match (self.changed(), check) {
            (0, _) => format!("{name}: in the layout\n"),
            (lines, true) => format!("{name}: {} to be laid out\n", counted(lines, "line")),
            (lines, false) => format!("{name}: {} laid out; {how}\n", counted(lines, "line")),
        }
    }

    fn json(&self) -> String {
        let line = json!({
            "file": shown(self.path), "lines": self.changed(), "assembled": self.assembled,
        });
        format!("{line}\n")
    }

    /// What is said of a source that is not in the layout, at the first line that is not.
    fn differs(&self, sources: &mut SourceMap) -> Diagnostic {
        let name = if self.path == Path::new(STREAM) { "(standard input)".into() } else { shown(self.path) };
        let headline = format!("`{name}` is not in the layout: {}", counted(self.changed(), "line"));
        let problem = Diagnostic::error(Code::SourceUnformatted, headline).with_help("`coldwright format` lays it out");
        let (source, mut start) = (sources.add(name, self.before.as_str(), Origin::Given), 0);
        for (before, after) in self.before.split('\n').zip(self.after.split('\n')) {
            if before != after {
                let end = start + before.trim_end().len() as u32;
                let expected = if after.is_empty() { "an empty line".into() } else { format!("expected `{after}`") };
                return problem.at(Span { source, start, end }, expected);
            }
            start += before.len() as u32 + 1;
        }
        problem
    }
}
