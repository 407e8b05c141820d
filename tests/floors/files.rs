//! Which file of the sources imports from which: paths are read by `syn` and followed through re-exports to the file
//! that has the definition, so that a `mod.rs` that only re-exports stands in nobody's way.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use proc_macro2::{TokenStream, TokenTree};
use syn::visit::{self, Visit};

/// A module, as the names that lead to it from the crate's root.
pub type Module = Vec<String>;

/// The files of a crate by module, and of each what it imports and what names it brings into sight.
pub struct Files {
    files: BTreeMap<Module, File>,
}

struct File {
    /// Every path of the file's code outside its tests.
    paths: Vec<Vec<String>>,
    /// Names that `use` brings into sight, with the paths they stand for.
    names: BTreeMap<String, Vec<String>>,
}

impl Files {
    /// Reads every source below a folder.
    pub fn read(root: &Path) -> Files {
        let mut paths = Vec::new();
        collect(root, &mut paths);
        let files = paths.iter().map(|path| {
            let text = fs::read_to_string(path).expect("a readable source");
            let parsed = syn::parse_file(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
            (module(root, path), File::of(&parsed))
        });
        Files { files: files.collect() }
    }

    /// What each file imports from, other files only.
    pub fn imports(&self) -> BTreeMap<&Module, BTreeSet<&Module>> {
        let of = |module: &Module, file: &File| {
            let found = file.paths.iter().filter_map(|path| self.resolve(module, path, 0));
            found.filter(|found| *found != module).collect()
        };
        self.files.iter().map(|(module, file)| (module, of(module, file))).collect()
    }

    /// The file in which the thing that a path names is defined; none if it lies in another crate.
    fn resolve(&self, from: &Module, path: &[String], depth: usize) -> Option<&Module> {
        let (mut at, mut rest) = match path.first()?.as_str() {
            "crate" => (Module::new(), &path[1..]),
            "self" => (from.clone(), &path[1..]),
            "super" => {
                let ups = path.iter().take_while(|name| *name == "super").count();
                (from[..from.len().checked_sub(ups)?].to_vec(), &path[ups..])
            }
            first if self.child(from, first).is_some() => (from.clone(), path),
            _ => return None,
        };
        while let Some((name, after)) = rest.split_first() {
            match self.child(&at, name) {
                Some(child) => at = child,
                None => {
                    let renamed = self.files.get(&at).and_then(|file| file.names.get(name));
                    if let Some(stands_for) = renamed.filter(|_| depth < 16) {
                        let longer: Vec<_> = stands_for.iter().chain(after).cloned().collect();
                        return self.resolve(&at, &longer, depth + 1);
                    }
                    break;
                }
            }
            rest = after;
        }
        self.files.get_key_value(&at).map(|(module, _)| module)
    }

    fn child(&self, module: &Module, name: &str) -> Option<Module> {
        let mut child = module.clone();
        child.push(name.to_owned());
        self.files.contains_key(&child).then_some(child)
    }
}

impl File {
    fn of(parsed: &syn::File) -> File {
        let mut reader = Reader { file: File { paths: Vec::new(), names: BTreeMap::new() } };
        reader.visit_file(parsed);
        reader.file
    }
}

struct Reader {
    file: File,
}

impl Visit<'_> for Reader {
    fn visit_item(&mut self, item: &syn::Item) {
        if !is_for_tests(item) {
            visit::visit_item(self, item);
        }
    }

    fn visit_item_use(&mut self, item: &syn::ItemUse) {
        let mut found = Vec::new();
        spread(&item.tree, &mut Vec::new(), &mut found);
        for (name, path) in found {
            self.file.paths.push(path.clone());
            self.file.names.insert(name, path);
        }
    }

    /// `pub(super)` says who may see a thing, and imports nothing.
    fn visit_visibility(&mut self, _: &syn::Visibility) {}

    fn visit_path(&mut self, path: &syn::Path) {
        self.file.paths.push(path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, call: &syn::Macro) {
        paths_in(call.tokens.clone(), &mut self.file.paths);
        visit::visit_macro(self, call);
    }
}

/// Whether an item is compiled for tests only.
fn is_for_tests(item: &syn::Item) -> bool {
    let attributes = match item {
        syn::Item::Mod(item) => &item.attrs,
        syn::Item::Use(item) => &item.attrs,
        syn::Item::Fn(item) => &item.attrs,
        syn::Item::Impl(item) => &item.attrs,
        _ => return false,
    };
    attributes.iter().any(|attribute| {
        matches!(&attribute.meta, syn::Meta::List(list) if list.path.is_ident("cfg") && list.tokens.to_string() == "test")
    })
}

/// The names that a `use` brings into sight, each with its whole path.
fn spread(tree: &syn::UseTree, before: &mut Vec<String>, found: &mut Vec<(String, Vec<String>)>) {
    let mut leaf = |name: String, last: String| {
        let mut path = before.clone();
        if last != "self" {
            path.push(last.clone());
        }
        let name = if name == "self" { before.last().cloned().unwrap_or(name) } else { name };
        found.push((name, path));
    };
    match tree {
        syn::UseTree::Path(path) => {
            before.push(path.ident.to_string());
            spread(&path.tree, before, found);
            before.pop();
        }
        syn::UseTree::Name(name) => leaf(name.ident.to_string(), name.ident.to_string()),
        syn::UseTree::Rename(rename) => leaf(rename.rename.to_string(), rename.ident.to_string()),
        syn::UseTree::Glob(_) => leaf("*".into(), "*".into()),
        syn::UseTree::Group(group) => group.items.iter().for_each(|tree| spread(tree, before, found)),
    }
}

/// The paths among the tokens of a macro call, which `syn` leaves unread.
fn paths_in(tokens: TokenStream, found: &mut Vec<Vec<String>>) {
    let mut path: Vec<String> = Vec::new();
    let mut colons = 0;
    for token in tokens {
        match token {
            TokenTree::Ident(name) => {
                if colons != 2 && !path.is_empty() {
                    found.push(std::mem::take(&mut path));
                }
                path.push(name.to_string());
                colons = 0;
            }
            TokenTree::Punct(sign) if sign.as_char() == ':' => colons += 1,
            other => {
                found.extend((!path.is_empty()).then(|| std::mem::take(&mut path)));
                colons = 0;
                if let TokenTree::Group(group) = other {
                    paths_in(group.stream(), found);
                }
            }
        }
    }
    found.extend((!path.is_empty()).then_some(path));
}

fn module(root: &Path, path: &Path) -> Module {
    let inside = path.strip_prefix(root).expect("a file below the root").with_extension("");
    let mut names: Module = inside.iter().map(|name| name.to_string_lossy().into_owned()).collect();
    let is_own = |name: &String| name == "mod" || (names.len() == 1 && (name == "lib" || name == "main"));
    if names.last().is_some_and(is_own) {
        names.pop();
    }
    names
}

/// Every source below a folder.
pub fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
}
