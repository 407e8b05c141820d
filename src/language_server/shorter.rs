//! Shorter forms of lines that an editor offers: what `shorten` proves, for every stage that is made from the source.

use super::super::shared_sources::sources_of;
use super::desk::Desk;
use super::documents::Documents;
use coldwright::assembler::{self, Loader, Options};
use coldwright::language::{Kind, View};
use coldwright::shortening::{Depth, Outside, Search, Suggestion, shorten};
use coldwright::source::{Origin, Severity, SourceId, SourceMap};

/// The longest program that is looked at while somebody types, bytes.
const MOST_BYTES: usize = 4096;

/// What could be shorter in a text of a view; nothing of one that has errors, or is longer than [`MOST_BYTES`].
pub fn shorter(documents: &Documents, view: &View, source: SourceId) -> Vec<Suggestion> {
    let Some(program) = view.program_of(source).filter(|program| program.root == source) else { return Vec::new() };
    let has_errors = view.problems.iter().any(|it| it.severity == Severity::Error);
    if has_errors || program.assembly.image.len() > MOST_BYTES {
        return Vec::new();
    }
    let file = view.sources.get(view.root).name();
    let is_chain = view.kind.is_none();
    let loads = || Box::new(Desk::beside(file, is_chain, documents)) as Box<dyn Loader>;
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
