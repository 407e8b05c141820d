//! `faults`: what it says, what it keeps, and what a stop leaves.

use std::fs;

use serde_json::Value;

use crate::chain::Chain;

/// All faults of a chain, for programs.
fn told(chain: &Chain) -> Value {
    let ran = chain.run(&["faults", ".", "--json"]);
    assert_eq!(ran.code, 0, "{}{}", ran.out, ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

fn count(told: &Value) -> usize {
    told["faults"].as_array().unwrap().len()
}

#[test]
fn every_fault_is_told_to_programs_and_counted_once() {
    let told = told(&Chain::copy("probe"));
    let counts = told["counts"].as_object().unwrap();
    let all: u64 = counts.values().map(|count| count.as_u64().unwrap()).sum();
    assert_eq!(usize::try_from(all).unwrap(), count(&told));
    assert!(counts["sheet"].as_u64().unwrap() > 100, "{counts:?}");
    assert!(!told["not_played"].as_array().unwrap().is_empty());
    for fault in told["faults"].as_array().unwrap() {
        assert!(
            ["fault", "becomes", "found_by"].iter().all(|key| !fault[*key].as_str().unwrap().is_empty()),
            "{fault}"
        );
    }
}

#[test]
fn what_was_played_is_kept_until_something_changes() {
    let chain = Chain::copy("probe");
    let all = count(&told(&chain));
    let kept = chain.path("out/.faults.json");
    let mut spoilt: Value = serde_json::from_slice(&fs::read(&kept).unwrap()).unwrap();
    spoilt["plays"]["faults"].as_array_mut().unwrap().pop();
    fs::write(&kept, spoilt.to_string()).unwrap();
    assert_eq!(count(&told(&chain)), all - 1, "what was kept is read");
    let source = fs::read_to_string(chain.path("probe.asm")).unwrap();
    let chain = chain.put("probe.asm", format!("{source}; another line\n").as_bytes());
    assert_eq!(count(&told(&chain)), all, "a source has changed");
    fs::write(&kept, spoilt.to_string()).unwrap();
    assert_eq!(count(&told(&chain)), all, "it was made from another source");
    fs::write(&kept, "{").unwrap();
    assert_eq!(count(&told(&chain)), all, "it cannot be read");
}

#[test]
fn a_build_and_what_was_played_go_side_by_side() {
    let chain = Chain::copy("probe");
    assert_eq!(chain.run(&["faults", "."]).code, 0);
    assert_eq!(chain.run(&["build", "."]).code, 0);
    assert!(chain.path("out/.faults.json").exists());
    assert_eq!(chain.run(&["faults", "."]).code, 0);
    assert_eq!(chain.run(&["build", "."]).code, 0);
}

#[test]
fn a_kind_is_told_by_itself_and_pages_are_written() {
    let chain = Chain::copy("probe");
    let ran = chain.run(&["faults", ".", "--kind", "an address line stuck", "--all", "-o", "page.html"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.starts_with("probe: single faults: 32 faults\n"), "{}", ran.out);
    assert_eq!(ran.out.lines().filter(|line| line.contains("an address line stuck: A")).count(), 32, "{}", ran.out);
    let page = fs::read_to_string(chain.path("page.html")).unwrap();
    assert!(page.contains("probe: single faults") && page.contains("page 1 of ") && page.contains("not played"));
    let ran = chain.run(&["faults", ".", "--kind", "an adress line stuck"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("did you mean `an address line stuck`?"), "{}", ran.err);
}

#[test]
fn a_start_that_does_not_agree_is_not_played() {
    let chain = Chain::copy("probe").spoil("probe.asm", "LXI     SP,TOP", "NOP");
    chain.run(&["faults", "."]).assert_fails("stack-unset", &[]);
    assert!(!chain.path("out").exists());
    Chain::copy("probe").run(&["faults", ".", "--start", "noon"]).assert_fails("home-unknown", &["noon"]);
}

#[cfg(unix)]
#[test]
fn a_stop_leaves_nothing_behind() {
    use std::process::{Command, Stdio};

    use crate::bench::{ended, signal};

    let chain = Chain::copy("belfry");
    let mut command = Command::new(env!("CARGO_BIN_EXE_coldwright"));
    command.arg("faults").arg(chain.path(".")).stdout(Stdio::piped()).stderr(Stdio::piped());
    let child = command.spawn().unwrap();
    // It reads and rehearses for a moment, and plays for long after that.
    std::thread::sleep(std::time::Duration::from_secs(3));
    signal(&child, "INT");
    ended(child.wait_with_output().unwrap()).assert_fails("transfer-stopped", &["stopped before the end"]);
    assert!(!chain.path("out").exists());
}
