//! Changes to texts that an editor asks for: what mends a problem, another name, the layout.

use std::collections::{BTreeMap, HashMap};

use lsp_server::{ErrorCode, ResponseError};
use lsp_types::{CodeAction, CodeActionKind, Range, TextEdit, WorkspaceEdit};

use super::super::format::is_as_read;
use super::answers::{Answers, refused};
use super::documents::{Document, uri_of};
use super::workspace::Workspace;
use coldwright::formatting;
use coldwright::language::{self, View};
use coldwright::notation::counted;
use coldwright::shortening::Suggestion;
use coldwright::source::{Position, Severity, SourceId, Span};

/// Texts in place of spans.
type Edits = Vec<(Span, String)>;

impl Answers<'_> {
    /// What mends the problems of a part of a file.
    pub fn mends(&self, name: &str, part: Range) -> Vec<CodeAction> {
        let mut found: Vec<CodeAction> = Vec::new();
        for mend in language::mends(self.view) {
            let range = self.range(mend.span);
            if self.file(mend.span) != name || range.end < part.start || part.end < range.start {
                continue;
            }
            let Some(edit) = self.edit(&[(mend.span, mend.text)]) else { continue };
            let problem = self.view.problems.get(mend.problem).map(|problem| self.problem(problem));
            // A file that two stages read has its problems twice.
            if found.iter().all(|it| it.edit.as_ref() != Some(&edit)) {
                found.push(CodeAction {
                    title: mend.title,
                    kind: Some(CodeActionKind::QUICKFIX),
                    diagnostics: problem.map(|problem| vec![problem]),
                    edit: Some(edit),
                    is_preferred: Some(true),
                    ..CodeAction::default()
                });
            }
        }
        found
    }

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

    /// Edits in the words of the protocol; nothing if one of them is in no file that an editor can open.
    #[expect(clippy::mutable_key_type, reason = "the protocol's struct has it, and nothing changes a key")]
    fn edit(&self, edits: &[(Span, String)]) -> Option<WorkspaceEdit> {
        let mut changes: HashMap<_, Vec<TextEdit>> = HashMap::new();
        for (span, text) in edits {
            let edit = TextEdit { range: self.range(*span), new_text: text.clone() };
            let uri = self.documents.get(self.file(*span)).map(|open| open.uri.clone());
            changes.entry(uri.or_else(|| uri_of(self.file(*span)))?).or_default().push(edit);
        }
        Some(WorkspaceEdit { changes: Some(changes), ..WorkspaceEdit::default() })
    }
}

/// Gives the name at a place another one, everywhere; the programs stay the same to the byte.
///
/// # Errors
/// Why it cannot be.
pub fn rename(workspace: &Workspace, view: &View, at: Position, new: &str) -> Result<WorkspaceEdit, ResponseError> {
    let not = |why: &str| refused(ErrorCode::InvalidParams, why);
    let places = language::rename(view, at, new).map_err(|why| not(&why.to_string()))?;
    let edits: Edits = places.into_iter().map(|span| (span, written(view, span, new))).collect();
    if !is_same(workspace, view, &edits) {
        return Err(not("with that name the program would be another, and nothing is changed"));
    }
    let answers = Answers { view, documents: &workspace.documents };
    answers.edit(&edits).ok_or_else(|| not("a file that uses the name cannot be opened"))
}

/// A name as it is written at a place: in a TOML file, in the quotes that it needs.
fn written(view: &View, span: Span, new: &str) -> String {
    let is_plain = new.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'_');
    let before = view.sources.get(span.source).text()[..span.start as usize].chars().next_back();
    if is_plain || view.program_of(span.source).is_some() || matches!(before, Some('"' | '\'')) {
        return new.to_owned();
    }
    format!("\"{new}\"")
}

/// The layout of a source; nothing if it is laid out already.
///
/// # Errors
/// Why it is left as it is.
pub fn laid_out(workspace: &Workspace, view: &View, source: SourceId) -> Result<Vec<TextEdit>, ResponseError> {
    let not = |why: &str| refused(ErrorCode::RequestFailed, why);
    let name = view.sources.get(source).name();
    let Some(open) = workspace.documents.get(name) else { return Ok(Vec::new()) };
    if view.program_of(source).is_none() {
        return Err(not("only sources are laid out"));
    }
    if !is_as_read(&open.text) {
        return Err(not("it is left as it is: it is no plain text"));
    }
    let after = formatting::format(&open.text);
    let Some((start, end, text)) = difference(&open.text, &after) else { return Ok(Vec::new()) };
    let span = Span { source, start: start as u32, end: end as u32 };
    if !is_same(workspace, view, &vec![(span, text.to_owned())]) {
        return Err(not("it would make another program, and is left as it is"));
    }
    Ok(vec![TextEdit { range: open.lines.range(&open.text, start, end), new_text: text.to_owned() }])
}

/// The lines between the first and the last that differ: where they stand in the first text, and what the second has there.
fn difference<'a>(before: &str, after: &'a str) -> Option<(usize, usize, &'a str)> {
    if before == after {
        return None;
    }
    let lines = |text: &'a str| text.split_inclusive('\n').collect::<Vec<_>>();
    let (old, new): (Vec<_>, _) = (before.split_inclusive('\n').collect(), lines(after));
    let front = old.iter().zip(&new).take_while(|(old, new)| old == new).count();
    let most = old.len().min(new.len()) - front;
    let back = old.iter().rev().zip(new.iter().rev()).take(most).take_while(|(old, new)| old == new).count();
    let bytes = |lines: &[&str]| lines.iter().map(|line| line.len()).sum::<usize>();
    let (start, tail) = (bytes(&old[..front]), bytes(&old[old.len() - back..]));
    Some((start, before.len() - tail, &after[start..after.len() - tail]))
}

/// Whether every program of a view is the same after edits: its bytes, where it starts, and how much is wrong with it.
fn is_same(workspace: &Workspace, view: &View, edits: &Edits) -> bool {
    let mut changed: BTreeMap<String, String> = BTreeMap::new();
    let mut edits: Vec<_> = edits.iter().collect();
    edits.sort_by_key(|(span, _)| std::cmp::Reverse(span.start));
    for (span, text) in edits {
        let source = view.sources.get(span.source);
        let whole = changed.entry(source.name().to_owned()).or_insert_with(|| source.text().to_owned());
        whole.replace_range(span.start as usize..span.end as usize, text);
    }
    let after = workspace.otherwise(view, &changed);
    let errors = |view: &View| view.problems.iter().filter(|it| it.severity == Severity::Error).count();
    let same = view.programs.iter().zip(&after.programs).all(|(old, new)| {
        let (old, new) = (&old.assembly.image, &new.assembly.image);
        let extents = old.extents().map(|it| (it.base, it.bytes)).eq(new.extents().map(|it| (it.base, it.bytes)));
        extents && old.entry == new.entry
    });
    same && view.programs.len() == after.programs.len() && errors(view) == errors(&after)
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

#[cfg(test)]
mod tests {
    use super::difference;

    #[test]
    fn only_the_lines_that_differ_are_changed() {
        assert_eq!(difference("a\nb\nc\n", "a\nB\nc\n"), Some((2, 4, "B\n")));
        assert_eq!(difference("a\na\n", "a\n"), Some((2, 4, "")));
        assert_eq!(difference("a\nb", "a\nb\n"), Some((2, 3, "b\n")));
        assert_eq!(difference("a\n", "a\n"), None);
    }
}
