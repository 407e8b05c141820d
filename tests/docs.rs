//! The commands that the guide shows are run, and must print what the guide says. A page that shows commands names the
//! folder they run in: `<!-- commands run in FOLDER -->`. In a block marked `console`, a line that begins with `$ ` is a
//! command, what follows is its output, and a line `...` stands for any lines.

#![allow(clippy::unwrap_used, reason = "a test that cannot read the guide fails")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

#[test]
fn the_guide_shows_what_the_commands_print() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let (mut failures, mut commands) = (Vec::new(), 0);
    for page in pages(&root.join("docs")) {
        let text = fs::read_to_string(&page).unwrap();
        let blocks: Vec<&str> =
            text.split("```console\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
        if blocks.is_empty() {
            continue;
        }
        let folder = folder(&text).unwrap_or_else(|| panic!("{} names no folder", page.display()));
        let scratch = copy(&root.join(folder));
        for (command, expected) in blocks.iter().flat_map(|block| sessions(block)) {
            commands += 1;
            let found = run(command, scratch.path());
            if !agrees(&expected, &found.lines().collect::<Vec<_>>()) {
                failures.push(format!("{}: {command}\n{found}", page.display()));
            }
        }
    }
    assert!(commands > 0, "the guide shows no command");
    assert!(failures.is_empty(), "{} of {commands} commands differ:\n\n{}", failures.len(), failures.join("\n\n"));
}

/// The commands in the README's table, one after the other in a copy of what a clone has.
#[test]
fn every_row_of_the_readme_runs() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let readme = fs::read_to_string(root.join("README.md")).unwrap();
    let rows = readme.lines().filter(|line| line.starts_with('|'));
    let commands: Vec<&str> = rows.filter_map(|row| row.split("`coldwright ").nth(1)?.split('`').next()).collect();
    assert!(commands.len() > 8, "{commands:?}");
    let scratch = tempfile::tempdir().unwrap();
    copy_all(&root.join("examples"), &scratch.path().join("examples"));
    for command in commands {
        let words = arguments(command);
        let program = env!("CARGO_BIN_EXE_coldwright");
        let output = Command::new(program).args(&words).current_dir(scratch.path()).output().unwrap();
        assert!(output.status.success(), "{command}\n{}", String::from_utf8_lossy(&output.stderr));
        for written in words.windows(2).filter(|pair| pair[0] == "-o") {
            assert!(scratch.path().join(&written[1]).exists(), "{command} wrote no {}", written[1]);
        }
    }
}

fn copy_all(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        let there = to.join(path.file_name().unwrap());
        if path.is_dir() { copy_all(&path, &there) } else { fs::copy(&path, there).map(drop).unwrap() }
    }
}

fn pages(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut pages: Vec<_> = entries.filter(|path| path.extension().is_some_and(|end| end == "md")).collect();
    pages.sort();
    pages
}

fn folder(page: &str) -> Option<&str> {
    page.split("<!-- commands run in ").nth(1)?.split(" -->").next()
}

fn copy(folder: &Path) -> tempfile::TempDir {
    let scratch = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_file() {
            fs::copy(&path, scratch.path().join(path.file_name().unwrap())).unwrap();
        }
    }
    scratch
}

/// The commands of a block with the lines shown after each.
fn sessions(block: &str) -> Vec<(&str, Vec<&str>)> {
    let mut sessions: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in block.lines() {
        match (line.strip_prefix("$ "), sessions.last_mut()) {
            (Some(command), _) => sessions.push((command, Vec::new())),
            (None, Some((_, output))) => output.push(line),
            (None, None) => panic!("output before a command: {line}"),
        }
    }
    sessions
}

fn run(command: &str, folder: &Path) -> String {
    let rest = command.strip_prefix("coldwright ").unwrap_or_else(|| panic!("{command}"));
    let output =
        Command::new(env!("CARGO_BIN_EXE_coldwright")).args(arguments(rest)).current_dir(folder).output().unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// The words of a command.
fn arguments(command: &str) -> Vec<String> {
    let mut arguments = Vec::new();
    let mut quoted: Option<String> = None;
    for word in command.split_whitespace() {
        // A word in quotes may hold blanks.
        match (&mut quoted, word.strip_prefix('"'), word.strip_suffix('"')) {
            (Some(open), _, Some(end)) => {
                arguments.push(format!("{open} {end}"));
                quoted = None;
            }
            (Some(open), _, None) => *open += &format!(" {word}"),
            (None, Some(start), _) => quoted = Some(start.to_owned()),
            (None, None, _) => arguments.push(word.to_owned()),
        }
    }
    arguments
}

/// Whether lines agree with a pattern in which `...` stands for any lines. Each piece between two such lines is taken
/// where it first occurs; the last one must be the end.
fn agrees(pattern: &[&str], lines: &[&str]) -> bool {
    let pieces: Vec<&[&str]> = pattern.split(|line| *line == "...").collect();
    let Some((first, rest)) = pieces.split_first() else { return lines.is_empty() };
    let same = |piece: &[&str], lines: &[&str]| {
        piece.len() == lines.len() && piece.iter().zip(lines).all(|(a, b)| a.trim_end() == b.trim_end())
    };
    if rest.is_empty() {
        return same(first, lines);
    }
    if lines.len() < first.len() || !same(first, &lines[..first.len()]) {
        return false;
    }
    let mut lines = &lines[first.len()..];
    let (last, middle) = rest.split_last().unwrap();
    for piece in middle {
        let starts = 0..=lines.len().saturating_sub(piece.len());
        let Some(start) =
            starts.into_iter().find(|&at| lines.len() >= at + piece.len() && same(piece, &lines[at..at + piece.len()]))
        else {
            return false;
        };
        lines = &lines[start + piece.len()..];
    }
    lines.len() >= last.len() && same(last, &lines[lines.len() - last.len()..])
}

#[test]
fn three_dots_stand_for_any_lines() {
    assert!(agrees(&["a", "...", "d"], &["a", "b", "c", "d"]));
    assert!(agrees(&["..."], &[]));
    assert!(!agrees(&["a", "...", "d"], &["a", "b", "c"]));
    assert!(!agrees(&["a"], &["a", "b"]));
    assert!(agrees(&["...", "b", "...", "b"], &["a", "b", "c", "b"]));
    assert!(!agrees(&["...", "b", "...", "b"], &["a", "b"]));
}
