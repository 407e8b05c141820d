//! A diagnostic on one line, for editors and scripts that match lines.

use super::diagnostic::Diagnostic;
use super::map::{Origin, SourceMap};
use super::place::Position;

/// One diagnostic as `file:line:column: severity: text [code]`, without the line's end. Lines and columns count from 1,
/// columns in characters. What goes wrong in an expansion is told at the statement that asked for it, since an editor
/// opens files; what belongs to no text has `coldwright` where the place would stand.
pub fn to_brief_line(diagnostic: &Diagnostic, sources: &SourceMap) -> String {
    let place = match &diagnostic.primary {
        Some(label) => sources.file_line_column(label.span.position()),
        None => "coldwright".into(),
    };
    let (severity, text) = (diagnostic.severity.word(), one_line(&diagnostic.headline));
    format!("{place}: {severity}: {text} [{}]", diagnostic.code)
}

/// A name may hold anything, and a line must stay one.
fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}

impl SourceMap {
    /// The file, line and column of a position, or of the statement in a file that asked for the expansion it lies in.
    fn file_line_column(&self, position: Position) -> String {
        let mut position = position;
        while let Origin::Expanded(at, _) = self.get(position.source).origin() {
            position = at.position();
        }
        let (line, column) = self.line_column(position);
        format!("{}:{line}:{column}", one_line(self.get(position.source).name()))
    }
}
