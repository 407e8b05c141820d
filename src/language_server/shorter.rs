//! Shorter forms of lines that an editor offers: what `shorten` proves, for every stage that is made from the source.

use lsp_types::{CodeAction, CodeActionKind, Range};

use super::super::shared_sources::sources_of;
use super::answers::Answers;
use super::changes::difference;
use super::desk::Desk;
use super::documents::Document;
use super::workspace::Workspace;
use coldwright::assembler::{self, Loader, Options};
use coldwright::language::{Kind, View};
use coldwright::notation::counted;
use coldwright::shortening::{Depth, Outside, Search, Suggestion, shorten};
use coldwright::source::{Origin, Severity, SourceId, SourceMap, Span};

/// The longest program that is looked at while somebody types, bytes.
const MOST_BYTES: usize = 4096;

/// What could be shorter in a text of a view; nothing of one that has errors, or is longer than [`MOST_BYTES`].
pub fn shorter(workspace: &Workspace, view: &View, source: SourceId) -> Vec<Suggestion> {
    let Some(program) = view.program_of(source).filter(|program| program.root == source) else { return Vec::new() };
    let is_wrong = program.assembly.diagnostics.has_errors();
    let has_errors = is_wrong || view.problems.iter().any(|it| it.severity == Severity::Error);
    if has_errors || program.assembly.image.len() > MOST_BYTES {
        return Vec::new();
    }
    let file = view.sources.get(view.root).name();
    let is_chain = view.kind.is_none();
    let loads = || Box::new(Desk::beside(file, is_chain, &workspace.documents)) as Box<dyn Loader>;
    let search = Search::new(Depth::Two);
    if view.kind == Some(Kind::Source) {
        let again = |text: &str| {
            let mut sources = SourceMap::default();
            let own = sources.add(file, text, Origin::Given);
            let assembly = assembler::assemble(&mut sources, own, &Options::default(), &mut *loads());
            (!assembly.diagnostics.has_errors()).then_some((sources, own, assembly))
        };
        return shorten(&view.sources, source, &program.assembly, &Outside::default(), &search, &again)
            .unwrap_or_default();
    }
    let Some(plan) = &view.plan else { return Vec::new() };
    let name = view.sources.get(source).name();
    let all = sources_of(plan, &loads, &view.sources);
    let own = all.iter().find(|shared| view.sources.get(shared.root).name() == name);
    own.and_then(|shared| shared.suggestions(shared.text, &search).ok()).unwrap_or_default()
}

impl Answers<'_> {
    /// The suggestions that change lines of a part of an open text, as changes of it.
    pub fn shorter(&self, found: &[Suggestion], source: SourceId, open: &Document, part: Range) -> Vec<CodeAction> {
        if self.view.sources.get(source).text() != open.text {
            return Vec::new();
        }
        let touches = |it: &&Suggestion| {
            it.places.iter().any(|place| {
                let (first, lines) = (place.line as u32 - 1, place.before.len().max(1) as u32);
                first <= part.end.line && part.start.line < first + lines
            })
        };
        let action = |it: &Suggestion| {
            let (start, end, text) = difference(&open.text, &it.text)?;
            let span = Span { source, start: start as u32, end: end as u32 };
            Some(CodeAction {
                title: title(it),
                kind: Some(CodeActionKind::REFACTOR_REWRITE),
                edit: Some(self.edit(&[(span, text.to_owned())])?),
                ..CodeAction::default()
            })
        };
        found.iter().filter(touches).filter_map(action).collect()
    }
}

/// What a suggestion does, in a line.
fn title(it: &Suggestion) -> String {
    let time = match it.states {
        0 => String::new(),
        states if states < 0 => format!(", {} T-states less", -states),
        states => format!(", {states} T-states more"),
    };
    let comes: Vec<_> = it.after().map(instruction).filter(|line| !line.is_empty()).collect();
    let comes = if comes.is_empty() { "without these lines".to_owned() } else { format!("`{}`", comes.join("`, `")) };
    format!("Save {}{time}: {comes}", counted(it.saves, "byte"))
}

/// A line without its comment, its blanks in ones.
fn instruction(line: &str) -> String {
    let code = line.split(';').next().unwrap_or_default();
    code.split_whitespace().collect::<Vec<_>>().join(" ")
}
