//! The sources of a chain and what of them could be shorter: each as all stages have it that are made from it.

use std::path::{Path, PathBuf};

use super::source_file::Disk;
use coldwright::assembler::{self, Assembly, Loader, Options};
use coldwright::image::Image;
use coldwright::notation::counted;
use coldwright::project::{Plan, Stage, is_misfit};
use coldwright::shortening::{Depth, Outside, Search, Suggestion, Unseen, shorten};
use coldwright::source::{Code, Diagnostic, Origin, Severity, SourceId, SourceMap};

/// A source of a chain with the stages that are made from it.
pub struct Shared<'a> {
    /// The file, as shown.
    pub name: &'a str,
    /// Its text.
    pub text: &'a str,
    /// The stages, with what the rest of the chain knows of each.
    pub stages: Vec<(&'a Stage, Outside)>,
    /// Its text among those of the chain.
    pub root: SourceId,
    /// How included files are found.
    loads: &'a Loads<'a>,
}

/// Whoever finds included files, made anew for every text.
pub type Loads<'a> = dyn Fn() -> Box<dyn Loader + 'a> + 'a;

/// The sources of a chain in the order of its stages.
pub fn sources_of<'a>(plan: &'a Plan, loads: &'a Loads<'a>, sources: &'a SourceMap) -> Vec<Shared<'a>> {
    let mut found: Vec<(PathBuf, Shared)> = Vec::new();
    for (number, stage) in plan.stages.numbered() {
        let Some(root) = stage.root else { continue };
        let path = whole(Path::new(&stage.file));
        let outside = Outside::of(plan, number);
        match found.iter_mut().find(|(known, _)| *known == path) {
            Some((_, shared)) => shared.stages.push((stage, outside)),
            None => {
                let (name, text) = (stage.file.as_str(), sources.get(root).text());
                found.push((path, Shared { name, text, stages: vec![(stage, outside)], root, loads }));
            }
        }
    }
    found.into_iter().map(|(_, shared)| shared).collect()
}

impl Shared<'_> {
    /// Assembles a text as a stage is made from it; nothing if it has errors, but for those of a limit.
    fn assemble(&self, stage: &Stage, text: &str) -> Option<(SourceMap, SourceId, Assembly)> {
        let mut sources = SourceMap::default();
        let own = sources.add(self.name, text, Origin::Given);
        let options = Options { definitions: stage.definitions.clone(), warn_unused: false, keep_lines: false };
        let assembly = assembler::assemble(&mut sources, own, &options, &mut *(self.loads)());
        let is_wrong = |it: &Diagnostic| it.severity == Severity::Error && !is_misfit(it);
        let wrong = assembly.diagnostics.iter().any(is_wrong);
        (!wrong).then_some((sources, own, assembly))
    }

    /// What could be shorter in a text, and is right for every stage: it is found there too, or makes the same bytes.
    pub fn suggestions(&self, text: &str, search: &Search) -> Result<Vec<Suggestion>, Unseen> {
        let mut sides = Vec::new();
        for (stage, outside) in &self.stages {
            let Some((sources, own, assembly)) = self.assemble(stage, text) else { return Ok(Vec::new()) };
            let found = shorten(&sources, own, &assembly, outside, search, &|text| self.assemble(stage, text))?;
            sides.push((*stage, assembly.image, found));
        }
        let holds = |it: &Suggestion| {
            sides.iter().all(|(stage, image, found)| {
                found.iter().any(|other| other.text == it.text)
                    || self.assemble(stage, &it.text).is_some_and(|(_, _, new)| same(&new.image, image))
            })
        };
        let mut right: Vec<Suggestion> = Vec::new();
        for it in sides.iter().flat_map(|(_, _, found)| found) {
            if right.iter().all(|other| other.text != it.text) && holds(it) {
                right.push(it.clone());
            }
        }
        right.sort_by_key(|it| (std::cmp::Reverse(it.saves), it.line(), it.after().count()));
        Ok(right)
    }

    /// Takes the suggestion that saves most, and looks again, until nothing is left.
    pub fn all(&self, found: Vec<Suggestion>, search: &Search) -> (String, Vec<Suggestion>) {
        one_after_the_other(self.text, found, |text| self.suggestions(text, search).ok())
    }

    /// The names of its stages.
    pub fn stage_names(&self) -> String {
        let names: Vec<_> = self.stages.iter().map(|(stage, _)| stage.name.as_str()).collect();
        names.join(", ")
    }
}

/// How much could be saved of the sources of a chain that does not fit, one note a source.
pub fn could_save_of(plan: &Plan, file: &Path, folder: &Path, sources: &SourceMap) -> Vec<Diagnostic> {
    let mut notes = Vec::new();
    let search = Search::new(Depth::Two);
    let folders = [folder.to_owned()];
    for shared in sources_of(plan, &|| Box::new(Disk { folders: &folders }), sources) {
        let Ok(found) = shared.suggestions(shared.text, &search) else { continue };
        let saves: usize = shared.all(found, &search).1.iter().map(|it| it.saves).sum();
        if saves > 0 {
            let of = shared.stages.len();
            let each = if of > 1 { format!(" in each of its {of} stages") } else { String::new() };
            let headline = format!("{} of `{}` could be saved{each}", counted(saves, "byte"), shared.name);
            let note = Diagnostic::note(Code::CouldBeShorter, headline)
                .with_note("each change is proved to change nothing else")
                .with_help(format!("`coldwright shorten {}` shows where", file.display()));
            notes.push(note);
        }
    }
    notes
}

/// Takes the first of the suggestions for a text, looks at what it makes of it, and so on until nothing is left.
pub fn one_after_the_other(
    text: &str,
    mut found: Vec<Suggestion>,
    look: impl Fn(&str) -> Option<Vec<Suggestion>>,
) -> (String, Vec<Suggestion>) {
    let mut text = text.to_owned();
    let mut taken = Vec::new();
    while !found.is_empty() {
        let best = found.swap_remove(0);
        text.clone_from(&best.text);
        taken.push(best);
        found = look(&text).unwrap_or_default();
    }
    (text, taken)
}

/// The whole path of a file, without links.
pub fn whole(path: &Path) -> PathBuf {
    path.canonicalize().unwrap_or_else(|_| path.to_owned())
}

/// Whether two programs are the same bytes with the same entry.
pub fn same(first: &Image, second: &Image) -> bool {
    first.entry == second.entry
        && first.len() == second.len()
        && first.extents().zip(second.extents()).all(|(a, b)| a.base == b.base && a.bytes == b.bytes)
}
