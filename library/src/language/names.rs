//! Where a name is defined and used, and how it gets another one.

use super::scopes::{owner, scopes};
use super::view::View;
use super::words::{line_at, normal, word_at};
use crate::assembler::Meaning;
use crate::project::Surveyed;
use crate::source::{Position, SourceId, Span};
use crate::syntax::{Directive, Keyword, Names, TokenKind, lex};

/// Why a name cannot get another one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoRename {
    /// No name of the program stands there.
    NoName,
    /// It is defined in a file of the built-in library, or used there.
    Library,
    /// The new name is no name of the language, or is a word of it.
    Unfit,
    /// The new name means something already.
    Taken,
}

impl std::fmt::Display for NoRename {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            NoRename::NoName => "no name of the program stands here",
            NoRename::Library => "the name is one of the built-in library",
            NoRename::Unfit => "expected a name that begins with a letter, `?` or `@`, and is no word of the language",
            NoRename::Taken => "that name is in use already",
        })
    }
}

/// Where the name at a place is defined; for the name of an included file, its first line.
pub fn definition(view: &View, at: Position) -> Vec<Span> {
    if let Some(file) = included_at(view, at) {
        return vec![Position { source: file, offset: 0 }.span()];
    }
    let text = view.sources.get(at.source).text();
    let Some(word) = word_at(text, at) else { return Vec::new() };
    let name = normal(&word.word);
    if let Some(scope) = owner(&scopes(text), &name, at.offset as usize) {
        let in_scope = occurrences(view, at.source, &name);
        return in_scope.into_iter().find(|span| scope.range.contains(&(span.start as usize))).into_iter().collect();
    }
    let file = view.sources.get(at.source).name();
    let mut found: Vec<Span> = Vec::new();
    for (_, program) in view.programs_at(file) {
        let Some(id) = program.assembly.names.find(&name) else { continue };
        let Some(entry) = program.assembly.symbols.get(id) else { continue };
        let places = match entry.defined {
            // What an expansion defines is defined by the statement that asked for it.
            Some(defined) => vec![whole(view, defined)],
            None => from_chain(program, &name),
        };
        found.extend(places.into_iter().filter(|place| !found.contains(place)).collect::<Vec<_>>());
    }
    found
}

/// A span in a file: of an expansion, the word that asked for it.
fn whole(view: &View, span: Span) -> Span {
    let at = view.in_file(span.position());
    if at == span.position() {
        return span;
    }
    word_at(view.sources.get(at.source).text(), at).map_or(at.span(), |word| word.span)
}

/// Where the chain file defines a name.
fn from_chain(program: &Surveyed, name: &str) -> Vec<Span> {
    let defined = program.definitions.iter().zip(&program.defined_at);
    defined.filter(|((defined, _), _)| normal(defined) == name).map(|(_, span)| *span).collect()
}

/// The text that the statement at a place includes, if the place is the name of the file.
fn included_at(view: &View, at: Position) -> Option<SourceId> {
    let line = line_at(view.sources.get(at.source).text(), at.offset as usize);
    let is_here = |id: &SourceId| match view.sources.get(*id).origin() {
        crate::source::Origin::Included(span) => {
            span.source == at.source && line.contains(&(span.start as usize)) && at.offset > span.end
        }
        _ => false,
    };
    view.sources.ids().find(is_here)
}

/// Every place of the name at a place, in all files of all programs that share it, definitions of the chain file included.
pub fn references(view: &View, at: Position) -> Vec<Span> {
    let text = view.sources.get(at.source).text();
    let Some(name) = name_at(view, at) else { return Vec::new() };
    if let Some(scope) = owner(&scopes(text), &name, at.offset as usize) {
        let all = occurrences(view, at.source, &name).into_iter();
        return all.filter(|span| scope.range.contains(&(span.start as usize))).collect();
    }
    let programs = sharing(view, &name, at.source);
    let mut found: Vec<Span> = Vec::new();
    let mut files: Vec<&str> = Vec::new();
    for program in programs {
        let own = view.sources.ids().filter(|&id| view.program_of(id).is_some_and(|it| it.root == program.root));
        for id in own {
            let source = view.sources.get(id);
            if matches!(source.origin(), crate::source::Origin::Expanded(..)) || files.contains(&source.name()) {
                continue;
            }
            files.push(source.name());
            let scopes = scopes(source.text());
            let all = occurrences(view, id, &name).into_iter();
            found.extend(all.filter(|span| owner(&scopes, &name, span.start as usize).is_none()));
        }
        found.extend(from_chain(program, &name).into_iter().filter(|span| !found.contains(span)).collect::<Vec<_>>());
    }
    found
}

/// The name at a place: a word of a source, or a key under which the chain file defines a constant.
fn name_at(view: &View, at: Position) -> Option<String> {
    let text = view.sources.get(at.source).text();
    if view.program_of(at.source).is_some() {
        let name = normal(&word_at(text, at)?.word);
        let is_known =
            |it: &Surveyed| it.assembly.names.find(&name).is_some_and(|id| it.assembly.symbols.get(id).is_some());
        let is_local = || owner(&scopes(text), &name, at.offset as usize).is_some();
        return (view.programs.iter().any(is_known) || is_local()).then_some(name);
    }
    let touches = |span: &&Span| span.source == at.source && (span.start..=span.end).contains(&at.offset);
    let spans = view.programs.iter().flat_map(|program| &program.defined_at);
    spans.into_iter().find(touches).map(|span| normal(view.sources.text(*span)))
}

/// The programs that have a name in common with the one in which a place lies, by way of files that both read.
fn sharing<'a>(view: &'a View, name: &str, at: SourceId) -> Vec<&'a Surveyed> {
    let knows = |it: &&Surveyed| it.assembly.names.find(name).is_some_and(|id| it.assembly.symbols.get(id).is_some());
    let all: Vec<_> = view.programs.iter().filter(knows).collect();
    let file = view.sources.get(at).name();
    let reads = |program: &Surveyed, file: &str| {
        view.programs_at(file).any(|(id, it)| it.root == program.root && !occurrences(view, id, name).is_empty())
    };
    let in_chain = view.program_of(at).is_none();
    let mut chosen: Vec<_> = all.iter().filter(|program| in_chain || reads(program, file)).copied().collect();
    loop {
        let files: Vec<_> = chosen.iter().flat_map(|program| files_of(view, program)).collect();
        let more = all.iter().filter(|it| chosen.iter().all(|chosen| chosen.root != it.root));
        let more: Vec<_> = more.filter(|it| files.iter().any(|file| reads(it, file))).copied().collect();
        if more.is_empty() {
            return chosen;
        }
        chosen.extend(more);
    }
}

/// The names of the files that a program reads.
fn files_of<'a>(view: &'a View, program: &Surveyed) -> Vec<&'a str> {
    let own = view.sources.ids().filter(|&id| view.program_of(id).is_some_and(|it| it.root == program.root));
    let sources = own.map(|id| view.sources.get(id));
    sources.filter(|it| !matches!(it.origin(), crate::source::Origin::Expanded(..))).map(|it| it.name()).collect()
}

/// Every place of a text where a name stands as a name.
fn occurrences(view: &View, source: SourceId, name: &str) -> Vec<Span> {
    let text = view.sources.get(source).text();
    let mut found = Vec::new();
    let mut opens_file = false;
    for token in lex(text, &mut Names::default()) {
        match token.kind {
            TokenKind::LineEnd => opens_file = false,
            TokenKind::EndOfText => break,
            TokenKind::Name if opens_file => {}
            TokenKind::Name => {
                let keyword = token.name.keyword();
                opens_file = matches!(
                    keyword,
                    Some(Keyword::Directive(Directive::Include) | Keyword::OtherHands(Directive::Include))
                );
                if normal(token.text(text)) == name {
                    found.push(Span { source, start: token.start, end: token.end });
                }
            }
            _ => {}
        }
    }
    found
}

/// The places at which another name must stand so that the name at a place becomes that one.
///
/// # Errors
/// Why it cannot be.
pub fn rename(view: &View, at: Position, new: &str) -> Result<Vec<Span>, NoRename> {
    let name = name_at(view, at).ok_or(NoRename::NoName)?;
    let starts_well = new.starts_with(|first: char| first.is_ascii_alphabetic() || matches!(first, '?' | '@' | '_'));
    let is_name = starts_well && new.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"?@_$".contains(&byte));
    let is_word = Names::default().find(new).is_some();
    if !is_name || is_word {
        return Err(NoRename::Unfit);
    }
    let is_taken = |program: &Surveyed| {
        let found = program.assembly.names.find(new).and_then(|id| program.assembly.symbols.get(id));
        found.is_some_and(|entry| entry.meaning != Meaning::Undefined)
    };
    if normal(new) != name && view.programs.iter().any(is_taken) {
        return Err(NoRename::Taken);
    }
    let places = references(view, at);
    if places.iter().any(|span| view.sources.get(span.source).name().starts_with("stdlib/")) {
        return Err(NoRename::Library);
    }
    if places.is_empty() { Err(NoRename::NoName) } else { Ok(places) }
}
