//! Cases with what is expected on the lines themselves. In the files of `tests/cases/assemble/` that have no command in
//! their first line, a line's comment may hold
//!
//! * `;= 076 005`: the bytes, in octal, that the line puts into memory, through whatever it includes or expands;
//! * `;! part of a headline`: a problem that goes back to the line; further ones behind further `;!`.
//!
//! A line that puts bytes or provokes a problem without saying so fails too. Bytes are compared only where no error is.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::collections::{BTreeMap, HashSet};
use std::fs;
use std::path::Path;

use coldwright::assembler::{LoadError, Loaded, Loader, Options, StdlibOnly, assemble};
use coldwright::isa::FORMS;
use coldwright::notation::Address;
use coldwright::source::{Origin, SourceMap};
use coldwright::syntax::Names;

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/cases/assemble");

#[test]
fn every_line_does_what_its_comment_says() {
    let (mut failures, mut files) = (Vec::new(), 0);
    let mut entries: Vec<_> = fs::read_dir(FOLDER).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries.iter().filter(|path| path.extension().is_some_and(|extension| extension == "asm")) {
        let bytes = fs::read(path).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        if text.lines().next().is_some_and(|first| first.contains("run: coldwright ")) || !has_expectations(&text) {
            continue;
        }
        files += 1;
        let name = path.file_name().unwrap().to_str().unwrap();
        failures.extend(check(name, &bytes).into_iter().map(|failure| format!("{name}:{failure}")));
    }
    assert!(files > 10, "only {files} files with expectations");
    assert!(failures.is_empty(), "{} lines differ:\n{}", failures.len(), failures.join("\n"));
}

/// The reference page: its examples do what they say, and it has every word of the language.
#[test]
fn the_language_page_is_true_and_whole() {
    let page = include_str!("../docs/language.md");
    let (mut failures, mut examples) = (Vec::new(), 0);
    for block in page.split("```asm\n").skip(1).filter_map(|rest| rest.split("```").next()) {
        examples += 1;
        failures.extend(check("language.md", block.as_bytes()));
    }
    assert!(examples > 10, "only {examples} examples");
    assert!(failures.is_empty(), "{}", failures.join("\n"));
    let operators = "NUL HIGH LOW MOD SHL SHR EQ NE LT LE GT GE NOT AND OR XOR";
    let words = page.split(|sign: char| !sign.is_ascii_alphanumeric()).collect::<HashSet<_>>();
    let names = Names::default();
    let instructions: HashSet<_> = FORMS.iter().map(|form| form.name).collect();
    for word in names.operations().filter(|word| !instructions.contains(word)).chain(operators.split(' ')) {
        assert!(words.contains(word), "docs/language.md does not name {word}");
    }
}

fn has_expectations(text: &str) -> bool {
    text.contains(";= ") || text.contains(";! ")
}

/// What differs, each with its line.
fn check(name: &str, bytes: &[u8]) -> Vec<String> {
    let mut sources = SourceMap::default();
    let root = sources.add(name, bytes, Origin::Given);
    let assembly = assemble(&mut sources, root, &Options::default(), &mut Beside);
    let failed = assembly.diagnostics.has_errors();
    let line_of = |position| sources.get(root).line_of(sources.root(position).offset);
    let mut made: BTreeMap<usize, Vec<u8>> = BTreeMap::new();
    for address in (0..=u16::MAX).map(Address).filter(|_| !failed) {
        if let (Some(byte), Some(position)) = (assembly.image.byte(address), assembly.image.made_by(address)) {
            made.entry(line_of(position)).or_default().push(byte);
        }
    }
    let mut told: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for problem in assembly.diagnostics.sorted(&sources) {
        let line = problem.primary.map_or(1, |label| line_of(label.span.position()));
        told.entry(line).or_default().push(problem.headline);
    }
    let text = sources.get(root).text().to_owned();
    let lines = text.split('\n').enumerate().map(|(at, line)| (at + 1, line.trim_end()));
    let mut failures = Vec::new();
    for (number, line) in lines {
        let (found, problems) = (made.remove(&number).unwrap_or_default(), told.remove(&number).unwrap_or_default());
        if !failed && expected_bytes(line) != found {
            failures.push(format!("{number}: {line}\n    found {}", octal(&found)));
        }
        failures.extend(unmatched(line, problems).into_iter().map(|text| format!("{number}: {line}\n    {text}")));
    }
    failures
}

fn expected_bytes(line: &str) -> Vec<u8> {
    let Some((_, bytes)) = line.split_once(";= ") else { return Vec::new() };
    let bytes = bytes.split(';').next().unwrap_or_default();
    bytes.split_whitespace().map(|byte| u8::from_str_radix(byte, 8).expect("an octal byte")).collect()
}

/// Expected problems that were not found, and found ones that no text expects.
fn unmatched(line: &str, mut found: Vec<String>) -> Vec<String> {
    let mut failures = Vec::new();
    for expected in line.split(";! ").skip(1).map(str::trim) {
        match found.iter().position(|headline| headline.contains(expected)) {
            Some(at) => drop(found.remove(at)),
            None => failures.push(format!("expected: {expected}")),
        }
    }
    failures.extend(found.into_iter().map(|headline| format!("found: {headline}")));
    failures
}

fn octal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:03o} ")).collect()
}

/// Finds the files beside the cases.
struct Beside;

impl Loader for Beside {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        match fs::read(Path::new(FOLDER).join(name)) {
            Ok(bytes) => Ok(Loaded { name: name.into(), identity: name.into(), bytes }),
            Err(_) => StdlibOnly.load(name, from),
        }
    }
}
