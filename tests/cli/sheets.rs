//! A deposit sheet as it is drawn: what the text of it has room for, and the page has to say as well.

use crate::bench::Bench;

/// A label too long for its column moves to the note, where the rest of it stands that finds no row of its own.
const LONG: &str = "\tORG\t0\nVERYMUCHLONGERTHANROOM:\tDB\t1\t; to the left \u{2192}\n\tHLT\n";

fn sheet(keys: &str) -> String {
    let bench = Bench::new();
    bench.put("long.asm", LONG);
    bench.put("machine.toml", format!("panel = {{ keys = [{keys}] }}\n"));
    let ran = bench.run(&["sheet", "long.asm", "--machine", "machine.toml", "-o", "long.html"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    bench.text("long.html")
}

#[test]
fn two_keys_of_a_row_are_explained_where_there_are_any() {
    let told = "EN+D: press EXAMINE NEXT, then DEPOSIT.";
    assert!(sheet("\"examine-next\"").contains(told));
    assert!(!sheet("\"examine-next\", \"deposit-next\"").contains("EN+D"));
}

#[test]
fn a_long_label_is_not_parted() {
    let page = sheet("\"examine-next\"");
    assert!(page.contains("VERYMUCHLONGERTHANROOM"), "{page}");
}
