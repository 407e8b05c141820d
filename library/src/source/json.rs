//! A diagnostic as one line of JSON, for programs.

use serde_json::{Value, json};

use super::diagnostic::{Diagnostic, Label};
use super::map::{Origin, SourceMap};

/// One diagnostic as a JSON object on one line, without the line's end. Lines and columns count from 1, columns in
/// characters; `through` lists the calls and includes that led to the place, innermost first.
pub fn to_json_line(diagnostic: &Diagnostic, sources: &SourceMap) -> String {
    json!({
        "severity": diagnostic.severity.word(),
        "code": diagnostic.code.name(),
        "headline": diagnostic.headline,
        "at": diagnostic.primary.as_ref().map(|label| place(label, sources)),
        "related": diagnostic.related.iter().map(|label| place(label, sources)).collect::<Vec<_>>(),
        "notes": diagnostic.notes,
        "help": diagnostic.help,
    })
    .to_string()
}

fn place(label: &Label, sources: &SourceMap) -> Value {
    let start = label.span.position();
    let (line, column) = sources.line_column(start);
    let through: Vec<_> = sources
        .ancestry(start.source)
        .map(|(origin, span)| {
            let how = if matches!(origin, Origin::Included(_)) { "included" } else { "expanded" };
            json!({ "how": how, "from": sources.file_line(span.position()) })
        })
        .collect();
    json!({
        "file": sources.get(start.source).name(),
        "line": line,
        "column": column,
        "length": sources.text(label.span).chars().count(),
        "text": label.text,
        "through": through,
    })
}
