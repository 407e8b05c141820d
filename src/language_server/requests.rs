//! The questions of an editor, each by its method.

use std::rc::Rc;

use lsp_server::{ErrorCode, Request, ResponseError};
use lsp_types::request::{
    CodeActionRequest, CodeLensRequest, Completion, DocumentSymbolRequest, FoldingRangeRequest, Formatting,
    GotoDefinition, HoverRequest, InlayHintRequest, PrepareRenameRequest, References, Rename, Request as Method,
    SemanticTokensFullRequest,
};
use lsp_types::{
    CodeAction, CodeActionKind, CodeActionParams, DocumentSymbol, DocumentSymbolResponse, GotoDefinitionResponse,
    Hover, HoverContents, Location, TextDocumentPositionParams, Uri,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::answers::{Answers, markdown, refused};
use super::changes;
use super::documents::name_of;
use super::workspace::Workspace;
use coldwright::language::{self, View};
use coldwright::source::{Position, SourceId, Span};

/// An answer, or why there is none.
pub type Answer = Result<Value, ResponseError>;

/// Answers a request.
pub fn answer(workspace: &mut Workspace, request: Request) -> Answer {
    let method = request.method.clone();
    match method.as_str() {
        HoverRequest::METHOD => {
            let asked = params::<HoverRequest>(request)?.text_document_position_params;
            said(Place::of(workspace, &asked)?.and_then(|place| place.hover(workspace)))
        }
        GotoDefinition::METHOD => {
            let asked = params::<GotoDefinition>(request)?.text_document_position_params;
            let found = Place::of(workspace, &asked)?.map(|place| place.definition(workspace));
            said(found.map(GotoDefinitionResponse::Array))
        }
        References::METHOD => {
            let asked = params::<References>(request)?;
            let with_definition = asked.context.include_declaration;
            let place = Place::of(workspace, &asked.text_document_position)?;
            said(place.map(|place| place.references(workspace, with_definition)))
        }
        Completion::METHOD => {
            let asked = params::<Completion>(request)?.text_document_position;
            said(Place::of(workspace, &asked)?.map(|place| place.completion(workspace)))
        }
        DocumentSymbolRequest::METHOD => {
            let asked = params::<DocumentSymbolRequest>(request)?;
            let whole = Whole::of(workspace, &asked.text_document.uri)?;
            said(whole.map(|it| DocumentSymbolResponse::Nested(it.symbols(workspace))))
        }
        Rename::METHOD => {
            let asked = params::<Rename>(request)?;
            let place = Place::of(workspace, &asked.text_document_position)?;
            said(place.map(|place| changes::rename(workspace, &place.view, place.at, &asked.new_name)).transpose()?)
        }
        PrepareRenameRequest::METHOD => {
            let asked = params::<PrepareRenameRequest>(request)?;
            said(Place::of(workspace, &asked)?.and_then(|place| place.name(workspace)))
        }
        _ => of_text(workspace, &method, request),
    }
}

/// Answers what is asked of a text and of no place in it.
fn of_text(workspace: &mut Workspace, method: &str, request: Request) -> Answer {
    match method {
        FoldingRangeRequest::METHOD => {
            let asked = params::<FoldingRangeRequest>(request)?;
            said(Whole::of(workspace, &asked.text_document.uri)?.map(|it| it.answers(workspace).folds(it.source)))
        }
        InlayHintRequest::METHOD => {
            let asked = params::<InlayHintRequest>(request)?;
            let whole = Whole::of(workspace, &asked.text_document.uri)?;
            said(whole.map(|it| it.answers(workspace).hints(it.source, asked.range)))
        }
        CodeLensRequest::METHOD => {
            let asked = params::<CodeLensRequest>(request)?;
            said(Whole::of(workspace, &asked.text_document.uri)?.map(|it| it.answers(workspace).lenses(&it.name)))
        }
        SemanticTokensFullRequest::METHOD => {
            let asked = params::<SemanticTokensFullRequest>(request)?;
            said(Whole::of(workspace, &asked.text_document.uri)?.map(|it| it.answers(workspace).colours(it.source)))
        }
        CodeActionRequest::METHOD => {
            let asked = params::<CodeActionRequest>(request)?;
            let whole = Whole::of(workspace, &asked.text_document.uri)?;
            said(whole.map(|it| it.changes(workspace, &asked)))
        }
        Formatting::METHOD => {
            let asked = params::<Formatting>(request)?;
            let whole = Whole::of(workspace, &asked.text_document.uri)?;
            said(whole.map(|it| changes::laid_out(workspace, &it.view, it.source)).transpose()?)
        }
        _ => Err(refused(ErrorCode::MethodNotFound, format!("`{method}` is not answered"))),
    }
}

/// What a request or a notification says.
pub fn read<T: DeserializeOwned>(said: Value) -> Result<T, ResponseError> {
    serde_json::from_value(said).map_err(|error| refused(ErrorCode::InvalidParams, error.to_string()))
}

fn params<M: Method>(request: Request) -> Result<M::Params, ResponseError> {
    read(request.params)
}

fn said(answer: impl Serialize) -> Answer {
    serde_json::to_value(answer).map_err(|error| refused(ErrorCode::InternalError, error.to_string()))
}

/// An open text in the view that it is seen in.
struct Whole {
    view: Rc<View>,
    source: SourceId,
    name: String,
}

impl Whole {
    /// Nothing if the text cannot be seen.
    fn of(workspace: &mut Workspace, uri: &Uri) -> Result<Option<Whole>, ResponseError> {
        let name = name_of(uri);
        if workspace.documents.get(&name).is_none() {
            return Err(refused(ErrorCode::InvalidParams, format!("`{name}` is not open")));
        }
        let view = workspace.view(&name);
        let source = view.texts(&name).next();
        Ok(source.map(|source| Whole { view, source, name }))
    }

    fn answers<'a>(&'a self, workspace: &'a Workspace) -> Answers<'a> {
        Answers { view: &self.view, documents: &workspace.documents }
    }

    /// What mends the problems of a part of the text, and what of its lines could be shorter.
    fn changes(&self, workspace: &mut Workspace, asked: &CodeActionParams) -> Vec<CodeAction> {
        // A kind is wanted if it, or one that it is of, is in the list; all of them if there is none.
        let wants = |kind: CodeActionKind| {
            let is_of = |only: &CodeActionKind| {
                let rest = kind.as_str().strip_prefix(only.as_str());
                rest.is_some_and(|rest| rest.is_empty() || only.as_str().is_empty() || rest.starts_with('.'))
            };
            asked.context.only.as_ref().is_none_or(|only| only.iter().any(is_of))
        };
        let mut found = Vec::new();
        if wants(CodeActionKind::QUICKFIX) {
            found.extend(self.answers(workspace).mends(&self.name, asked.range));
        }
        if wants(CodeActionKind::REFACTOR_REWRITE) {
            let shorter = workspace.shorter(&self.view, self.source);
            let open = workspace.documents.get(&self.name);
            let shorter = open.map(|open| self.answers(workspace).shorter(&shorter, self.source, open, asked.range));
            found.extend(shorter.into_iter().flatten());
        }
        found
    }

    fn symbols(&self, workspace: &Workspace) -> Vec<DocumentSymbol> {
        let answers = self.answers(workspace);
        language::outline(&self.view, self.source).into_iter().map(|outlined| answers.symbol(outlined)).collect()
    }
}

/// A place in an open text.
struct Place {
    view: Rc<View>,
    at: Position,
    name: String,
}

impl Place {
    fn of(workspace: &mut Workspace, asked: &TextDocumentPositionParams) -> Result<Option<Place>, ResponseError> {
        let Some(Whole { view, source, name }) = Whole::of(workspace, &asked.text_document.uri)? else {
            return Ok(None);
        };
        let Some(document) = workspace.documents.get(&name) else { return Ok(None) };
        let offset = document.lines.offset(&document.text, asked.position).saturating_sub(document.mark());
        // A text that cannot be read is seen as an empty one.
        let offset = offset.min(view.sources.get(source).text().len());
        Ok(Some(Place { view, at: Position { source, offset: offset as u32 }, name }))
    }

    fn answers<'a>(&'a self, workspace: &'a Workspace) -> Answers<'a> {
        Answers { view: &self.view, documents: &workspace.documents }
    }

    fn hover(&self, workspace: &Workspace) -> Option<Hover> {
        let hover = language::hover(&self.view, self.at)?;
        let range = Some(self.answers(workspace).range(hover.span));
        Some(Hover { contents: HoverContents::Markup(markdown(hover.text)), range })
    }

    fn definition(&self, workspace: &Workspace) -> Vec<Location> {
        let answers = self.answers(workspace);
        language::definition(&self.view, self.at).into_iter().filter_map(|span| answers.location(span)).collect()
    }

    fn references(&self, workspace: &Workspace, with_definition: bool) -> Vec<Location> {
        let answers = self.answers(workspace);
        let defined = if with_definition { Vec::new() } else { language::definition(&self.view, self.at) };
        let places = language::references(&self.view, self.at).into_iter().filter(|span| !defined.contains(span));
        places.filter_map(|span| answers.location(span)).collect()
    }

    /// The range of the name that can get another one.
    fn name(&self, workspace: &Workspace) -> Option<lsp_types::Range> {
        let places = language::references(&self.view, self.at);
        let is_here = |it: &&Span| it.source == self.at.source && (it.start..=it.end).contains(&self.at.offset);
        places.iter().find(is_here).map(|span| self.answers(workspace).range(*span))
    }

    fn completion(&self, workspace: &mut Workspace) -> Vec<lsp_types::CompletionItem> {
        let items = match self.view.program_of(self.at.source) {
            Some(_) => language::completion(&self.view, self.at),
            None => {
                let text = self.view.sources.get(self.at.source).text();
                let mut read = |changed: &str| workspace.problems_with(&self.name, changed);
                language::key_completion(text, self.at, &mut read)
            }
        };
        let answers = self.answers(workspace);
        items.into_iter().map(|item| answers.item(item)).collect()
    }
}
