//! Every file under `tests/cases/` whose first line holds `run: coldwright ...` is a case, and a test of its own: the
//! command is run in a copy of the file's folder, with `%` standing for the file's own name, and what it prints must
//! equal the snapshot beside it, which has `.snap` added to the name.
//!
//! `cargo test --test cases chain` runs those whose path holds `chain`; a difference is shown, and `cargo insta review`
//! accepts it.

#![allow(clippy::unwrap_used, reason = "a test that cannot read its own files fails")]

use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

use libtest_mimic::{Arguments, Failed, Trial};

const MARK: &str = "run: coldwright ";

fn main() -> ExitCode {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    let mut files = Vec::new();
    collect(&root, &mut files);
    let mut trials = vec![Trial::test("every_snapshot_has_its_case", {
        let files = files.clone();
        move || without_case(&files)
    })];
    for file in files {
        let Some(command) = command(&file) else { continue };
        let name = file.strip_prefix(&root).unwrap().display().to_string();
        trials.push(Trial::test(name, move || {
            compare(&file, &run(&file, &command));
            Ok(())
        }));
    }
    assert!(trials.len() > 1, "no cases found");
    libtest_mimic::run(&Arguments::from_args(), trials).exit_code()
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for entry in entries {
        if entry.is_dir() { collect(&entry, files) } else { files.push(entry) }
    }
}

fn is_snapshot(file: &Path) -> bool {
    file.extension() == Some(OsStr::new("snap"))
}

fn without_case(files: &[PathBuf]) -> Result<(), Failed> {
    match files.iter().find(|file| is_snapshot(file) && command(&file.with_extension("")).is_none()) {
        Some(file) => Err(format!("a snapshot without a case: {}", file.display()).into()),
        None => Ok(()),
    }
}

/// The arguments in the first line of a case.
fn command(file: &Path) -> Option<Vec<String>> {
    if is_snapshot(file) {
        return None;
    }
    let text = fs::read(file).ok()?;
    let first = text.split(|&byte| byte == b'\n').next()?;
    let first = std::str::from_utf8(first).ok()?;
    let arguments = &first[first.find(MARK)? + MARK.len()..];
    let own_name = file.file_name().unwrap().to_str().unwrap();
    Some(arguments.split_whitespace().map(|word| word.replace('%', own_name)).collect())
}

fn copy(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let place = to.join(path.file_name().unwrap());
        if path.is_dir() {
            fs::create_dir(&place).unwrap();
            copy(&path, &place);
        } else {
            fs::copy(&path, &place).unwrap();
        }
    }
}

fn run(file: &Path, arguments: &[String]) -> String {
    let scratch = tempfile::tempdir().unwrap();
    copy(file.parent().unwrap(), scratch.path());
    let output = Command::new(env!("CARGO_BIN_EXE_coldwright"))
        .args(arguments)
        .current_dir(scratch.path())
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    // A snapshot keeps neither carriage returns nor whether its last line ends: both are made visible.
    let part = |title: &str, bytes: &[u8]| match String::from_utf8_lossy(bytes).replace('\r', "\u{240D}") {
        text if text.is_empty() => String::new(),
        text if text.ends_with('\n') => format!("--- {title}\n{text}"),
        text => format!("--- {title}\n{text}\n(without the end of its last line)\n"),
    };
    let code = output.status.code().map_or("killed".into(), |code| code.to_string());
    format!("exit {code}\n{}{}", part("output", &output.stdout), part("problems", &output.stderr))
}

/// Holds what a case printed against its snapshot; panics if they differ.
fn compare(file: &Path, found: &str) {
    let mut settings = insta::Settings::new();
    settings.set_snapshot_path(file.parent().unwrap());
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(file.file_name().unwrap().to_str().unwrap(), found));
}
