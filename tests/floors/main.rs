//! The floors of the house: a module of the library imports only from lower ones, and only the command line, a crate of
//! its own, touches the outside.

mod circles;
mod files;
mod notation;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

use files::{Files, collect};

/// Modules by floor, from the ground up, as `docs/architecture.md` lists them.
const FLOORS: &[&[&str]] = &[
    &["isa", "notation", "source", "audio", "line", "drawing", "cautions"],
    &["image", "syntax", "cpu", "record"],
    &["assembler", "formatting", "rom", "tape", "disk", "panel"],
    &["project"],
    &["rehearsal", "disassembly", "shortening"],
    &["faults", "limits", "delivery", "comparison"],
    &["diagnosis", "language"],
    &["booklet", "guide"],
];

/// What only the command line may use: files, the environment, the terminal, the exit code.
const OUTSIDE: &[&str] =
    &["std::fs", "std::env::", "std::process", "stdout()", "stderr()", "stdin()", "println!", "eprintln!"];

#[test]
fn modules_import_only_from_lower_floors() {
    let floor_of: BTreeMap<_, _> = FLOORS
        .iter()
        .enumerate()
        .flat_map(|(floor, modules)| modules.iter().map(move |module| (*module, floor)))
        .collect();
    let files = Files::read(&library());
    let mut seen = BTreeSet::new();
    let mut wrong = Vec::new();
    for (file, imports) in files.imports() {
        let Some(module) = file.first() else { continue };
        let Some(&floor) = floor_of.get(module.as_str()) else { panic!("`{module}` stands on no floor") };
        seen.insert(module.clone());
        for import in imports {
            let below = import.first().and_then(|other| Some((other, *floor_of.get(other.as_str())?)));
            if !below.is_some_and(|(other, below)| other == module || below < floor) {
                wrong.push(format!("`{}` imports `{}`", file.join("/"), import.join("/")));
            }
        }
    }
    assert_eq!(seen.len(), floor_of.len(), "a module of the list is missing: {seen:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_command_line_touches_the_outside() {
    let mut wrong = Vec::new();
    for (_, path, text) in sources(&library()) {
        for (at, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            if OUTSIDE.iter().any(|word| code.contains(word)) {
                wrong.push(format!("{}:{}: {}", path.display(), at + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_file_imports_in_a_circle() {
    for crate_root in [library(), program()] {
        no_circle_in(&Files::read(&crate_root));
    }
}

fn no_circle_in(files: &Files) {
    let imports = files.imports();
    let circles = circles::circles(&imports);
    let told = circles.iter().map(|circle| {
        let told = circle.iter().map(|file| {
            let others = imports[file].iter().filter(|to| circle.contains(to)).map(|to| to.join("/"));
            format!("    {} -> {}", file.join("/"), others.collect::<Vec<_>>().join(", "))
        });
        format!("{} files import in a circle:\n{}", circle.len(), told.collect::<Vec<_>>().join("\n"))
    });
    assert!(circles.is_empty(), "{}", told.collect::<Vec<_>>().join("\n"));
}

/// The sources of the library.
fn library() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("library/src")
}

/// The sources of the command line.
fn program() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Every source file of a crate, with the module it belongs to and its code before the tests.
fn sources(root: &Path) -> Vec<(String, PathBuf, String)> {
    let mut files = Vec::new();
    collect(root, &mut files);
    let mut sources = Vec::new();
    for path in files {
        let inside = path.strip_prefix(root).expect("a file under src");
        let first = inside.components().next().expect("a name").as_os_str().to_string_lossy().into_owned();
        let module = first.trim_end_matches(".rs").to_owned();
        if module == "main" || module == "lib" {
            continue;
        }
        let text = fs::read_to_string(&path).expect("a readable source");
        let code = text.split("#[cfg(test)]").next().unwrap_or_default().to_owned();
        sources.push((module, path, code));
    }
    sources
}
