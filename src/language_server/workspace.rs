//! What was made of the open texts: a view for every chain that one of them belongs to, and for every other by itself.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use super::super::chain::CHAIN_FILE;
use super::super::files;
use super::super::source_file::shown;
use super::desk::Desk;
use super::documents::Documents;
use super::shorter::shorter;
use coldwright::language::View;
use coldwright::shortening::Suggestion;
use coldwright::source::{Diagnostic, Origin, SourceId, SourceMap};

/// What is open, and what was made of it.
#[derive(Default)]
pub struct Workspace {
    /// The open texts.
    pub documents: Documents,
    /// Views by the names of the files that they begin with; made when they are asked for.
    views: BTreeMap<String, Rc<View>>,
    /// What could be shorter in texts of those views, by their names: editors ask at every line that is stepped over.
    shorter: BTreeMap<String, Rc<Vec<Suggestion>>>,
}

impl Workspace {
    /// Forgets what was made: a text, or a file, is another.
    pub fn forget(&mut self) {
        self.views.clear();
        self.shorter.clear();
    }

    /// What could be shorter in a text of a view.
    pub fn shorter(&mut self, view: &View, source: SourceId) -> Rc<Vec<Suggestion>> {
        let name = view.sources.get(source).name().to_owned();
        if let Some(found) = self.shorter.get(&name) {
            return found.clone();
        }
        let found = Rc::new(shorter(&self.documents, view, source));
        self.shorter.insert(name, found.clone());
        found
    }

    /// The view that a file is seen in: that of the chain above it, or its own.
    pub fn view(&mut self, file: &str) -> Rc<View> {
        if let Some(chain) = self.chain_above(file) {
            let view = self.kept(&chain, true);
            if view.texts(file).next().is_some() {
                return view;
            }
        }
        self.kept(file, false)
    }

    /// All that is wrong with a file when one of its texts is another.
    pub fn problems_with(&mut self, file: &str, text: &str) -> Vec<Diagnostic> {
        let view = self.view(file);
        let changed = self.otherwise(&view, &BTreeMap::from([(file.to_owned(), text.to_owned())]));
        let in_file = |it: &Diagnostic| {
            it.primary.as_ref().is_some_and(|label| changed.sources.get(label.span.source).name() == file)
        };
        changed.problems.iter().filter(|it| in_file(it)).cloned().collect()
    }

    /// A view as it would be with other texts in place of those of some files.
    pub fn otherwise(&self, view: &View, texts: &BTreeMap<String, String>) -> View {
        self.made(view.sources.get(view.root).name(), view.kind.is_none(), Some(texts))
    }

    /// The chain file in the folder of a file or above.
    fn chain_above(&self, file: &str) -> Option<String> {
        let folders = Path::new(file).ancestors().skip(1);
        let mut chains = folders.map(|folder| folder.join(CHAIN_FILE));
        chains.find_map(|chain| {
            let name = shown(&chain);
            (self.documents.get(&name).is_some() || chain.is_file()).then_some(name)
        })
    }

    fn kept(&mut self, file: &str, is_chain: bool) -> Rc<View> {
        if let Some(view) = self.views.get(file) {
            return view.clone();
        }
        let view = Rc::new(self.made(file, is_chain, None));
        self.views.insert(file.to_owned(), view.clone());
        view
    }

    fn made(&self, file: &str, is_chain: bool, instead: Option<&BTreeMap<String, String>>) -> View {
        let mut desk = Desk::beside(file, is_chain, &self.documents);
        if let Some(texts) = instead {
            desk = desk.with(texts);
        }
        let path = PathBuf::from(file);
        let text = match desk.bytes(&path) {
            Ok((_, bytes)) => bytes,
            Err(problem) => return unseen(file, problem),
        };
        if is_chain {
            return View::of_chain(file, text, &mut desk);
        }
        if path.extension().is_some_and(|extension| extension.eq_ignore_ascii_case("toml")) {
            return View::of_toml(file, text);
        }
        match files::no_program(&path, &text) {
            Some(problem) => unseen(file, problem),
            None => View::of_source(file, text, &mut desk),
        }
    }
}

/// A view of a file that cannot be seen, and why.
fn unseen(file: &str, problem: Diagnostic) -> View {
    let mut sources = SourceMap::default();
    let root = sources.add(file, "", Origin::Given);
    View { sources, problems: vec![problem], machine: None, plan: None, programs: Vec::new(), root, kind: None }
}
