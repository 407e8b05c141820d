//! A client that others wrote edits a chain over the protocol: a test library for language servers, driven by a script.

use std::fs;
use std::path::Path;
use std::process::Command;

use crate::tool;

const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/judges/language_server.py");

#[test]
fn a_client_of_others_is_answered_in_what_it_knows_of_the_protocol() {
    let known = Command::new("python3").args(["-c", "import pytest_lsp"]).output();
    if !known.is_ok_and(|output| output.status.success()) {
        return tool::skip("pytest-lsp");
    }
    let folder = tempfile::tempdir().unwrap();
    let belfry = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/belfry");
    for entry in fs::read_dir(belfry).unwrap().map(|entry| entry.unwrap()) {
        if entry.path().is_file() {
            fs::copy(entry.path(), folder.path().join(entry.file_name())).unwrap();
        }
    }
    let mut command = Command::new("python3");
    command.args(["-m", "pytest", "-q", "-p", "no:cacheprovider", SCRIPT]).current_dir(folder.path());
    command.env("COLDWRIGHT", env!("CARGO_BIN_EXE_coldwright")).env("CHAIN", folder.path());
    let output = command.env("PYTHONDONTWRITEBYTECODE", "1").output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
}
