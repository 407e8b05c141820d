//! What the library answers, in the words of the protocol.

use lsp_server::{ErrorCode, ResponseError};
use lsp_types::{
    CompletionItem, CompletionItemKind, CompletionTextEdit, Diagnostic as Told, DiagnosticRelatedInformation,
    DiagnosticSeverity, DocumentSymbol, Documentation, Location, MarkupContent, MarkupKind, NumberOrString, Range,
    SymbolKind, TextEdit,
};

use super::desk::is_built_in;
use super::documents::{Documents, uri_of};
use super::positions::Lines;
use coldwright::language::{Item, ItemKind, Outlined, OutlinedKind, View};
use coldwright::source::{Diagnostic, Severity, Span};

/// The name of the program, beside each of its problems.
const OWN_NAME: &str = "coldwright";

/// A view, with the open texts that its places are counted in.
pub struct Answers<'a> {
    /// What was asked.
    pub view: &'a View,
    /// What is open.
    pub documents: &'a Documents,
}

impl Answers<'_> {
    /// The span in a file that an editor can open: of an expansion, the place that asked for it; of a built-in file, the
    /// place in the program that includes it.
    fn placed(&self, span: Span) -> Span {
        let mut at = self.view.in_file(span.position());
        if is_built_in(self.view.sources.get(at.source).name()) {
            at = self.view.sources.root(at);
        }
        if at == span.position() { span } else { at.span() }
    }

    /// The range of a span.
    pub fn range(&self, span: Span) -> Range {
        let Span { source, start, end } = self.placed(span);
        let source = self.view.sources.get(source);
        match self.documents.get(source.name()) {
            Some(open) => {
                let mark = open.mark();
                open.lines.range(&open.text, start as usize + mark, end as usize + mark)
            }
            None => Lines::of(source.text()).range(source.text(), start as usize, end as usize),
        }
    }

    /// The file of a span.
    pub fn file(&self, span: Span) -> &str {
        self.view.sources.get(self.placed(span).source).name()
    }

    /// Where a span lies; nothing if an editor cannot open it, as what is built in.
    pub fn location(&self, span: Span) -> Option<Location> {
        let is_built_in = is_built_in(self.view.sources.get(span.source).name());
        let uri = uri_of(self.file(span)).filter(|_| !is_built_in)?;
        Some(Location { uri, range: self.range(span) })
    }

    /// A problem, in the words of the command line; one that belongs to no place is told at the beginning of the file.
    pub fn problem(&self, problem: &Diagnostic) -> Told {
        let mut message = problem.headline.clone();
        if let Some(label) = problem.primary.as_ref().filter(|label| !label.text.is_empty()) {
            message += &format!("\n{}", label.text);
        }
        for note in &problem.notes {
            message += &format!("\nnote: {note}");
        }
        if let Some(help) = &problem.help {
            message += &format!("\nhelp: {help}");
        }
        let related = problem.related.iter().filter_map(|label| {
            Some(DiagnosticRelatedInformation { location: self.location(label.span)?, message: label.text.clone() })
        });
        let related: Vec<_> = related.collect();
        Told {
            range: problem.primary.as_ref().map(|label| self.range(label.span)).unwrap_or_default(),
            severity: Some(match problem.severity {
                Severity::Error => DiagnosticSeverity::ERROR,
                Severity::Warning => DiagnosticSeverity::WARNING,
                Severity::Note => DiagnosticSeverity::INFORMATION,
            }),
            code: Some(NumberOrString::String(problem.code.name().to_owned())),
            source: Some(OWN_NAME.to_owned()),
            message,
            related_information: (!related.is_empty()).then_some(related),
            ..Told::default()
        }
    }

    /// Something that may stand at a place.
    pub fn item(&self, item: Item) -> CompletionItem {
        let edit = TextEdit { range: self.range(item.span), new_text: item.text };
        CompletionItem {
            label: item.label,
            kind: Some(match item.kind {
                ItemKind::Instruction | ItemKind::Word => CompletionItemKind::KEYWORD,
                ItemKind::Register => CompletionItemKind::VARIABLE,
                ItemKind::Label => CompletionItemKind::REFERENCE,
                ItemKind::Constant => CompletionItemKind::CONSTANT,
                ItemKind::Macro => CompletionItemKind::FUNCTION,
                ItemKind::File => CompletionItemKind::FILE,
                ItemKind::Key => CompletionItemKind::PROPERTY,
                ItemKind::Value => CompletionItemKind::VALUE,
            }),
            detail: (!item.detail.is_empty()).then_some(item.detail),
            documentation: (!item.about.is_empty()).then(|| Documentation::MarkupContent(markdown(item.about))),
            text_edit: Some(CompletionTextEdit::Edit(edit)),
            ..CompletionItem::default()
        }
    }

    /// Something that a file defines.
    #[expect(deprecated, reason = "the struct has a field that the protocol gave up, and no way to leave it out")]
    pub fn symbol(&self, outlined: Outlined) -> DocumentSymbol {
        let range = self.range(outlined.span);
        DocumentSymbol {
            name: outlined.name,
            detail: (!outlined.detail.is_empty()).then_some(outlined.detail),
            kind: match outlined.kind {
                OutlinedKind::Label => SymbolKind::FUNCTION,
                OutlinedKind::Constant => SymbolKind::CONSTANT,
                OutlinedKind::Variable => SymbolKind::VARIABLE,
                OutlinedKind::Macro => SymbolKind::OPERATOR,
                OutlinedKind::Table => SymbolKind::NAMESPACE,
            },
            tags: None,
            deprecated: None,
            range,
            selection_range: range,
            children: None,
        }
    }
}

/// A text in Markdown.
pub fn markdown(value: String) -> MarkupContent {
    MarkupContent { kind: MarkupKind::Markdown, value }
}

/// A refusal.
pub fn refused(code: ErrorCode, message: impl Into<String>) -> ResponseError {
    ResponseError { code: code as i32, message: message.into(), data: None }
}
