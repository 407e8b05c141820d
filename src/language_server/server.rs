//! The life of a server: what it takes from an editor, in which order, and what it tells of its own accord.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Write;
use std::sync::mpsc::{Receiver, TryRecvError};

use lsp_server::{ErrorCode, Message, Notification, Request, Response};
use lsp_types::notification::{
    DidChangeTextDocument, DidChangeWatchedFiles, DidCloseTextDocument, DidOpenTextDocument, DidSaveTextDocument, Exit,
    Notification as Told, PublishDiagnostics,
};
use lsp_types::request::{Initialize, Request as Method, Shutdown};
use lsp_types::{
    CodeActionProviderCapability, CodeLensOptions, CompletionOptions, DidChangeTextDocumentParams,
    DidCloseTextDocumentParams, DidOpenTextDocumentParams, FoldingRangeProviderCapability, HoverProviderCapability,
    InitializeResult, OneOf, PublishDiagnosticsParams, RenameOptions, SemanticTokensFullOptions, SemanticTokensLegend,
    SemanticTokensOptions, SemanticTokensServerCapabilities, ServerCapabilities, ServerInfo,
    TextDocumentSyncCapability, TextDocumentSyncKind, TextDocumentSyncOptions, TextDocumentSyncSaveOptions,
};
use serde_json::{Value, json};

use super::answers::{Answers, refused};
use super::beside::legend;
use super::documents::uri_of;
use super::requests::{Answer, answer, read};
use super::wire::{Incoming, Outgoing};
use super::workspace::Workspace;

/// What was said of the beginning and the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    /// Nothing yet.
    Begun,
    /// It was said what the editor and the server can do.
    Known,
    /// The editor wants nothing more.
    Shut,
}

/// A server.
pub struct Server<W> {
    out: Outgoing<W>,
    workspace: Workspace,
    stage: Stage,
    /// Whether a text is another than when problems were told last.
    is_stale: bool,
    /// What was told last of each file of which there was something to tell.
    told: BTreeMap<String, Vec<lsp_types::Diagnostic>>,
}

impl<W: Write> Server<W> {
    /// A server that speaks to a stream.
    pub fn new(out: Outgoing<W>) -> Server<W> {
        let workspace = Workspace::default();
        Server { out, workspace, stage: Stage::Begun, is_stale: false, told: BTreeMap::new() }
    }

    /// Serves until the editor says that it goes, or its stream ends. Whether it went in good order.
    pub fn serve(&mut self, messages: &Receiver<Incoming>) -> bool {
        loop {
            let next = match messages.try_recv() {
                // All that was typed meanwhile is taken before problems are told of any of it.
                Err(TryRecvError::Empty) => {
                    self.tell();
                    messages.recv().ok()
                }
                Err(TryRecvError::Disconnected) => None,
                Ok(message) => Some(message),
            };
            match next {
                None => {
                    self.tell();
                    return true;
                }
                Some(Incoming::Malformed(why)) => self.out.refuse(&why),
                Some(Incoming::Message(Message::Request(request))) => self.request(request),
                Some(Incoming::Message(Message::Notification(it))) if it.method == Exit::METHOD => {
                    return self.stage == Stage::Shut;
                }
                Some(Incoming::Message(Message::Notification(notification))) => self.notification(notification),
                // Nothing is asked of an editor.
                Some(Incoming::Message(Message::Response(_))) => {}
            }
        }
    }

    fn request(&mut self, request: Request) {
        let id = request.id.clone();
        let reply = match self.answered(request) {
            Ok(result) => Response { id, result: Some(result), error: None },
            Err(error) => Response { id, result: None, error: Some(error) },
        };
        self.out.send(reply);
    }

    fn answered(&mut self, request: Request) -> Answer {
        match (request.method.as_str(), self.stage) {
            (Initialize::METHOD, Stage::Begun) => {
                self.stage = Stage::Known;
                Ok(abilities())
            }
            (Initialize::METHOD, _) => Err(refused(ErrorCode::InvalidRequest, "it is begun already")),
            (_, Stage::Begun) => Err(refused(ErrorCode::ServerNotInitialized, "`initialize` comes first")),
            (_, Stage::Shut) => Err(refused(ErrorCode::InvalidRequest, "`exit` is all that comes after `shutdown`")),
            (Shutdown::METHOD, Stage::Known) => {
                self.stage = Stage::Shut;
                Ok(Value::Null)
            }
            (_, Stage::Known) => answer(&mut self.workspace, request),
        }
    }

    /// Takes what is told; what cannot be understood changes nothing, and has no reply in the protocol.
    fn notification(&mut self, told: Notification) {
        if self.stage != Stage::Known {
            return;
        }
        let documents = &mut self.workspace.documents;
        match told.method.as_str() {
            DidOpenTextDocument::METHOD => {
                let Ok(DidOpenTextDocumentParams { text_document: it }) = read(told.params) else { return };
                documents.open(it.uri, it.version, it.text);
            }
            DidChangeTextDocument::METHOD => {
                let Ok(it) = read::<DidChangeTextDocumentParams>(told.params) else { return };
                documents.change(&it.text_document.uri, it.text_document.version, it.content_changes);
            }
            DidCloseTextDocument::METHOD => {
                let Ok(it) = read::<DidCloseTextDocumentParams>(told.params) else { return };
                documents.close(&it.text_document.uri);
            }
            // A file that is not open may be another.
            DidSaveTextDocument::METHOD | DidChangeWatchedFiles::METHOD => {}
            _ => return,
        }
        self.workspace.forget();
        self.is_stale = true;
    }

    /// Tells what is wrong, of each file whose problems are others than were told last.
    fn tell(&mut self) {
        if !std::mem::take(&mut self.is_stale) {
            return;
        }
        let now = self.problems();
        let files: BTreeSet<_> = now.keys().chain(self.told.keys()).cloned().collect();
        for file in files {
            let (new, old) = (now.get(&file), self.told.get(&file));
            let open = self.workspace.documents.get(&file);
            let uri = open.map(|open| open.uri.clone()).or_else(|| uri_of(&file));
            let Some(uri) = uri.filter(|_| new != old) else { continue };
            let version = open.map(|open| open.version);
            let diagnostics = new.cloned().unwrap_or_default();
            let params = PublishDiagnosticsParams { uri, diagnostics, version };
            self.out.send(Notification::new(PublishDiagnostics::METHOD.to_owned(), params));
        }
        self.told = now;
    }

    /// All problems of the views of what is open, by files. An open file is there also if it has none: that it is well is
    /// told too.
    fn problems(&mut self) -> BTreeMap<String, Vec<lsp_types::Diagnostic>> {
        let open: Vec<String> = self.workspace.documents.names().cloned().collect();
        let mut found: BTreeMap<String, Vec<lsp_types::Diagnostic>> = BTreeMap::new();
        let mut seen = BTreeSet::new();
        for name in &open {
            found.entry(name.clone()).or_default();
            let view = self.workspace.view(name);
            let root = view.sources.get(view.root).name();
            if !seen.insert(root.to_owned()) {
                continue;
            }
            let answers = Answers { view: &view, documents: &self.workspace.documents };
            for problem in &view.problems {
                let file = problem.primary.as_ref().map_or(root, |label| answers.file(label.span));
                let told = answers.problem(problem);
                let all = found.entry(file.to_owned()).or_default();
                if !all.contains(&told) {
                    all.push(told);
                }
            }
        }
        found
    }
}

/// What the server can do.
fn abilities() -> Value {
    let sync = TextDocumentSyncOptions {
        open_close: Some(true),
        change: Some(TextDocumentSyncKind::INCREMENTAL),
        save: Some(TextDocumentSyncSaveOptions::Supported(true)),
        ..TextDocumentSyncOptions::default()
    };
    let capabilities = ServerCapabilities {
        text_document_sync: Some(TextDocumentSyncCapability::Options(sync)),
        hover_provider: Some(HoverProviderCapability::Simple(true)),
        definition_provider: Some(OneOf::Left(true)),
        references_provider: Some(OneOf::Left(true)),
        document_symbol_provider: Some(OneOf::Left(true)),
        completion_provider: Some(CompletionOptions::default()),
        rename_provider: Some(OneOf::Right(RenameOptions {
            prepare_provider: Some(true),
            work_done_progress_options: Default::default(),
        })),
        folding_range_provider: Some(FoldingRangeProviderCapability::Simple(true)),
        inlay_hint_provider: Some(OneOf::Left(true)),
        code_lens_provider: Some(CodeLensOptions { resolve_provider: None }),
        code_action_provider: Some(CodeActionProviderCapability::Simple(true)),
        document_formatting_provider: Some(OneOf::Left(true)),
        semantic_tokens_provider: Some(SemanticTokensServerCapabilities::SemanticTokensOptions(
            SemanticTokensOptions {
                legend: SemanticTokensLegend { token_types: legend(), token_modifiers: Vec::new() },
                full: Some(SemanticTokensFullOptions::Bool(true)),
                ..SemanticTokensOptions::default()
            },
        )),
        ..ServerCapabilities::default()
    };
    let info = ServerInfo { name: env!("CARGO_BIN_NAME").into(), version: Some(env!("CARGO_PKG_VERSION").into()) };
    json!(InitializeResult { capabilities, server_info: Some(info) })
}
