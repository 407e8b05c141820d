//! Every code has a page with a wrong and a right example, and a case that provokes it. Where the examples are assembly
//! sources, the wrong one provokes the code and nothing else, and the right one nothing at all.

#![allow(clippy::unwrap_used, clippy::expect_used)]

use std::fs;
use std::path::{Path, PathBuf};

use coldwright::assembler::{LoadError, Loaded, Loader, Options, StdlibOnly, assemble};
use coldwright::source::{Code, Diagnostic, Origin, SourceMap};

/// The name under which an example can include itself.
const OWN_NAME: &str = "this.asm";

#[test]
fn every_code_has_a_page_with_both_examples() {
    for code in Code::ALL {
        let page = code.page();
        assert!(page.starts_with(&format!("# {code}\n")), "the page of {code} does not begin with its name");
        assert!(page.contains("Wrong"), "the page of {code} has no wrong example");
        assert!(page.contains("Right"), "the page of {code} has no right example");
        assert!(page.len() > 200, "the page of {code} says too little");
    }
}

#[test]
fn assembly_examples_do_what_their_page_says() {
    let mut examples = 0;
    for &code in Code::ALL {
        let Some(wrong) = example(code, "Wrong") else { continue };
        let right = example(code, "Right").unwrap_or_else(|| panic!("{code} has no right example in assembly"));
        let found = problems(code, &wrong);
        assert!(!found.is_empty(), "the wrong example of {code} provokes nothing");
        for problem in found {
            assert_eq!(problem.code, code, "the wrong example of {code} provokes: {}", problem.headline);
            check_headline(code.name(), &problem.headline);
        }
        let found = problems(code, &right);
        assert!(found.is_empty(), "the right example of {code} provokes: {}", found[0].headline);
        examples += 1;
    }
    assert!(examples > 30, "only {examples} pages have examples in assembly");
}

#[test]
fn every_code_has_a_case_and_every_headline_its_style() {
    let mut outputs = String::new();
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases");
    for file in files(&root) {
        if file.extension().is_some_and(|extension| extension == "snap") {
            outputs += &fs::read_to_string(&file).unwrap();
        }
    }
    for code in Code::ALL {
        assert!(outputs.contains(&format!("[{code}]")), "no case under tests/cases provokes {code}");
    }
    for line in outputs.lines() {
        let Some((code, rest)) = line.strip_prefix('[').and_then(|line| line.split_once("] ")) else { continue };
        let Some((severity, headline)) = rest.split_once(": ") else { continue };
        if Code::from_name(code).is_some() && ["error", "warning", "note"].contains(&severity) {
            check_headline(code, headline);
        }
    }
}

/// Lower case, unless it begins with a name or a value in backquotes, and no final stop. The headline of `INSIST` is
/// the user's own.
fn check_headline(code: &str, headline: &str) {
    if code == Code::InsistFailed.name() {
        return;
    }
    let first = headline.split([' ', ':']).next().unwrap_or_default();
    let is_name = first.len() > 1 && !first.contains(|letter: char| letter.is_ascii_lowercase());
    let lower = headline.starts_with(|letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit());
    assert!(lower || is_name || headline.starts_with('`'), "{code}: `{headline}` begins with a capital");
    assert!(!headline.ends_with('.'), "{code}: `{headline}` ends with a stop");
}

/// The block of assembly under a heading of a code's page.
fn example(code: Code, heading: &str) -> Option<String> {
    let (_, section) = code.page().split_once(&format!("## {heading}\n"))?;
    let section = section.split("\n## ").next()?;
    let (_, block) = section.split_once("```asm\n")?;
    Some(block.split_once("```")?.0.to_owned())
}

fn problems(code: Code, text: &str) -> Vec<Diagnostic> {
    let mut sources = SourceMap::default();
    let root = sources.add(OWN_NAME, text, Origin::Given);
    let options = Options { definitions: Vec::new(), warn_unused: code == Code::SymbolUnused, keep_lines: false };
    assemble(&mut sources, root, &options, &mut Itself(text)).diagnostics.sorted(&sources)
}

/// Finds the example itself, and a file of constants.
struct Itself<'a>(&'a str);

impl Loader for Itself<'_> {
    fn load(&mut self, name: &str, from: &str) -> Result<Loaded, LoadError> {
        let text = match name {
            OWN_NAME => self.0,
            "ports.asm" => "READER\tEQU\t60Q\n",
            _ => return StdlibOnly.load(name, from),
        };
        Ok(Loaded { name: name.into(), identity: name.into(), bytes: text.into() })
    }
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { found.extend(files(&path)) } else { found.push(path) }
    }
    found
}
