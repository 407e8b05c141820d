//! The reference pages of the guide say what the program does: keys, examples, the library, published checks.

#![allow(clippy::unwrap_used, reason = "a test that cannot read the guide fails")]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use coldwright::assembler::{LoadError, Loaded, Loader, STDLIB, built_in};
use coldwright::cautions::{CAUTIONS, to_markdown};
use coldwright::isa::Mnemonic;
use coldwright::project::{self, Files, Machine};
use coldwright::source::{Diagnostic, Origin, SourceMap};
use coldwright::syntax::Names;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).to_owned()
}

fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn examples(page: &str) -> Vec<String> {
    let text = read(page);
    let found: Vec<_> = text.split("```toml\n").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    assert!(!found.is_empty(), "{page} has no example");
    found.into_iter().map(str::to_owned).collect()
}

#[test]
fn the_examples_of_the_machine_file_are_read() {
    for example in examples("docs/machine-file.md") {
        let mut sources = SourceMap::default();
        let id = sources.add("machine.toml", example.as_str(), Origin::Given);
        let problems = Machine::read(&sources, id).map_err(|problems| format!("{problems:?}"));
        assert!(problems.is_ok(), "{example}\n{problems:?}");
    }
}

#[test]
fn the_examples_of_the_chain_file_are_read() {
    for example in examples("docs/chain-file.md") {
        let mut sources = SourceMap::default();
        let id = sources.add("coldwright.toml", example.as_str(), Origin::Given);
        let (plan, problems) = project::load(&mut sources, id, &mut Invented);
        assert!(plan.is_some() && !problems.has_errors(), "{problems:?}");
    }
}

/// The files that the example of a chain file names.
struct Invented;

impl Files for Invented {
    fn read(&mut self, path: &str) -> Result<(String, Vec<u8>), Diagnostic> {
        let text = match path {
            "machine.toml" => "panel = { sense_port = 0o243 }\nmemory = [{ base = 0, size = 0x2000 }]\n\
                [[socket]]\nname = 'U7'\npart = '2704'\nbase = 0o177000\n[[serial]]\nname = 'cassette'\n\
                chip = 'mc6850'\nstatus = 0o50\ndata = 0o51\nline = '300 8N2'"
                .into(),
            "mine.toml" => read("framings/blocks.toml"),
            "rooster.asm" => " ORG BASE\nGO: HLT\n END GO\n".into(),
            "keyin.asm" => " ORG 0\nGO: HLT\n END GO\n".into(),
            "courier.asm" => " ORG 31Q\nGO: HLT\n END GO\n".into(),
            "chimes.hex" => ":010100007688\n:00000001FF\n".into(),
            _ => panic!("{path}"),
        };
        Ok((path.to_owned(), text.into_bytes()))
    }
}

impl Loader for Invented {
    fn load(&mut self, name: &str, _from: &str) -> Result<Loaded, LoadError> {
        Ok(built_in(name).unwrap())
    }
}

#[test]
fn the_pages_name_every_key() {
    let keys = keys(&["chain_file"]);
    assert!(keys.len() > 15, "{keys:?}");
    names(&keys, "docs/chain-file.md");
    let keys = self::keys(&["machine_file", "front_panel", "wired", "seats", "sound"]);
    assert!(keys.len() > 25, "{keys:?}");
    names(&keys, "docs/machine-file.md");
}

/// The keys that the readers in these files ask for.
fn keys(files: &[&str]) -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    for text in files.iter().map(|file| read(&format!("library/src/project/{file}.rs"))) {
        let lists = text.split(".allow(&[").skip(1).chain(text.split("let keys = [").skip(1));
        for list in lists {
            keys.extend(list.split(']').next().unwrap().split('"').skip(1).step_by(2).map(str::to_owned));
        }
    }
    keys
}

fn names(keys: &BTreeSet<String>, page: &str) {
    let text = read(page);
    for key in keys {
        let said = [format!("`{key}`"), format!("[{key}]"), format!("[serial.{key}]")];
        assert!(said.iter().any(|said| text.contains(said)), "{page} does not name `{key}`");
    }
}

#[test]
fn the_table_of_the_library_is_that_of_the_headers() {
    let page = read("docs/assembling.md");
    let (start, end) = ("cargo test --test reference -->\n", "<!-- end of library -->");
    let (before, rest) = page.split_once(start).unwrap();
    let (table, after) = rest.split_once(end).unwrap();
    let fresh = library();
    if std::env::var_os("COLDWRIGHT_BLESS").is_some() {
        fs::write(root().join("docs/assembling.md"), format!("{before}{start}{fresh}{end}{after}")).unwrap();
    } else {
        assert_eq!(table, fresh, "COLDWRIGHT_BLESS=1 writes the table anew");
    }
}

#[test]
fn the_page_of_cautions_is_their_table() {
    let page = read("docs/cautions.md");
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let at = page.find("\n## ").unwrap();
    assert_eq!(words(&page[at..]), words(&to_markdown()), "cautions are worded in `library/src/cautions.rs`");
    for caution in CAUTIONS {
        assert!(caution.short.len() <= 170 && caution.long.len() > caution.short.len() / 2, "{}", caution.short);
    }
}

/// Times at an eraser's lamp, from its strength: 12 milliwatts a square centimetre. The limit is 6 millijoules a square
/// centimetre, the dose 15 joules.
#[test]
fn the_times_at_an_erasers_lamp_follow_from_its_strength() {
    let (strength, limit, dose) = (0.012, 0.006, 15.0);
    assert_eq!(limit / strength, 0.5);
    let minutes = (dose / strength / 60.0f64).round();
    let page = read("docs/cautions.md").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(page.contains("is reached in half a second"));
    assert!(page.contains(&format!("takes minutes: {minutes} at that distance for a dose of {dose} watt-seconds")));
    assert!(!page.contains("within a second") && !CAUTIONS.iter().any(|it| it.short.contains("within a second")));
}

#[test]
fn no_module_words_a_caution_of_its_own() {
    // Words by which the hazards are told; what says them outside the table would drift from it.
    let telling = ["headphones", "eyes and skin", "conductive foam", "comes on first", "asbestos", "implode"];
    let of =
        |folder: &'static str| files(&root().join(folder)).into_iter().map(move |file| format!("{folder}/{file}.rs"));
    let rooms = of("src").chain(of("library/src")).filter(|file| file != "library/src/cautions.rs");
    for file in rooms {
        let text = read(&file).to_lowercase();
        let code = text.split("#[cfg(test)]").next().unwrap();
        for words in telling {
            assert!(!code.contains(words), "{file} says `{words}`, which `library/src/cautions.rs` says");
        }
    }
}

/// One row a file: its name, what it is, its routines with their bytes.
fn library() -> String {
    let mut out = String::from("| file | what it is | routines, bytes |\n| --- | --- | --- |\n");
    for file in STDLIB {
        let first = file.text.lines().next().unwrap().trim_start_matches("; ");
        let about = first.split_once(char::is_whitespace).unwrap().1.trim();
        let routines: Vec<_> = routines(file.text).into_iter().map(|(name, size)| format!("`{name}` {size}")).collect();
        assert!(!routines.is_empty(), "{} names no routine", file.name);
        out += &format!("| `{}` | {about} | {} |\n", file.name, routines.join(", "));
    }
    out
}

/// The routines of a header with their bytes: the column `bytes` of its table.
fn routines(text: &str) -> Vec<(&str, &str)> {
    let header: Vec<_> = text.lines().take_while(|line| line.starts_with(';')).collect();
    let title = header.iter().position(|line| line.starts_with("; routine")).unwrap();
    let column = header[title].find("bytes").unwrap();
    let rows = header[title + 1..].iter().take_while(|line| line.len() > 1 && !line.starts_with("; T-states"));
    let rows = rows.filter(|line| line.as_bytes().get(2).is_some_and(u8::is_ascii_uppercase));
    rows.filter_map(|line| {
        let name = line[2..].split_whitespace().next()?;
        // Numbers stand right-aligned below the title.
        let size = line.get(column - 2..column + 5)?.split_whitespace().find(|word| word.parse::<u16>().is_ok())?;
        Some((name, size))
    })
    .collect()
}

#[test]
fn every_published_check_is_listed_and_every_listed_one_exists() {
    let page = read("docs/published-checks.md");
    let (published, judges) = page.split_once("\n## Outside judges\n").unwrap();
    listed(published, "tests/published", &["main", "cpu", "cpu/board", "fd1771"]);
    listed(judges, "tests/judges", &["main", "scan", "tool"]);
}

/// Compares the names in the last column of a page's tables with the files of a folder; `without` have no tests.
fn listed(page: &str, folder: &str, without: &[&str]) {
    let rows = page.lines().filter(|line| line.starts_with("| ") && !line.starts_with("| ---"));
    let cells = rows.filter_map(|row| row.trim_end_matches(" |").rsplit(" | ").next());
    let names: BTreeSet<&str> = cells.flat_map(|cell| cell.split('`').skip(1).step_by(2)).collect();
    for name in &names {
        let (file, test) = name.split_once("::").map_or((*name, None), |(file, test)| (file, Some(test)));
        let text = read(&format!("{folder}/{file}.rs"));
        if let Some(test) = test {
            assert!(text.contains(&format!("fn {test}()")), "{folder}: there is no `{name}`");
        }
    }
    for file in files(&root().join(folder)) {
        let said = |name: &&str| **name == file || name.starts_with(&format!("{file}::"));
        assert!(without.contains(&file.as_str()) || names.iter().any(said), "{folder}/{file}.rs is not listed");
    }
}

/// Sources below a folder, without their extension.
fn files(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            found.extend(files(&path).into_iter().map(|below| format!("{name}/{below}")));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            found.push(name);
        }
    }
    found
}

/// The page says what may be expected of an output in every case that is to be expected.
#[test]
fn what_is_expected_of_outputs_is_tested() {
    let page = read("docs/outputs.md");
    let rows: Vec<_> =
        page.lines().filter(|line| line.starts_with("| ") && !line.starts_with("| ---")).skip(1).collect();
    let mut named = BTreeSet::new();
    for row in &rows {
        let tests: Vec<_> = row.rsplit(" | ").next().unwrap().split('`').skip(1).step_by(2).collect();
        assert!(!tests.is_empty(), "no test is named: {row}");
        for test in tests {
            let (file, name) = test.split_once("::").unwrap_or_else(|| panic!("no test: `{test}`"));
            let text = read(&format!("tests/cli/{file}.rs"));
            assert!(text.contains(&format!("fn {name}()")), "there is no `{test}`");
            named.insert(test.to_owned());
        }
    }
    for case in ["a kill", "a full disk", "a missing folder", "a link", "a device", "a FIFO", "a read-only file"] {
        assert!(rows.iter().any(|row| row.starts_with(&format!("| {case}"))), "nothing is said of {case}");
    }
    let text = read("tests/cli/places.rs");
    let tests = text.split("#[test]\nfn ").skip(1).filter_map(|rest| rest.split('(').next());
    let unsaid: Vec<_> = tests.filter(|name| !named.contains(&format!("places::{name}"))).collect();
    assert!(unsaid.is_empty(), "docs/outputs.md has no row for {unsaid:?}");
}

#[test]
fn links_between_pages_lead_somewhere() {
    let mut pages: Vec<_> = ["README.md", "DEVELOPERS.md"].map(|page| root().join(page)).into();
    for folder in ["docs", "docs/diagnostics"] {
        pages.extend(fs::read_dir(root().join(folder)).unwrap().map(|entry| entry.unwrap().path()));
    }
    let (mut broken, mut links) = (Vec::new(), 0);
    for page in pages.iter().filter(|page| page.extension().is_some_and(|extension| extension == "md")) {
        let text = fs::read_to_string(page).unwrap();
        for target in text.split("](").skip(1).filter_map(|rest| rest.split(')').next()) {
            let file = target.split('#').next().unwrap();
            links += 1;
            if !target.contains("://") && !page.parent().unwrap().join(file).exists() {
                broken.push(format!("{}: {target}", page.display()));
            }
        }
    }
    assert!(links > 40, "{links} links");
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

/// The grammar for editors has the words of the language, each in its own colour.
#[test]
fn the_grammar_of_editors_has_the_words_of_the_language() {
    let grammar: serde_json::Value = serde_json::from_str(&read("editors/8080.tmLanguage.json")).unwrap();
    let words = |name: &str| -> BTreeSet<String> {
        let patterns = grammar["patterns"].as_array().unwrap();
        let own = patterns.iter().find(|it| it["name"] == name).unwrap();
        let list = own["match"].as_str().unwrap().rsplit("(?:").next().unwrap().split(')').next().unwrap();
        list.split('|').map(str::to_owned).collect()
    };
    let names = Names::default();
    let instructions: BTreeSet<String> = Mnemonic::all().map(|it| it.name().to_owned()).collect();
    let operations: BTreeSet<String> = names.operations().map(str::to_owned).collect();
    let directives: BTreeSet<String> = operations.difference(&instructions).cloned().collect();
    assert_eq!(words("keyword.other.instruction.8080"), instructions);
    assert_eq!(words("keyword.other.directive.8080"), directives);
}
