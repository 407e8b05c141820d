//! What a file defines, and what of it can be folded.

use super::scopes::directive_of;
use super::view::View;
use crate::assembler::{Meaning, Worth};
use crate::source::{Diagnostics, Origin, SourceId, Span, TomlText};
use crate::syntax::{Directive, Names, lex_line};

/// What something that a file defines is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlinedKind {
    /// A label.
    Label,
    /// A value of EQU.
    Constant,
    /// A value of SET.
    Variable,
    /// A macro.
    Macro,
    /// A table of a TOML file.
    Table,
}

/// Something that a file defines.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Outlined {
    /// What it is called.
    pub name: String,
    /// Its value or its name.
    pub detail: String,
    /// What it is.
    pub kind: OutlinedKind,
    /// Where its name stands.
    pub span: Span,
}

/// What a text of a view defines, in the order of the text.
pub fn outline(view: &View, source: SourceId) -> Vec<Outlined> {
    let Some(program) = view.program_of(source) else { return tables(view, source) };
    let assembly = &program.assembly;
    let notation = view.notation();
    let mut found = Vec::new();
    for name in assembly.names.all() {
        let Some(entry) = assembly.symbols.get(name) else { continue };
        let Some(span) = entry.defined.filter(|span| span.source == source) else { continue };
        let kind = match entry.meaning {
            Meaning::Undefined => continue,
            Meaning::Label => OutlinedKind::Label,
            Meaning::Constant | Meaning::Register(_) => OutlinedKind::Constant,
            Meaning::Variable => OutlinedKind::Variable,
            Meaning::Macro(_) => OutlinedKind::Macro,
        };
        let detail = match entry.worth {
            Worth::Known(value) if kind != OutlinedKind::Macro => notation.word(value).to_string(),
            _ => String::new(),
        };
        found.push(Outlined { name: assembly.names.text(name).to_owned(), detail, kind, span });
    }
    found.sort_by_key(|it| it.span.start);
    found
}

/// The tables of a TOML file.
fn tables(view: &View, source: SourceId) -> Vec<Outlined> {
    let mut unsaid = Diagnostics::default();
    let toml = TomlText::parse(&view.sources, source, &mut unsaid);
    let root = toml.table();
    let mut found = Vec::new();
    for (key, span) in root.keys() {
        let Some(value) = root.get(key) else { continue };
        let mut add = |detail: &str, span| {
            let (name, detail) = (key.to_owned(), detail.to_owned());
            found.push(Outlined { name, detail, kind: OutlinedKind::Table, span });
        };
        if !value.is_array() {
            add("", span);
            continue;
        }
        for table in value.array(&mut unsaid).unwrap_or_default() {
            let name = table.table(&mut unsaid).and_then(|table| table.get("name")?.as_str());
            match name {
                Some(name) => add(name, Span { end: table.span().start, ..table.span() }),
                None => continue,
            }
        }
    }
    found.sort_by_key(|it| it.span.start);
    found
}

/// Lines of a text that can be folded to the first of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fold {
    /// The offset of a place in the first line.
    pub first: u32,
    /// The offset of a place in the last line.
    pub last: u32,
    /// Whether it is a comment.
    pub is_comment: bool,
}

/// What of a source can be folded: macros, repetitions, conditionals, regions, comments of several lines.
pub fn folds(view: &View, source: SourceId) -> Vec<Fold> {
    let source = view.sources.get(source);
    let text = source.text();
    let (mut names, mut tokens, mut next) = (Names::default(), Vec::new(), Some(0));
    let (mut open, mut found, mut comment): (Vec<(Directive, u32)>, Vec<Fold>, Option<Fold>) = Default::default();
    while let Some(start) = next {
        next = lex_line(text, start, &mut names, &mut tokens);
        if text[start as usize..].starts_with(';') {
            let first = comment.map_or(start, |comment| comment.first);
            comment = Some(Fold { first, last: start, is_comment: true });
        } else {
            found.extend(comment.take().filter(|comment| comment.last > comment.first));
        }
        let Some((_, directive)) = directive_of(&tokens) else { continue };
        if is_opener(directive) {
            open.push((directive, start));
        } else if let Some(at) = open.iter().rposition(|(opener, _)| closes(*opener, directive)) {
            found.push(Fold { first: open[at].1, last: start, is_comment: false });
            open.truncate(at);
        }
    }
    found.extend(comment.filter(|comment| comment.last > comment.first));
    found.sort_by_key(|fold| (fold.first, fold.last));
    found
}

fn is_opener(directive: Directive) -> bool {
    use Directive::{If, Irp, Irpc, Limit, Macro, Rept, RunAt};
    matches!(directive, If | Irp | Irpc | Limit | Macro | Rept | RunAt)
}

fn closes(opener: Directive, directive: Directive) -> bool {
    use Directive::{EndIf, EndLimit, EndM, EndRun, If, Irp, Irpc, Limit, Macro, Rept, RunAt};
    match directive {
        EndIf => opener == If,
        EndM => matches!(opener, Macro | Rept | Irp | Irpc),
        EndRun => opener == RunAt,
        EndLimit => opener == Limit,
        _ => false,
    }
}

/// Whether a text is a file, and no expansion.
pub(super) fn is_file(view: &View, source: SourceId) -> bool {
    !matches!(view.sources.get(source).origin(), Origin::Expanded(..))
}
