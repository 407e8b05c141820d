//! No other module than `notation` writes an address or a byte in octal or hexadecimal.

use std::path::Path;

use super::{library, program, sources};

/// What else is written so, by file: each with why.
const OTHERS: &[(&str, &str)] = &[
    ("image/byte_table/language.rs", "constants of a programming language"),
    ("image/elf/contents.rs", "addresses of 64 bits, as the file has them"),
    ("image/elf/read.rs", "checks of 32 bits, as the file has them"),
    ("image/elf/write.rs", "names of sections, which other tools read"),
    ("image/intel_hex.rs", "fields as they stand in the file"),
    ("image/s_record.rs", "fields as they stand in the file"),
    ("syntax/parser.rs", "a constant of the assembly language, and a character of the source"),
    ("drawing/svg.rs", "colours"),
    ("src/built.rs", "by what a build is known"),
    ("src/ports.rs", "numbers of USB devices"),
];

#[test]
fn no_other_module_writes_octal_or_hexadecimal() {
    let mut wrong = Vec::new();
    let mut used = Vec::new();
    for (module, name, text) in everything() {
        let other = OTHERS.iter().find(|(file, _)| name == *file);
        for (at, line) in text.lines().enumerate() {
            if module == "notation" || line.trim_start().starts_with("//") || !has_radix(line) {
                continue;
            }
            match other {
                Some((file, _)) => used.push(*file),
                None => wrong.push(format!("{name}:{}: {}", at + 1, line.trim())),
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let idle: Vec<_> = OTHERS.iter().filter(|(file, _)| !used.contains(file)).collect();
    assert!(idle.is_empty(), "these write none any more: {idle:?}");
}

/// Who may choose a notation by hand, by the beginning of the file's name: each with why.
const CHOOSE: &[(&str, &str)] = &[
    ("image/", "fields as they stand in the file"),
    ("project/front_panel.rs", "the words of the machine file"),
    ("panel/", "what each notation is called, and how levers are grouped for it"),
    ("src/inspect.rs", "how many bytes stand in a row"),
    ("src/tape/verdicts.rs", "results for programs"),
    ("tape/framing/", "a framing knows no panel"),
    ("diagnosis/seen/", "how numbers in a sentence are read"),
    ("record/", "a record knows no panel"),
];

/// A reader of octal is shown octal: what says so is the machine file or an option.
#[test]
fn no_other_module_chooses_a_notation() {
    let mut wrong = Vec::new();
    for (module, name, text) in everything() {
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (at, line) in code.lines().enumerate() {
            let chooses =
                ["Octal", "SplitOctal", "Hexadecimal"].iter().any(|it| line.contains(&format!("Notation::{it}")));
            let may = module == "notation" || CHOOSE.iter().any(|(beginning, _)| name.starts_with(beginning));
            if chooses && !may && !line.trim_start().starts_with("//") {
                wrong.push(format!("{name}:{}: {}", at + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The sources of both crates: module, name and code. A file of the library is named from its `src`, one of the command
/// line from the project's folder.
fn everything() -> Vec<(String, String, String)> {
    let project = Path::new(env!("CARGO_MANIFEST_DIR"));
    let of = |sources: Vec<(String, std::path::PathBuf, String)>, from: std::path::PathBuf| {
        sources.into_iter().map(move |(module, path, text)| {
            let name = path.strip_prefix(&from).expect("a file below").to_string_lossy().replace('\\', "/");
            (module, name, text)
        })
    };
    of(sources(&library()), library()).chain(of(sources(&program()), project.to_owned())).collect()
}

/// Whether a format string of the line asks for octal or hexadecimal: `{:o}`, `{byte:03o}`, `{0:#X}`.
fn has_radix(line: &str) -> bool {
    line.match_indices('{').any(|(at, _)| {
        let Some(inside) = line[at + 1..].split(['}', '{']).next() else { return false };
        let Some((name, how)) = inside.split_once(':') else { return false };
        let how = how.strip_suffix(['o', 'x', 'X']);
        name.chars().all(|c| c.is_alphanumeric() || matches!(c, '_' | '.'))
            && how.is_some_and(|how| how.trim_start_matches(['#', '0']).chars().all(|c| c.is_ascii_digit()))
    })
}

#[test]
fn formats_are_found() {
    assert!(["{:o}", "{byte:03o}", "a {0:#X} b", "{:04X}", "{a:x}"].iter().all(|text| has_radix(text)));
    assert!(!["{}", "{a:>8}", "{a:?}", "match { a: o }", "{a:5}"].iter().any(|text| has_radix(text)));
}
