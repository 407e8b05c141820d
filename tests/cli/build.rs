//! `build`: everything is there, and only what changed is written again.

use super::chain::{Chain, example, run};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// Every file of a folder with its bytes.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    entries.map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), fs::read(path).unwrap())).collect()
}

#[test]
fn every_example_builds_and_its_page_links_all_of_it() {
    for name in ["belfry", "rooster", "lineboot", "probe"] {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        run(&example(name), &["build", "-o", out.to_str().unwrap()]).assert_done();
        let files = files(&out);
        let index = String::from_utf8(files["index.html"].clone()).unwrap();
        for file in files.keys().filter(|file| !matches!(file.as_str(), "index.html" | ".built.json")) {
            assert!(index.contains(&format!("<a href=\"{file}\">")), "{name}: {file} is not linked");
        }
        for link in index.split("href=\"").skip(1).map(|rest| rest.split('"').next().unwrap()) {
            assert!(files.contains_key(link), "{name}: {link} is not there");
        }
    }
}

#[test]
fn the_same_chain_gives_the_same_bytes() {
    let [first, second] = [Chain::copy("rooster"), Chain::copy("rooster")].map(|chain| {
        chain.run(&["build"]).assert_done();
        let mut made = files(&chain.path("out"));
        made.remove(".built.json");
        made
    });
    assert_eq!(first, second);
}

#[test]
fn only_what_changed_is_written_again() {
    let chain = Chain::copy("rooster");
    chain.run(&["build"]).assert_done();
    assert!(chain.run(&["build"]).out.starts_with("nothing has changed"));
    let chain = chain.spoil("crow.asm", "MVI     D,3", "MVI     D,4");
    let ran = chain.run(&["build"]);
    assert!(ran.out.starts_with("5 files written"), "listing, image, frames and picture of its tape: {}", ran.out);
    fs::remove_file(chain.path("out/crow.lst")).unwrap();
    assert!(chain.run(&["build"]).out.starts_with("1 file written"));
}

#[test]
fn a_failed_build_leaves_the_last_good_one() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let before = files(&chain.path("out"));
    let chain = chain.spoil("chimes.asm", "ORG     400Q", "ORG     100Q");
    chain.run(&["build"]).assert_fails("stages-overlap", &["both lie at"]);
    assert_eq!(files(&chain.path("out")), before);
}

/// What is said of a tape that is played from its frames although it is recorded.
const NOT_PLAYED: &str = "the recording of the tape one was not played: `--sound` plays it\n";

/// The rehearsal plays the very bytes that are built.
#[test]
fn the_built_tape_is_the_rehearsed_one() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    let tape = format!("one={}", chain.path("out/tape-one.bin").display());
    let (own, built) = (chain.run(&["rehearse"]), chain.run(&["rehearse", "--tape", &tape]));
    built.assert_done();
    let plain = |out: &str| out.replace(" that was given", "").replace(NOT_PLAYED, "");
    assert_eq!(plain(&own.out), plain(&built.out));
}
