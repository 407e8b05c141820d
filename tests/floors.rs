//! The floors of the house: a module imports only from lower ones, and only the top floor touches the outside.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Modules by floor, from the ground up, as `docs/architecture.md` lists them.
const FLOORS: &[&[&str]] = &[
    &["isa", "notation", "source", "audio", "line", "drawing"],
    &["image", "syntax", "cpu"],
    &["assembler", "rom", "tape", "panel"],
    &["project"],
    &["rehearsal"],
    &["cli"],
];

/// What only `cli` may use: files, the environment, the terminal, the exit code.
const OUTSIDE: &[&str] =
    &["std::fs", "std::env::", "std::process", "stdout()", "stderr()", "stdin()", "println!", "eprintln!"];

#[test]
fn modules_import_only_from_lower_floors() {
    let floor_of: BTreeMap<_, _> = FLOORS
        .iter()
        .enumerate()
        .flat_map(|(floor, modules)| modules.iter().map(move |module| (*module, floor)))
        .collect();
    let mut seen = BTreeMap::new();
    let mut wrong = Vec::new();
    for (module, path, text) in sources() {
        let Some(&floor) = floor_of.get(module.as_str()) else {
            panic!("`{module}` stands on no floor: {}", path.display());
        };
        *seen.entry(module.clone()).or_insert(0) += 1;
        for import in imports(&text) {
            let allowed = import == module || floor_of.get(import.as_str()).is_some_and(|&below| below < floor);
            if !allowed {
                wrong.push(format!("{}: `{module}` imports `{import}`", path.display()));
            }
        }
    }
    assert_eq!(seen.len(), floor_of.len(), "a module of the list is missing: {seen:?}");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn only_the_command_line_touches_the_outside() {
    let mut wrong = Vec::new();
    for (module, path, text) in sources() {
        if module == "cli" {
            continue;
        }
        for (at, line) in text.lines().enumerate() {
            let code = line.split("//").next().unwrap_or_default();
            if OUTSIDE.iter().any(|word| code.contains(word)) {
                wrong.push(format!("{}:{}: {}", path.display(), at + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Every source file under `src/` below the crate's root, with the module it belongs to and its code before the tests.
fn sources() -> Vec<(String, PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&root, &mut files);
    let mut sources = Vec::new();
    for path in files {
        let inside = path.strip_prefix(&root).expect("a file under src");
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

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a readable folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
}

/// The modules of the crate that a text names, comments left out.
fn imports(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for line in text.lines() {
        let code = line.split("//").next().unwrap_or_default();
        for rest in code.split("crate::").skip(1) {
            let name: String = rest.chars().take_while(|sign| sign.is_ascii_alphanumeric() || *sign == '_').collect();
            if let Some(group) = rest.strip_prefix('{') {
                let names = group.split(['{', '}', ',']).map(|name| name.trim().split("::").next().unwrap_or_default());
                found.extend(names.filter(|name| !name.is_empty()).map(str::to_owned));
            } else if !name.is_empty() {
                found.push(name);
            }
        }
    }
    found
}
