//! Every file under `tests/cases/` whose first line holds `run: coldwright ...` is a case: the command is run in a copy
//! of the file's folder, with `%` standing for the file's own name, and what it prints must equal the file beside it
//! that has `.out` added to the name. `COLDWRIGHT_BLESS=1 cargo test --test cases` writes those files anew.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

const MARK: &str = "run: coldwright ";

#[test]
fn every_case_prints_what_is_expected() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut files = Vec::new();
    collect(&root, &mut files);
    let bless = std::env::var_os("COLDWRIGHT_BLESS").is_some();
    let (mut failures, mut cases) = (Vec::new(), 0);
    for file in &files {
        let Some(command) = command(file) else { continue };
        cases += 1;
        let (found, expected) = (run(file, &command), with_out(file));
        if bless {
            fs::write(&expected, &found).unwrap();
        } else if fs::read_to_string(&expected).unwrap_or_default() != found {
            failures.push(format!("{}\n{found}", file.strip_prefix(&root).unwrap().display()));
        }
    }
    for file in files.iter().filter(|file| file.extension().is_some_and(|extension| extension == "out")) {
        assert!(file.with_extension("").exists(), "an expectation without a case: {}", file.display());
    }
    assert!(cases > 0, "no cases found");
    assert!(failures.is_empty(), "{} of {cases} cases differ:\n\n{}", failures.len(), failures.join("\n\n"));
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for entry in entries {
        if entry.is_dir() { collect(&entry, files) } else { files.push(entry) }
    }
}

/// The arguments in the first line of a case.
fn command(file: &Path) -> Option<Vec<String>> {
    if file.extension().is_some_and(|extension| extension == "out") {
        return None;
    }
    let text = fs::read(file).unwrap();
    let first = text.split(|&byte| byte == b'\n').next()?;
    let first = std::str::from_utf8(first).ok()?;
    let arguments = &first[first.find(MARK)? + MARK.len()..];
    let own_name = file.file_name().unwrap().to_str().unwrap();
    Some(arguments.split_whitespace().map(|word| word.replace('%', own_name)).collect())
}

fn run(file: &Path, arguments: &[String]) -> String {
    let scratch = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(file.parent().unwrap()).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::copy(&path, scratch.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    let output = Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(arguments)
        .current_dir(scratch.path())
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let part = |title: &str, bytes: &[u8]| match String::from_utf8_lossy(bytes) {
        text if text.is_empty() => String::new(),
        text => format!("--- {title}\n{text}"),
    };
    let code = output.status.code().map_or("killed".into(), |code| code.to_string());
    format!("exit {code}\n{}{}", part("output", &output.stdout), part("problems", &output.stderr))
}

fn with_out(file: &Path) -> PathBuf {
    let mut name = file.as_os_str().to_owned();
    name.push(".out");
    name.into()
}
