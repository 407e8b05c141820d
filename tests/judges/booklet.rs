//! `pdftotext` (Poppler) reads every page of the examples' booklets, on both papers.

use std::path::Path;
use std::process::Command;

use serde_json::Value;

use crate::tool;

const EXAMPLES: [&str; 5] = ["belfry", "headland", "lineboot", "probe", "rooster"];

fn coldwright(folder: &Path, arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_coldwright")).args(arguments).current_dir(folder).output().unwrap();
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_page_has_its_number_and_the_sum_of_the_chain_and_the_contents_lead_there() {
    let folder = tempfile::tempdir().unwrap();
    for (name, paper) in EXAMPLES.iter().flat_map(|name| ["a4", "letter"].map(|paper| (name, paper))) {
        let chain = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples").join(name);
        let chain = chain.to_str().unwrap();
        coldwright(folder.path(), &["booklet", chain, "--paper", paper, "-o", "b.pdf"]);
        let told: Value =
            serde_json::from_str(&coldwright(folder.path(), &["booklet", chain, "--paper", paper, "--json"])).unwrap();
        let Some(text) = tool::run("pdftotext", &["-layout", "b.pdf", "-"], folder.path()) else { return };
        let pages: Vec<String> = text.split_terminator('\u{c}').map(words).collect();
        assert_eq!(told["pages"], pages.len(), "{name} {paper}");
        let sum = pages[0].split("All stages in order: ").nth(1).and_then(|rest| rest.split(". ").next()).unwrap();
        for (at, page) in pages.iter().enumerate() {
            let head = format!("{name}, booklet page {} of {} chain: {sum}", at + 1, pages.len());
            assert!(page.starts_with(&head), "{name} {paper}: no {head:?} in {page}");
        }
        for entry in told["contents"].as_array().unwrap() {
            let (title, number) = (entry["title"].as_str().unwrap(), entry["page"].as_u64().unwrap() as usize);
            assert!(pages[1].contains(title) || pages[2].contains(title), "{name} {paper}: {title} in no contents");
            let (page, mark) = (&pages[number - 1], mark(title));
            assert!(page.contains(&mark), "{name} {paper}: page {number} has no {mark:?} for {title:?}: {page}");
        }
    }
}

/// A line ends where the page does.
fn words(page: &str) -> String {
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What stands on the page to which a line of the contents leads, however it is headed there.
fn mark(title: &str) -> String {
    let begins = |start: &str| title.starts_with(start);
    match title {
        _ if begins("What this chain is") => "everything for the bench".into(),
        _ if begins("Map of memory") => "map of memory".into(),
        _ if begins("Run card") => "run card,".into(),
        _ if begins("Deposit sheet") => "deposit sheet,".into(),
        _ if begins("Socket") => "Part checks".into(),
        _ if begins("Tape ") => format!("{}: ", &title[5..]),
        _ if begins("Disk ") => format!("{}: ", &title[5..]),
        _ if begins("Lights") => "lights".into(),
        title => title.to_owned(),
    }
}
