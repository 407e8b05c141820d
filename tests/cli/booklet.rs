//! The booklet of a chain: what is in it, and where it goes.

use super::chain::{Chain, example, run};
use std::fs;

#[test]
fn without_an_output_the_contents_are_told() {
    let told = run(&example("rooster"), &["booklet"]).out;
    let titles = [
        "What this chain is, and the cautions",
        "The machine",
        "Map of memory",
        "Run card, from the EPROM",
        "Run card, on trial",
        "Deposit sheet: keyin",
        "Socket U7: labels and part checks",
        "Tape crow",
        "Tape trial",
        "What there was to spare",
        "Log",
    ];
    let rows: Vec<_> = told.lines().filter_map(|line| line.trim_start().split_once("  ")).collect();
    assert_eq!(rows.iter().map(|(_, title)| *title).collect::<Vec<_>>(), titles, "{told}");
    let pages: Vec<usize> = rows.iter().map(|(page, _)| page.parse().unwrap()).collect();
    assert!(pages.is_sorted_by(|one, next| one < next), "{told}");
}

#[test]
fn the_contents_are_there_for_programs() {
    let told = run(&example("probe"), &["booklet", "--json"]).out;
    let told: serde_json::Value = serde_json::from_str(&told).unwrap();
    assert_eq!(told["chain"], "probe");
    let last = told["contents"].as_array().unwrap().last().unwrap();
    assert_eq!((&last["title"], &last["page"]), (&"Log".into(), &told["pages"]));
}

/// A page for a hand says what the rehearsal said: a booklet of a start that fails is no booklet of one that agrees.
#[test]
fn a_start_that_fails_is_marked_on_the_first_page_and_on_its_card() {
    let chain = Chain::copy("belfry").spoil("ports.asm", "EQU     20000Q", "EQU     40000Q");
    chain.run(&["booklet", "-o", "b.html"]).assert_done();
    let html = fs::read_to_string(chain.path("b.html")).unwrap();
    let pages: Vec<&str> = html.split("<svg").skip(1).collect();
    let mark = "THIS START FAILS IN ITS REHEARSAL";
    assert!(pages[0].contains(mark) && pages[0].contains("do not start it like this"), "{}", pages[0]);
    assert!(pages.iter().filter(|page| page.contains(mark)).count() >= 3, "the first page and both of the card");
    assert!(!html.contains("it agrees with the"));
}

#[test]
fn the_same_chain_gives_the_same_booklet() {
    let chain = Chain::copy("lineboot");
    for file in ["one.pdf", "two.pdf"] {
        chain.run(&["booklet", "-o", file]).assert_done();
    }
    assert!(fs::read(chain.path("one.pdf")).unwrap() == fs::read(chain.path("two.pdf")).unwrap());
}

#[test]
fn a_name_that_says_no_format_of_pages_is_refused() {
    let chain = Chain::copy("probe");
    let ran = chain.run(&["booklet", "-o", "booklet.txt"]);
    assert_eq!(ran.code, 1);
    assert!(ran.err.contains("end the name with .html, .pdf or .svg"), "{}", ran.err);
    assert!(!chain.path("booklet.txt").exists());
}

/// What `faults` and `limits` have played is bound, until something changes from which it was made.
#[test]
fn what_was_played_before_is_bound() {
    let chain = Chain::copy("probe");
    let titles = |chain: &Chain| {
        let told = chain.run(&["booklet"]).out;
        let rows: Vec<String> =
            told.lines().filter_map(|line| Some(line.trim_start().split_once("  ")?.1.to_owned())).collect();
        rows
    };
    let played = "What failures look like";
    assert!(!titles(&chain).iter().any(|title| title == played));
    chain.run(&["faults"]).assert_done();
    chain.run(&["limits"]).assert_done();
    assert!(titles(&chain).iter().any(|title| title == played));
    chain.run(&["build"]).assert_done();
    let index = fs::read_to_string(chain.path("out/index.html")).unwrap();
    assert!(index.contains("How far each thing may go") && index.contains("Neither was: "), "{index}");
    chain.run(&["booklet", "-o", "b.html"]).assert_done();
    let html = fs::read_to_string(chain.path("b.html")).unwrap();
    assert!(html.contains("How far each thing may go") && !html.contains("is not in this booklet"));
    let chain = chain.spoil("machine.toml", "clock_hz = ", "# changed\nclock_hz = ");
    assert!(!titles(&chain).iter().any(|title| title == played), "of another machine file");
}

/// What the inlay says of a recording is so of the file.
#[test]
fn the_inlay_says_how_long_the_recording_plays() {
    let chain = Chain::copy("belfry");
    chain.run(&["build"]).assert_done();
    chain.run(&["booklet", "-o", "b.html"]).assert_done();
    let wav = hound::WavReader::open(chain.path("out/tape-one.wav")).unwrap();
    let seconds = f64::from(wav.duration()) / f64::from(wav.spec().sample_rate);
    let html = fs::read_to_string(chain.path("b.html")).unwrap();
    assert!(html.contains("Inlay and label: one") && html.contains(&format!("plays {seconds:.1} s")), "{seconds}");
}
