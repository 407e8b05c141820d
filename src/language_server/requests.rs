//! The questions of an editor, each by its method.

use std::rc::Rc;

use lsp_server::{ErrorCode, Request, ResponseError};
use lsp_types::request::{
    Completion, DocumentSymbolRequest, GotoDefinition, HoverRequest, References, Request as Method,
};
use lsp_types::{
    DocumentSymbol, DocumentSymbolResponse, GotoDefinitionResponse, Hover, HoverContents, Location,
    TextDocumentPositionParams, Uri,
};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::answers::{Answers, markdown};
use super::documents::name_of;
use super::workspace::Workspace;
use coldwright::language::{self, View};
use coldwright::source::{Position, SourceId};

/// An answer, or why there is none.
pub type Answer = Result<Value, ResponseError>;

/// Answers a request.
pub fn answer(workspace: &mut Workspace, request: Request) -> Answer {
    match request.method.as_str() {
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
            said(symbols(workspace, &asked.text_document.uri)?.map(DocumentSymbolResponse::Nested))
        }
        method => Err(refused(ErrorCode::MethodNotFound, format!("`{method}` is not answered"))),
    }
}

/// A refusal.
pub fn refused(code: ErrorCode, message: impl Into<String>) -> ResponseError {
    ResponseError { code: code as i32, message: message.into(), data: None }
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

/// The text of an open file in the view that it is seen in; nothing if it cannot be seen.
fn seen(workspace: &mut Workspace, uri: &Uri) -> Result<Option<(Rc<View>, SourceId, String)>, ResponseError> {
    let name = name_of(uri);
    if workspace.documents.get(&name).is_none() {
        return Err(refused(ErrorCode::InvalidParams, format!("`{name}` is not open")));
    }
    let view = workspace.view(&name);
    let source = view.texts(&name).next();
    Ok(source.map(|source| (view, source, name)))
}

fn symbols(workspace: &mut Workspace, uri: &Uri) -> Result<Option<Vec<DocumentSymbol>>, ResponseError> {
    let Some((view, source, _)) = seen(workspace, uri)? else { return Ok(None) };
    let answers = Answers { view: &view, documents: &workspace.documents };
    let outlined = language::outline(&view, source).into_iter();
    Ok(Some(outlined.map(|outlined| answers.symbol(outlined)).collect()))
}

/// A place in an open text.
struct Place {
    view: Rc<View>,
    at: Position,
    name: String,
}

impl Place {
    fn of(workspace: &mut Workspace, asked: &TextDocumentPositionParams) -> Result<Option<Place>, ResponseError> {
        let Some((view, source, name)) = seen(workspace, &asked.text_document.uri)? else { return Ok(None) };
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
